"""The probability that scattered placings hold everything, and what it says of a case."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from trainer.engine.placement import TOUCHING_MM
from trainer.engine.proof.scatter import Scatter, scattered
from trainer.engine.proof.target import Target, slacks
from trainer.models.setup import Setup

Array = NDArray[np.float64]

CONFIDENCE = 0.95


class Difficulty(StrEnum):
    """How hard a case is to hold without scouts; see `difficulty_of`."""

    EASY = "easy"
    MEDIUM = "medium"
    HARD = "hard"
    VERY_HARD = "very hard"


# Lowest probability of each class. Own working values: nine of ten placings forgive, two of three
# do with care, one of three hardly without a scout.
LOWEST = {
    Difficulty.EASY: 0.9,
    Difficulty.MEDIUM: 2.0 / 3.0,
    Difficulty.HARD: 1.0 / 3.0,
    Difficulty.VERY_HARD: 0.0,
}


@dataclass(frozen=True, slots=True)
class Success:
    """How many of some scattered placings held everything required.

    ``lost``: for each required structure the share of placings that did not hold it.
    """

    scatter: Scatter
    draws: int
    held: int
    lost: tuple[tuple[str, float], ...] = ()

    @property
    def probability(self) -> float:
        """Share of the placings that held everything."""
        return self.held / self.draws

    @property
    def standard_error(self) -> float:
        """Binomial standard error of the probability."""
        return math.sqrt(self.probability * (1.0 - self.probability) / self.draws)

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of the probability, for the error of drawing alone."""
        return wilson(self.held, self.draws)


def wilson(held: int, draws: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Score interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22:209, 1927)."""
    z = float(ndtri(0.5 + confidence / 2.0))
    share = held / draws
    middle = share + z * z / (2.0 * draws)
    half = z * math.sqrt(share * (1.0 - share) / draws + z * z / (4.0 * draws * draws))
    scale = 1.0 + z * z / draws
    return max(0.0, (middle - half) / scale), min(1.0, (middle + half) / scale)


def success(
    targets: Sequence[Target], setups: Sequence[Setup], scatter: Scatter, normal: Array
) -> Success:
    """How often placings scattered about the setups hold every target, each in its own setup.

    One target and setup for each run of the examination; all runs of a placing share its scatter,
    since the person is placed once. ``normal`` as from `scatter.normal_numbers`.
    """
    found = [
        slacks(t, s, scattered(t, s, scatter, normal)) for t, s in zip(targets, setups, strict=True)
    ]
    held = np.concatenate(found, axis=1) >= -TOUCHING_MM
    names = [name for t in targets for name in t.names]
    lost = zip(names, (1.0 - held.mean(axis=0)).tolist(), strict=True)
    return Success(scatter, len(normal), int(held.all(axis=1).sum()), tuple(lost))


def difficulty_of(probability: float) -> Difficulty:
    """The class of a case from the probability without scouts."""
    return next(d for d, lowest in LOWEST.items() if probability >= lowest)


def is_near_a_bound(found: Success) -> bool:
    """Whether the interval reaches over a bound, so that more draws could change the class."""
    low, high = found.interval
    return difficulty_of(low) is not difficulty_of(high)
