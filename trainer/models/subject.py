"""The synthetic person."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trainer.errors import TrainerError


class Sex(StrEnum):
    """Which table of adult means the head follows."""

    MALE = "male"
    FEMALE = "female"


@dataclass(frozen=True, slots=True)
class Subject:
    """A synthetic person: which head, and how high the chin stands when upright.

    ``chin_standing_mm`` is the height of the skin under the chin above the floor in an easy
    upright stance. ``display_name`` is invented.
    """

    sex: Sex
    display_name: str
    chin_standing_mm: float
    age_years: int = 40

    def __post_init__(self) -> None:
        if not 900.0 <= self.chin_standing_mm <= 1900.0:
            raise TrainerError(
                f"chin height above the floor {self.chin_standing_mm} mm: 900 to 1900"
            )
