"""Chance that repeats: numbers that follow from a seed, the same on every platform.

Drawn from NumPy's PCG64 through its raw 64-bit words, whose sequence NumPy keeps for good (NEP 19,
2019; `Generator`'s own distributions may change with a release). Only uniform numbers come from
here; what needs another distribution inverts its formula.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np


class Chance:
    """A stream of uniform numbers, named by a seed and whole numbers that tell what it is for."""

    def __init__(self, seed: int, *purpose: int) -> None:
        self._bits = np.random.PCG64(np.random.SeedSequence([seed, *purpose]))

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        """The next number, from ``low`` up to but without ``high``."""
        raw = int(self._bits.random_raw())
        return low + (high - low) * (raw >> 11) * 2.0**-53

    def happens(self, probability: float) -> bool:
        """True with that probability."""
        return self.uniform() < probability

    def sign(self) -> float:
        """1 or -1."""
        return 1.0 if self.uniform() < 0.5 else -1.0

    def count(self, mean: float) -> int:
        """A Poisson number with that mean (Knuth's product of uniform numbers)."""
        limit, product, n = math.exp(-mean), self.uniform(), 0
        while product > limit:
            product *= self.uniform()
            n += 1
        return n

    def pareto(self, least: float, exponent: float, most: float) -> float:
        """A number above ``least`` that is above x with probability (least/x)**exponent.

        Cut at ``most``.
        """
        return min(most, least * (1.0 - self.uniform()) ** (-1.0 / exponent))

    def pick(self, weights: Sequence[float]) -> int:
        """A place in the list, as likely as its weight says."""
        spot = self.uniform(0.0, math.fsum(weights))
        for i, weight in enumerate(weights):
            spot -= weight
            if spot < 0.0:
                return i
        return len(weights) - 1
