"""How far a score can be trusted: alpha, intraclass correlations, a study of persons by raters."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import Fault, NotValid

FEWEST_PEOPLE = 30  # own working value


@dataclass(frozen=True, slots=True)
class Alpha:
    """Internal consistency of a sum score.

    ``item_variances`` (items) and ``total_variance`` are of the sample (n - 1); ``error_of_score``
    is the standard error of measurement, in the score's own unit.
    """

    alpha: float
    item_variances: NDArray[np.float64]
    total_variance: float
    error_of_score: float
    people: int
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """A two-way table without repeats: mean squares of persons, raters, rest, and within persons.

    ``people`` and ``raters`` are how many.
    """

    person: float
    rater: float
    rest: float
    within: float
    people: int
    raters: int


@dataclass(frozen=True, slots=True)
class Intraclass:
    """The six intraclass correlations: of one rating, and of the mean of all raters' ratings.

    Case 1: raters differ from person to person; 2: raters drawn from many; 3: these raters only.
    """

    one_1: float
    one_2: float
    one_3: float
    mean_1: float
    mean_2: float
    mean_3: float
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Variances:
    """Parts of the variance in a study of persons by raters; parts below 0 count as 0."""

    person: float
    rater: float
    rest: float
    people: int
    warnings: tuple[str, ...]

    def relative(self, raters: int) -> float:
        """How well the mean of so many raters tells people apart, 0 to 1 (E rho^2)."""
        return self.person / (self.person + self.rest / raters)

    def absolute(self, raters: int) -> float:
        """How well it tells where each stands, strict or mild raters counted as error (Phi)."""
        return self.person / (self.person + (self.rater + self.rest) / raters)


def alpha(scores: ArrayLike) -> Alpha:
    """Cronbach's alpha of a table of scores; for items marked 0 or 1 it is KR-20.

    Parameters
    ----------
    scores : (people, items)
        Two of each or more.

    References
    ----------
    Cronbach, Psychometrika 1951;16:297.
    """
    table = _table(scores, "items")
    items = table.var(axis=0, ddof=1)
    total = float(table.sum(axis=1).var(ddof=1))
    if total == 0.0:
        raise NotValid([Fault("reliability", 0, "scores", "all people have the same total")])
    found = alpha_of_variances(table.shape[1], float(items.sum()), total)
    return Alpha(
        found,
        items,
        total,
        error_of_measurement(math.sqrt(total), found),
        len(table),
        _warnings(len(table)),
    )


def alpha_of_variances(items: int, sum_of_variances: float, total_variance: float) -> float:
    """Alpha from the number of items, the sum of their variances and that of the total."""
    return items / (items - 1) * (1.0 - sum_of_variances / total_variance)


def standardised_alpha(items: int, mean_correlation: float) -> float:
    """Alpha of items brought to equal variance, from their mean correlation."""
    return items * mean_correlation / (1.0 + (items - 1) * mean_correlation)


def lengthened(reliability: float, factor: float) -> float:
    """The reliability of a test made ``factor`` times as long (Spearman and Brown, 1910)."""
    return factor * reliability / (1.0 + (factor - 1.0) * reliability)


def length_needed(reliability: float, wanted: float) -> float:
    """How many times as long a test must be for the wanted reliability (Spearman and Brown)."""
    return wanted * (1.0 - reliability) / (reliability * (1.0 - wanted))


def error_of_measurement(spread: float, reliability: float) -> float:
    """The standard error of one person's score, from the spread of scores and the reliability.

    Alpha below 0 says that the score measures nothing: the error is then the whole spread.
    """
    return spread * math.sqrt(1.0 - max(0.0, reliability))


def mean_squares(ratings: ArrayLike) -> MeanSquares:
    """Mean squares of a table of (people, raters), two of each or more."""
    table = _table(ratings, "raters")
    n, k = table.shape
    mean = table.mean()
    person = float(k * ((table.mean(axis=1) - mean) ** 2).sum())
    rater = float(n * ((table.mean(axis=0) - mean) ** 2).sum())
    whole = float(((table - mean) ** 2).sum())
    rest = max(0.0, whole - person - rater)
    return MeanSquares(
        person / (n - 1),
        rater / (k - 1),
        rest / ((n - 1) * (k - 1)),
        (whole - person) / (n * (k - 1)),
        n,
        k,
    )


def intraclass(ratings: ArrayLike) -> Intraclass:
    """The six intraclass correlations of a table of (people, raters).

    References
    ----------
    Shrout & Fleiss, Psychol Bull 1979;86:420.
    """
    m = mean_squares(ratings)
    n, k = m.people, m.raters
    if m.person == 0.0:
        raise NotValid([Fault("reliability", 0, "ratings", "all people have the same mean")])
    return Intraclass(
        one_1=(m.person - m.within) / (m.person + (k - 1) * m.within),
        one_2=(m.person - m.rest) / (m.person + (k - 1) * m.rest + k * (m.rater - m.rest) / n),
        one_3=(m.person - m.rest) / (m.person + (k - 1) * m.rest),
        mean_1=(m.person - m.within) / m.person,
        mean_2=(m.person - m.rest) / (m.person + (m.rater - m.rest) / n),
        mean_3=(m.person - m.rest) / m.person,
        warnings=_warnings(n),
    )


def variances(ratings: ArrayLike) -> Variances:
    """The parts of the variance in a table of (people, raters); people differ."""
    m = mean_squares(ratings)
    person = max(0.0, (m.person - m.rest) / m.raters)
    if person == 0.0:
        text = "people do not differ by more than chance: nothing can be told apart"
        raise NotValid([Fault("reliability", 0, "ratings", text)])
    return Variances(
        person, max(0.0, (m.rater - m.rest) / m.people), m.rest, m.people, _warnings(m.people)
    )


def _table(values: ArrayLike, columns: str) -> NDArray[np.float64]:
    table = np.asarray(values, float)
    if table.ndim != 2 or min(table.shape) < 2 or not np.isfinite(table).all():
        text = f"needs two people and two {columns} or more, with no gap"
        raise NotValid([Fault("reliability", 0, columns, text)])
    return table


def _warnings(people: int) -> tuple[str, ...]:
    if people >= FEWEST_PEOPLE:
        return ()
    return (f"{people} people, {FEWEST_PEOPLE} or more are wanted: the figure is provisional.",)
