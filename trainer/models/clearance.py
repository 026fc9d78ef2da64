"""How far what turns stays away from the person."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class BodyPlace(StrEnum):
    """A part of the body that something may hit; left and right are the patient's."""

    LEFT_SHOULDER = "left shoulder"
    RIGHT_SHOULDER = "right shoulder"
    UPPER_BACK = "upper back"
    CHEST = "chest"
    NECK = "neck"
    CHIN = "chin"
    FACE = "face"
    LEFT_OF_HEAD = "left side of the head"
    RIGHT_OF_HEAD = "right side of the head"
    BACK_OF_HEAD = "back of the head"
    TOP_OF_HEAD = "top of the head"


@dataclass(frozen=True, slots=True)
class Clearance:
    """Where the unit's moving parts come nearest to the person while they turn.

    Attributes
    ----------
    distance_mm : float
        How near; negative is how deep.
    part : str
        The moving part, in plain English: "the detector housing".
    place : BodyPlace
        The part of the body.
    at_mm : tuple of float
        The point of the body (x, y, z), gantry frame.
    """

    distance_mm: float
    part: str
    place: BodyPlace
    at_mm: tuple[float, float, float]

    @property
    def touches(self) -> bool:
        """Whether the part would hit the person."""
        return self.distance_mm < 0.0
