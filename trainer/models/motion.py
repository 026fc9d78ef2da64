"""How a person moves during an exposure, as data: causes, single movements, the trace over time."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.models.appointment_words import Trait

Array = NDArray[np.float64]


class AgeBand(StrEnum):
    """Ages that move alike: below 16 as in the sensor study, from 66 as in that of supports."""

    CHILD = "child"
    ADULT = "adult"
    OLDER = "older-adult"


def age_band(age_years: int) -> AgeBand:
    """The band of an age."""
    if age_years < 16:
        return AgeBand.CHILD
    return AgeBand.OLDER if age_years >= 66 else AgeBand.ADULT


class MovementKind(StrEnum):
    """What a movement looks like."""

    TURN = "turn"
    NOD = "nod"
    LEAN = "lean"
    LIFT = "lift"
    FRONT_BACK = "front-back"
    SIDEWAYS = "sideways"
    SWALLOW = "swallow"
    TREMOR = "tremor"
    JERK = "jerk"


class HeadHold(StrEnum):
    """How well the head is held, from least to most."""

    FREE = "free"
    CHIN_ONLY = "chin-only"
    REST = "rest"
    REST_AND_STRAP = "rest-and-strap"
    ALL_ROUND = "all-round"


class SpacerGrip(StrEnum):
    """How a spacer sits between the arches."""

    NONE = "none"
    STEADY = "steady"
    UNSTEADY = "unsteady"


class MotionSign(StrEnum):
    """What a displacement does to the image (own classes: below 1, 1 to 3, above 3 mm)."""

    NONE = "none"
    STRIPES = "stripes"
    DOUBLE_EDGES = "double-edges"


@dataclass(frozen=True, slots=True)
class Movement:
    """One movement.

    ``size_mm`` is its largest displacement at the forehead, ``start_s`` counts from the start of
    the exposure, ``moving_s`` is how long it is under way. ``direction`` (6,) holds sideways,
    back and up [mm] and pitch, yaw and roll [rad times the lever] of a 1 mm movement. ``returns``:
    the head comes back to where it was. ``seen`` tells whether a watching eye notices it.
    """

    kind: MovementKind
    start_s: float
    moving_s: float
    size_mm: float
    direction: tuple[float, float, float, float, float, float]
    returns: bool
    seen: bool


@dataclass(frozen=True, slots=True)
class MotionCause:
    """Everything that decides how a person moves during one exposure.

    ``restless``: a person who fidgets was just doing so (`engine.motion.restless`).
    """

    age_years: int
    traits: frozenset[Trait] = frozenset()
    seated: bool = False
    explained: bool = True
    swallowed_first: bool = True
    hold: HeadHold = HeadHold.REST
    spacer: SpacerGrip = SpacerGrip.NONE
    strained: bool = False
    rehearsed: bool = False
    restless: bool = False
    jerk_at_share: float | None = None
    scripted: tuple[Movement, ...] | None = None


@dataclass(frozen=True, slots=True)
class MotionTrace:
    """Where head and jaw stand against their place at the start of the exposure.

    ``times_s`` (n,); ``shifts_mm`` (n, 3) of the chin contact along +x, +y, +z; ``turns_rad``
    (n, 3) pitch, yaw and roll about it (signs as in `models.frames`); ``jaw_gaps_mm`` (n,) what
    the jaw gap has gained: teeth that meet stop it at a gap of zero.
    """

    times_s: Array
    shifts_mm: Array
    turns_rad: Array
    jaw_gaps_mm: Array
    movements: tuple[Movement, ...]


@dataclass(frozen=True, slots=True)
class MotionSummary:
    """A trace in few numbers, rounded to 0.001 so that equal runs read alike on every machine."""

    largest_mm: float
    jaw_drift_mm: float
    movements: int
    moving_s: float
    planes: int
    tremor_or_swallow_mm: float
    jerked: bool
    sign: MotionSign

    @property
    def visible(self) -> bool:
        """Whether the image shows it."""
        return self.sign is not MotionSign.NONE
