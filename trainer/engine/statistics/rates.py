"""Rates with their uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.errors import Fault, NotValid


@dataclass(frozen=True, slots=True)
class Interval:
    """A rate, 0 to 1, and where the true one may lie. ``rate`` is ``nan`` when nothing is known."""

    rate: float
    low: float
    high: float


def wilson(count: int, n: int, confidence: float = 0.95) -> Interval:
    """The rate ``count`` / ``n`` with its Wilson interval; 0 to 1 when n is 0.

    Parameters
    ----------
    count, n : int
        How often, out of how many; 0 <= count <= n.
    confidence : float
        Share of such intervals that hold the true rate.

    References
    ----------
    Wilson, "Probable inference, the law of succession, and statistical inference", J Am Stat Assoc
    1927;22:209, as in `scipy.stats`.
    """
    if not 0 <= count <= n:
        raise NotValid([Fault("rate", 0, "count", f"must be 0 to {n}, got {count}")])
    if n == 0:
        return Interval(float("nan"), 0.0, 1.0)
    from scipy.stats import binomtest

    found = binomtest(count, n).proportion_ci(confidence, method="wilson")
    return Interval(count / n, float(found.low), float(found.high))


def clean_bound(n: int, confidence: float = 0.95) -> float:
    """The highest failure rate that ``n`` cases without any failure leave possible (one-sided).

    The rate p at which n clean cases in a row still happen with 1 - ``confidence``: (1 - p)^n.
    """
    if n < 1:
        raise NotValid([Fault("rate", 0, "n", f"must be 1 or more, got {n}")])
    return float(1.0 - (1.0 - confidence) ** (1.0 / n))


def failure_bound(failures: int, n: int, confidence: float = 0.95) -> float:
    """The highest failure rate that ``failures`` in ``n`` cases leave possible (one-sided, exact).

    Without a failure it is `clean_bound`. It takes the cases as alike and independent.

    References
    ----------
    Clopper and Pearson, "The use of confidence or fiducial limits illustrated in the case of the
    binomial", Biometrika 1934;26:404, as in `scipy.stats`.
    """
    if not 0 <= failures <= n:
        raise NotValid([Fault("rate", 0, "failures", f"must be 0 to {n}, got {failures}")])
    if failures == 0:
        return clean_bound(n, confidence)
    from scipy.stats import binomtest

    found = binomtest(failures, n, alternative="less").proportion_ci(confidence, method="exact")
    return float(found.high)
