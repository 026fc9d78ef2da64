"""Words of learning and judging: help, score blocks, predictions."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trainer.errors import Fault, NotValid


class HelpLevel(StrEnum):
    """How much an attempt is helped, from most to none; each step takes something away.

    `DEMONSTRATION` plays a worked solution; `OPEN` shows bone, field, target place and numbers;
    `LINES` gives lights and the names of landmarks; `ON_REQUEST` gives one hint when asked, which
    costs nothing and is logged; `NONE` is the exam.
    """

    DEMONSTRATION = "demonstration"
    OPEN = "open"
    LINES = "lines"
    ON_REQUEST = "on-request"
    NONE = "none"

    @property
    def is_unassisted(self) -> bool:
        """Whether an attempt with this help may count as evidence of skill."""
        return self in (HelpLevel.ON_REQUEST, HelpLevel.NONE)

    @property
    def looks_inside(self) -> bool:
        """Whether bone and field are shown before the end."""
        return self in (HelpLevel.DEMONSTRATION, HelpLevel.OPEN)


class Block(StrEnum):
    """The parts of a score."""

    PREPARATION = "preparation"
    PRESCRIPTION = "prescription"
    POSITION = "position"
    STABILITY = "stability"
    EXPOSURE = "exposure"
    REVIEW = "review"


class Task(StrEnum):
    """Kinds of target: tolerances and skills go by them."""

    SINGLE_SITE = "single-site"
    LOWER_JAW = "lower-jaw"
    UPPER_JAW = "upper-jaw"
    BOTH_JAWS = "both-jaws"
    ONE_JOINT = "one-joint"
    BOTH_JOINTS = "both-joints"
    SINUS = "sinus"
    EAR = "ear"
    PANORAMIC = "panoramic"


@dataclass(frozen=True, slots=True)
class BlockWeights:
    """How many of 100 points each part of a score is worth (training reference, own proposal)."""

    preparation: int = 20
    prescription: int = 15
    position: int = 35
    stability: int = 10
    exposure: int = 10
    review: int = 10

    def __post_init__(self) -> None:
        values = [self.of(block) for block in Block]
        if min(values) < 0 or sum(values) != 100:
            text = f"must be 0 or more and add up to 100, got {sum(values)}"
            raise NotValid([Fault("block_weights", 0, "", text)])

    def of(self, block: Block) -> int:
        """The weight of a block."""
        return int(getattr(self, block.value))


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What still scores in full at one level. Starting values for a panel, no published figures.

    Attributes
    ----------
    centre_share : float
        Distance of target and field centre, as a share of the free play.
    turn_deg, strict_turn_deg, pitch_deg : float or None
        Yaw and roll, the same for the strict tasks, and pitch against the task's plane; ``None``:
        the case's own limits.
    scout_pairs : int
        Pairs of scouts for one run.
    inside_credit : float
        What a required structure earns that is inside, but without its margin: 0 to 1.
    """

    centre_share: float = 0.75
    turn_deg: float | None = None
    strict_turn_deg: float | None = None
    pitch_deg: float | None = None
    scout_pairs: int = 2
    inside_credit: float = 0.5


@dataclass(frozen=True, slots=True)
class Tolerances:
    """Tolerances by level, and those of an exam (training reference, 2.5: own proposal).

    ``guided`` is level 1, ``routine`` level 2, ``adapted`` level 3 and above.
    """

    guided: Tolerance = Tolerance(1.0, 8.0, 5.0, 10.0, scout_pairs=3)
    routine: Tolerance = Tolerance(0.75, 6.0, 4.0, 8.0)
    adapted: Tolerance = Tolerance(1.0)
    exam: Tolerance = Tolerance(0.75, 6.0, 3.0, 8.0, inside_credit=0.0)


# Yaw and roll weigh more where both sides are compared or the midline counts (training reference,
# 2.3 and 2.5: joints, ears, both jaws).
STRICT_TASKS = (Task.BOTH_JAWS, Task.ONE_JOINT, Task.BOTH_JOINTS, Task.EAR)


class ToothNumbering(StrEnum):
    """How teeth are named: two digits (ISO 3950), or 1 to 32 and A to T."""

    FDI = "fdi"
    UNIVERSAL = "universal"


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the learner says before anything is revealed.

    ``cut``: ids of required structures believed not to be held with their margin. ``percent``: the
    score expected, 0 to 100. ``acceptable``: whether the image would answer the question.
    """

    cut: frozenset[str]
    percent: int
    acceptable: bool

    def __post_init__(self) -> None:
        if not 0 <= self.percent <= 100:
            text = f"must be 0 to 100, got {self.percent}"
            raise NotValid([Fault("prediction", 0, "percent", text)])
