"""Everything the operator can move, once: key, words, unit, group.

The key is the name in files, in ``--set``, in `Setup` and in a unit's travel list. Words for the
two ways are the patient's, never bare signs.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trainer.errors import NotFound


class ControlKind(StrEnum):
    """How a control is set."""

    NUMBER = "number"
    CHOICE = "choice"
    SWITCH = "switch"


class ControlGroup(StrEnum):
    """What the hand does."""

    UNIT = "Unit and support"
    HEAD = "Head on the support"
    JAW = "Lower jaw"
    FIELD = "Field"


@dataclass(frozen=True, slots=True)
class Control:
    """One control. ``more`` and ``less`` are imperatives for raising and lowering the value."""

    key: str
    label: str
    kind: ControlKind
    group: ControlGroup
    unit: str = ""
    more: str = ""
    less: str = ""
    more_word: str = ""
    less_word: str = ""
    advised: bool = True


N, C, S = ControlKind.NUMBER, ControlKind.CHOICE, ControlKind.SWITCH
UNIT, HEAD = ControlGroup.UNIT, ControlGroup.HEAD
JAW, FIELD = ControlGroup.JAW, ControlGroup.FIELD

CONTROLS: tuple[Control, ...] = (
    # moving the whole unit carries support and field together: it never changes what is inside
    Control(
        "unit_height_mm",
        "Unit height",
        N,
        UNIT,
        "mm",
        "raise the unit",
        "lower the unit",
        "up",
        "down",
        advised=False,
    ),
    Control(
        "chin_height_mm",
        "Chin support height",
        N,
        UNIT,
        "mm",
        "raise the chin support",
        "lower the chin support",
        "up",
        "down",
    ),
    Control(
        "sideways_mm",
        "Head sideways",
        N,
        HEAD,
        "mm",
        "move the head to the patient's left",
        "move the head to the patient's right",
        "left",
        "right",
    ),
    Control(
        "forward_mm",
        "Head forward",
        N,
        HEAD,
        "mm",
        "move the head forward",
        "move the head back",
        "forward",
        "back",
    ),
    Control(
        "pitch_deg",
        "Head pitch",
        N,
        HEAD,
        "deg",
        "tip the chin up",
        "tip the chin down",
        "chin up",
        "chin down",
    ),
    Control(
        "yaw_deg",
        "Head yaw",
        N,
        HEAD,
        "deg",
        "turn the face to the patient's left",
        "turn the face to the patient's right",
        "face left",
        "face right",
    ),
    Control(
        "roll_deg",
        "Head roll",
        N,
        HEAD,
        "deg",
        "lean the top of the head to the patient's left",
        "lean the top of the head to the patient's right",
        "top left",
        "top right",
    ),
    Control(
        "jaw_gap_mm",
        "Jaw gap",
        N,
        JAW,
        "mm",
        "open the jaw with a thicker spacer",
        "close the jaw with a thinner spacer",
        "open",
        "closed",
    ),
    Control("region", "Region", C, FIELD),
    Control("field", "Field size", C, FIELD),
    Control(
        "field_sideways_mm",
        "Field sideways",
        N,
        FIELD,
        "mm",
        "move the field to the patient's left",
        "move the field to the patient's right",
        "left",
        "right",
    ),
    Control(
        "field_forward_mm",
        "Field forward",
        N,
        FIELD,
        "mm",
        "move the field forward",
        "move the field back",
        "forward",
        "back",
    ),
    Control("arm_turned", "Arm turned by 90°", S, FIELD, advised=False),
)
NUMBER_KEYS: tuple[str, ...] = tuple(c.key for c in CONTROLS if c.kind is N)


def control(key: str) -> Control:
    """The control with that key.

    Raises
    ------
    NotFound
        If there is none; the message names those there are.
    """
    for c in CONTROLS:
        if c.key == key:
            return c
    raise NotFound(f"no control {key!r}; there are {', '.join(c.key for c in CONTROLS)}")
