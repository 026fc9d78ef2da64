"""What a body or a part is made of, as X-rays see it: elements by mass, and density."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from trainer.errors import TrainerError

# Published compositions are rounded to 0.1 %: eight or nine elements add up to 100 (2) %.
SUM_TOLERANCE = 0.02


@dataclass(frozen=True, slots=True)
class Material:
    """A homogeneous material.

    ``mass_fractions`` is keyed by element symbol ("H", "Ca"); the fractions are positive and add
    up to 1 within 0.02, as published tables do. `normalised` gives them an exact sum.

    Raises
    ------
    TrainerError
        If the density or a fraction is not a positive number, or the sum is off.
    """

    name: str
    density_g_cm3: float
    mass_fractions: Mapping[str, float] = field(hash=False)

    def __post_init__(self) -> None:
        if not (math.isfinite(self.density_g_cm3) and self.density_g_cm3 > 0.0):
            raise TrainerError(f"{self.name}: density {self.density_g_cm3} g/cm3, must be above 0")
        for symbol, share in self.mass_fractions.items():
            if not 0.0 < share <= 1.0 + SUM_TOLERANCE:
                raise TrainerError(f"{self.name}: mass fraction of {symbol} is {share}, not 0 to 1")
        total = math.fsum(self.mass_fractions.values())
        if not abs(total - 1.0) <= SUM_TOLERANCE:
            raise TrainerError(
                f"{self.name}: mass fractions add up to {total:.4f}, "
                f"expected 1 within {SUM_TOLERANCE}"
            )


def normalised(mass_fractions: Mapping[str, float]) -> dict[str, float]:
    """The same fractions, scaled so that they add up to exactly 1 (within rounding)."""
    total = math.fsum(mass_fractions.values())
    return {symbol: share / total for symbol, share in mass_fractions.items()}
