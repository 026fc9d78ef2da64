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
