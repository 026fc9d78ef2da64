"""All acts of an appointment as data: in phases, in groups, each with its words and its command.

Nothing is forced: every phase can be opened at any time, and what has no meaning now is refused by
the engine with a sentence. Acts that need more than a press (programme, spacer, record …) are forms
of their own in `forms`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from trainer.app.appointment import act_words as words
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Visit
from trainer.models.appointment_words import (
    Instruction,
    QualityCheck,
    UnitPosition,
)

# Said just before the exposure.
LAST_WORDS = (Instruction.SWALLOW_ONCE, Instruction.STAY_STILL, Instruction.BREATHE_QUIETLY)


class Phase(StrEnum):
    """Where acts are found, in the usual order of an appointment."""

    REQUEST = "Request and room"
    PERSON = "Identity and history"
    METAL = "Metal and shields"
    EXPLAIN = "Explaining and asking"
    ENTRY = "Entry at the unit"
    PLACE = "Placing"
    SUPPORT = "Spacer and supports"
    SCOUT = "Scouts"
    RUN = "Ready and run"
    IMAGE = "The image"
    LEAVE = "Leaving and record"


@dataclass(frozen=True, slots=True)
class Act:
    """One act: a name that stays the same, its words, and the command it becomes."""

    name: str
    label: str
    kind: type[do.Command]
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ActGroup:
    """Acts below one heading; ``columns`` is how many stand beside each other."""

    title: str
    acts: tuple[Act, ...]
    columns: int = 1


def cleaning() -> tuple[Act, ...]:
    """All acts of cleaning."""
    return each(do.Clean, "what", words.HYGIENE)


def quality(what: QualityCheck) -> Act:
    """A duty of the quality programme."""
    return Act(f"quality-{what}", words.QUALITY[what], do.DoQualityCheck, {"what": what})


def move_unit(to: UnitPosition) -> Act:
    """Sending the unit to a position."""
    return Act(f"move-{to}", words.POSITIONS[to], do.MoveUnit, {"to": to})


def instruction(what: Instruction) -> Act:
    """Asking the person to do something."""
    return Act(f"say-{what}", words.INSTRUCTIONS[what], do.Instruct, {"what": what})


def each(
    kind: type[do.Command],
    key: str,
    labels: Mapping[Any, str],
) -> tuple[Act, ...]:
    """One act for every value that has words."""
    return tuple(
        Act(f"{key}-{value}", label, kind, {key: value}) for value, label in labels.items()
    )


def companion_out(visit: Visit) -> tuple[Act, ...]:
    """Asking who came along to wait outside; nothing when nobody did."""
    if not visit.companion:
        return ()
    return (Act("companion-out", "“Please wait outside.” (who came along)", do.SendCompanionOut),)


def outside() -> tuple[Act, ...]:
    """Out to the switch, and in again."""
    return (
        Act("leave", "Go out to the switch", do.LeaveRoom),
        Act("door", "Close the door", do.CloseDoor),
        Act("ready", "Make the unit ready", do.MakeReady),
        Act("enter", "Go into the room again", do.EnterRoom),
    )
