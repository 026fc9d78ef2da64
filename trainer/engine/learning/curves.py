"""Learning curves: how one person's results change from attempt to attempt.

One person follows an exponential better than a power law; the power law appears when people are
averaged (Heathcote, Brown & Mewhort, Psychon Bull Rev 2000). So `fit_exponential` is for a person,
`fit_power` for the mean of a class.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Three unknowns need more than three points; own working value.
FEWEST_POINTS = 8
# A rate whose standard error is larger than this share of it says nothing; own working value.
WORST_RELATIVE_ERROR = 0.5
# At least so much of the change must have been seen; the rest is drawn out. Own working value.
LEAST_SEEN = 0.5

Curve = Callable[..., NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class CurveFit:
    """A fitted curve: ``level`` in the long run, ``change`` from there at the first attempt, rate.

    ``rate`` is r of the exponential or a of the power law; ``rate_error`` its standard error;
    ``residual`` the standard deviation about the curve; ``points`` how many were fitted.
    """

    level: float
    change: float
    rate: float
    rate_error: float
    residual: float
    points: int


@dataclass(frozen=True, slots=True)
class NoFit:
    """Why there is no curve, in one sentence."""

    reason: str


def exponential(
    number: NDArray[np.float64], level: float, change: float, rate: float
) -> NDArray[np.float64]:
    """The curve level + change exp(-rate (N - 1)) at attempt numbers N from 1."""
    return level + change * np.exp(-rate * (np.asarray(number, float) - 1.0))


def power(
    number: NDArray[np.float64], level: float, change: float, rate: float
) -> NDArray[np.float64]:
    """The curve level + change N^-rate at attempt numbers N from 1."""
    return level + change * np.asarray(number, float) ** -rate


def fit_exponential(values: Sequence[float]) -> CurveFit | NoFit:
    """The exponential through one person's values, attempt by attempt, or why there is none."""
    return _fit(exponential, values)


def fit_power(values: Sequence[float]) -> CurveFit | NoFit:
    """The power law through the mean values of a class, attempt by attempt, or why there is none.

    Each value is a mean over the same people.
    """
    return _fit(power, values)


def _fit(curve: Curve, values: Sequence[float]) -> CurveFit | NoFit:
    y = np.asarray(values, float)
    if len(y) < FEWEST_POINTS:
        return NoFit(f"{len(y)} attempts; a curve needs at least {FEWEST_POINTS}.")
    if np.ptp(y) == 0.0:
        return NoFit("All results are equal: there is no change to describe.")
    from scipy.optimize import OptimizeWarning, curve_fit

    number = np.arange(1.0, len(y) + 1.0)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", OptimizeWarning)
            found, spread = curve_fit(
                curve, number, y, p0=_start(curve, number, y), bounds=_bounds(len(y))
            )
    except (RuntimeError, OptimizeWarning):
        return NoFit("The results follow no curve that settles.")
    error = float(math.sqrt(spread[2, 2]))
    seen = 1.0 - float(curve(number[-1:], 0.0, 1.0, found[2])[0])
    if not error <= WORST_RELATIVE_ERROR * found[2] or seen < LEAST_SEEN:
        return NoFit(
            "The results scatter too much, or change too evenly, to tell how fast they settle."
        )
    level, change, rate = (float(v) for v in found)
    off = y - curve(number, *found)
    return CurveFit(level, change, rate, error, math.sqrt(off @ off / (len(y) - 3)), len(y))


def _bounds(points: int) -> tuple[list[float], list[float]]:
    """Any level and change; rates slow enough to be seen and not slower than the series is long."""
    return [-np.inf, -np.inf, 0.1 / points], [np.inf, np.inf, 5.0]


def _start(curve: Curve, number: NDArray[np.float64], y: NDArray[np.float64]) -> list[float]:
    """The best of a row of rates; for a given rate, level and change are a straight line's."""
    best: tuple[float, list[float]] | None = None
    for rate in np.geomspace(0.15 / len(y), 4.0, 40):
        shape = curve(number, 0.0, 1.0, rate)
        table = np.column_stack([np.ones_like(shape), shape])
        (level, change), *_ = np.linalg.lstsq(table, y, rcond=None)
        off = y - level - change * shape
        if best is None or off @ off < best[0]:
            best = (float(off @ off), [float(level), float(change), float(rate)])
    assert best is not None
    return best[1]
