"""How far two raters agree beyond chance: Cohen's kappa, plain and weighted."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import Fault, NotValid

FEWEST_PAIRS = 30  # own working value
LOPSIDED = 0.8  # share of one grade from which kappa is low whatever the agreement; own


class Weights(StrEnum):
    """How much a disagreement counts: fully, by its steps, or by its steps squared."""

    NONE = "none"
    LINEAR = "linear"
    QUADRATIC = "quadratic"


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement of two raters.

    ``observed`` and ``expected`` (weighted) agreement, 0 to 1; ``kappa`` is ``nan`` when chance
    alone would give full agreement. ``error`` is the plain large-sample standard error of the
    unweighted kappa, ``nan`` for a weighted one.
    """

    observed: float
    expected: float
    kappa: float
    error: float
    pairs: int
    warnings: tuple[str, ...]


def rating_table(
    first: Sequence[Hashable], second: Sequence[Hashable], grades: Sequence[Hashable]
) -> NDArray[np.int64]:
    """How often each pair of grades was given, (k, k): rows the first rater's grade."""
    if len(first) != len(second):
        text = f"must be two lists of one length, got {len(first)} and {len(second)}"
        raise NotValid([Fault("agreement", 0, "ratings", text)])
    place = {grade: i for i, grade in enumerate(grades)}
    unknown = sorted({str(g) for g in (*first, *second) if g not in place})
    if unknown:
        text = f"unknown grades {', '.join(unknown)}"
        raise NotValid([Fault("agreement", 0, "ratings", text)])
    table = np.zeros((len(grades), len(grades)), np.int64)
    for a, b in zip(first, second, strict=True):
        table[place[a], place[b]] += 1
    return table


def kappa(table: ArrayLike, weights: Weights = Weights.NONE) -> Kappa:
    """Cohen's kappa of a table of counts.

    Parameters
    ----------
    table : (k, k)
        How often each pair of grades was given; k two or more, grades in their order.
    weights : Weights
        How disagreement counts: |i - j| / (k - 1), or its square.

    References
    ----------
    Cohen, Educ Psychol Meas 1960;20:37 and Psychol Bull 1968;70:213. Standard error:
    sqrt(p_o (1 - p_o) / (n (1 - p_e)^2)), Cohen 1960.
    """
    counts = np.asarray(table, float)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or len(counts) < 2:
        raise NotValid([Fault("agreement", 0, "table", "must be square, two grades or more")])
    n = float(counts.sum())
    if (counts < 0.0).any() or n == 0.0:
        raise NotValid([Fault("agreement", 0, "table", "must hold counts, at least one")])
    share = counts / n
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    lost = _lost(len(counts), weights)
    observed = 1.0 - float((lost * share).sum())
    expected = 1.0 - float((lost * np.outer(rows, columns)).sum())
    beyond = 1.0 - expected
    certain = beyond <= 1e-12  # both raters gave one and the same grade throughout
    return Kappa(
        observed,
        expected,
        float("nan") if certain else (observed - expected) / beyond,
        float("nan")
        if certain or weights is not Weights.NONE
        else math.sqrt(observed * (1.0 - observed) / n) / beyond,
        int(n),
        _warnings(int(n), observed, float(max(((rows + columns) / 2.0).max(), 0.0))),
    )


def _lost(k: int, weights: Weights) -> NDArray[np.float64]:
    steps = np.abs(np.subtract.outer(np.arange(k), np.arange(k))) / (k - 1)
    if weights is Weights.NONE:
        return (steps > 0.0).astype(float)
    return np.asarray(steps if weights is Weights.LINEAR else steps**2, float)


def _warnings(n: int, observed: float, commonest: float) -> tuple[str, ...]:
    found = []
    if n < FEWEST_PAIRS:
        found.append(f"{n} pairs of ratings, {FEWEST_PAIRS} or more are wanted.")
    if commonest >= LOPSIDED:
        found.append(
            f"One grade makes up {100.0 * commonest:.0f} % of all: kappa is low then even where "
            f"raters agree ({100.0 * observed:.0f} % here). Add images of the rare grade."
        )
    return tuple(found)
