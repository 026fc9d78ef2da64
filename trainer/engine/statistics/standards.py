"""Where to set a pass mark: judges' estimates (Angoff) and borderline regression."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.errors import Fault, NotValid

FEWEST_ATTEMPTS = 30  # below that a cut is provisional; own working value
# About 15 mixed judges gave the most precise cut in a simulation of 4900 panels (Shulruf et al.,
# BMC Med Educ 2016).
GOOD_PANEL = 15
LOWEST_R2 = 0.5  # from memory
# How examiners spaced the grades fail, borderline pass, clear pass, good, excellent on a line from
# 0 to 1 (BMC Med Educ 2022, s12909-022-03753-5: 94 stations, 1191 outcomes).
SPACED_RATINGS = {1: 0.0, 2: 0.33, 3: 0.55, 4: 0.77, 5: 1.0}


@dataclass(frozen=True, slots=True)
class PanelCut:
    """A pass mark from judges' estimates.

    ``judge_cuts`` (judges) and ``item_means`` (items); ``cut`` in items, ``percent`` of all items;
    ``spread`` of the judges' cuts and the cut's standard ``error``, in items.
    """

    judge_cuts: NDArray[np.float64]
    item_means: NDArray[np.float64]
    cut: float
    percent: float
    spread: float
    error: float
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BorderlineCut:
    """A pass mark from the line of scores against a supervisor's global ratings.

    ``residual`` is the standard deviation about the line, ``error`` the standard error of the
    line's height at the borderline rating. ``group_mean`` is the mean score of those rated
    borderline, ``nan`` when there are none; a second method to compare with.
    """

    slope: float
    intercept: float
    r2: float
    residual: float
    cut: float
    error: float
    group_mean: float
    attempts: int
    warnings: tuple[str, ...]


def angoff(estimates: Sequence[Sequence[float]] | NDArray[np.float64]) -> PanelCut:
    """The pass mark that judges' estimates give.

    Parameters
    ----------
    estimates : (judges, items)
        The share, 0 to 1, of just competent (or, for mastery, well prepared) people who would do
        the item; at least two judges.

    References
    ----------
    Angoff's method: cut = mean over judges of the sum over items; standard error = SD / sqrt(J).
    """
    table = np.asarray(estimates, float)
    if table.ndim != 2 or table.shape[0] < 2 or table.shape[1] < 1:
        raise NotValid([Fault("panel", 0, "estimates", "needs two judges or more and one item")])
    if not ((table >= 0.0) & (table <= 1.0)).all():
        raise NotValid([Fault("panel", 0, "estimates", "must all be given and lie from 0 to 1")])
    cuts = table.sum(axis=1)
    spread = float(cuts.std(ddof=1))
    warnings = []
    if len(table) < GOOD_PANEL:
        warnings.append(
            f"{len(table)} judges: panels of about {GOOD_PANEL} mixed judges are the most precise."
        )
    return PanelCut(
        cuts,
        table.mean(axis=0),
        float(cuts.mean()),
        float(100.0 * cuts.mean() / table.shape[1]),
        spread,
        spread / math.sqrt(len(cuts)),
        tuple(warnings),
    )


def borderline_regression(
    ratings: Sequence[float], scores: Sequence[float], borderline: float = 2.0
) -> BorderlineCut:
    """The score that the regression line gives at the borderline rating.

    The ratings must be a person's own: computed from the scores they would prove nothing.

    Parameters
    ----------
    ratings : (n,)
        Global ratings, as given or spaced by `SPACED_RATINGS`.
    scores : (n,)
        Checklist scores of the same attempts, in any unit.
    borderline : float
        The rating "borderline", spaced like the others.
    """
    x, y = np.asarray(ratings, float), np.asarray(scores, float)
    if x.shape != y.shape or len(x) < 3 or np.ptp(x) == 0.0:
        text = "needs three attempts or more, each with a rating, and not all ratings equal"
        raise NotValid([Fault("borderline", 0, "ratings", text)])
    from scipy.stats import linregress

    line = linregress(x, y)
    off = y - (line.intercept + line.slope * x)
    residual = math.sqrt(float(off @ off) / (len(x) - 2))
    away = x - x.mean()
    error = residual * math.sqrt(
        1.0 / len(x) + (borderline - float(x.mean())) ** 2 / float(away @ away)
    )
    r2 = float(line.rvalue) ** 2
    group = y[x == borderline]
    return BorderlineCut(
        float(line.slope),
        float(line.intercept),
        r2,
        residual,
        float(line.intercept + line.slope * borderline),
        error,
        float(group.mean()) if len(group) else float("nan"),
        len(x),
        _borderline_warnings(len(x), r2, float(line.slope), x, borderline),
    )


def _borderline_warnings(
    n: int, r2: float, slope: float, ratings: NDArray[np.float64], borderline: float
) -> tuple[str, ...]:
    found = []
    if n < FEWEST_ATTEMPTS:
        found.append(
            f"Provisional: {n} attempts, {FEWEST_ATTEMPTS} or more are wanted. Show the cut with "
            "its standard error."
        )
    if slope <= 0.0:
        found.append(
            "Scores do not rise with the ratings: no pass mark follows. Look at the case and at "
            "how it was rated, not at the trainees."
        )
    elif r2 < LOWEST_R2:
        found.append(
            f"The ratings explain {100.0 * r2:.0f} % of the scores, less than "
            f"{100.0 * LOWEST_R2:.0f} %: look at the case, not at the trainees."
        )
    if not ratings.min() <= borderline <= ratings.max():
        found.append("Nobody was rated at or beyond borderline: the line is drawn out to it.")
    return tuple(found)
