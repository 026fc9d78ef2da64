"""Cumulative sum charts of successes and failures, and how likely each is to signal.

Two kinds. A chart *held at zero* adds a step for each attempt, never falls below zero and signals
at its limit: with the steps of `learning_rule` it asks whether somebody has become good enough
(LC-CUSUM: Biau et al., Br J Surg 2008; Stat Med 2010), with those of `maintenance_rule` whether
somebody who was has become worse. A chart *between two lines* is the classic sequential test
(formulas: Rutherford, CUSUM teaching slides).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.errors import Fault, NotValid


@dataclass(frozen=True, slots=True)
class HeldRule:
    """A chart held at zero: what a success and a failure add, and where it signals."""

    success: float
    failure: float
    limit: float


@dataclass(frozen=True, slots=True)
class LineRule:
    """A chart between two lines: a success takes ``step`` off, a failure adds 1 - ``step``.

    Falling to -``lower`` shows the acceptable rate, rising to ``upper`` the unacceptable one;
    between them nothing is decided.
    """

    step: float
    lower: float
    upper: float


def learning_rule(inadequate: float, adequate: float, limit: float) -> HeldRule:
    """The rule that looks for evidence of skill: successes add, failures take off.

    Parameters
    ----------
    inadequate, adequate : float
        Failure rates of somebody who is not yet, and who is, good enough; 0 < adequate <
        inadequate < 1.
    limit : float
        The sum at which the chart signals.
    """
    _check_rates(adequate, inadequate)
    return HeldRule(
        math.log((1.0 - adequate) / (1.0 - inadequate)), math.log(adequate / inadequate), limit
    )


def maintenance_rule(acceptable: float, unacceptable: float, limit: float) -> HeldRule:
    """The rule that looks for loss of skill: failures add, successes take off.

    Parameters
    ----------
    acceptable, unacceptable : float
        Failure rates; 0 < acceptable < unacceptable < 1.
    limit : float
        The sum at which the chart signals.
    """
    _check_rates(acceptable, unacceptable)
    return HeldRule(
        math.log((1.0 - unacceptable) / (1.0 - acceptable)),
        math.log(unacceptable / acceptable),
        limit,
    )


def line_rule(acceptable: float, unacceptable: float, alpha: float, beta: float) -> LineRule:
    """The classic rule for two failure rates and two error probabilities.

    Parameters
    ----------
    acceptable, unacceptable : float
        Failure rates; 0 < acceptable < unacceptable < 1.
    alpha, beta : float
        Probability of calling an acceptable rate unacceptable, and the reverse; below one half.

    References
    ----------
    Rutherford, CUSUM teaching slides. They print both lines with a minus; the lower line is drawn
    at -``lower`` and the upper one at +``upper`` here.
    """
    _check_rates(acceptable, unacceptable)
    if not (0.0 < alpha < 0.5 and 0.0 < beta < 0.5):
        raise NotValid([Fault("chart", 0, "alpha, beta", "must lie between 0 and 0.5")])
    fails = math.log(unacceptable / acceptable)
    holds = math.log((1.0 - acceptable) / (1.0 - unacceptable))
    return LineRule(
        step=holds / (fails + holds),
        lower=math.log((1.0 - alpha) / beta) / (fails + holds),
        upper=math.log((1.0 - beta) / alpha) / (fails + holds),
    )


def held_sums(rule: HeldRule, successes: Sequence[bool]) -> NDArray[np.float64]:
    """The chart's sum after each attempt, (n,); it runs on after a signal."""
    sums = np.empty(len(successes))
    level = 0.0
    for i, success in enumerate(successes):
        level = max(0.0, level + (rule.success if success else rule.failure))
        sums[i] = level
    return sums


def line_sums(rule: LineRule, successes: Sequence[bool]) -> NDArray[np.float64]:
    """The classic chart's sum after each attempt, (n,)."""
    return np.cumsum(np.where(np.asarray(successes, bool), -rule.step, 1.0 - rule.step))


def first_signal(rule: HeldRule, sums: NDArray[np.float64]) -> int | None:
    """The number of the attempt, from 1, at which the chart first reaches its limit."""
    return _first(sums >= rule.limit)


def first_crossing(rule: LineRule, sums: NDArray[np.float64]) -> tuple[int, bool] | None:
    """The first attempt, from 1, at or beyond a line, and whether that line is the good one."""
    number = _first((sums <= -rule.lower) | (sums >= rule.upper))
    return None if number is None else (number, bool(sums[number - 1] < 0.0))


def shortest_run(rule: HeldRule | LineRule) -> int:
    """How many equal results in a row, from zero, reach the limit (or the classic lower line)."""
    if isinstance(rule, LineRule):
        return math.ceil(rule.lower / rule.step)
    return math.ceil(rule.limit / max(rule.success, rule.failure))


def signal_probability(rule: HeldRule, failure_rate: float, attempts: int) -> NDArray[np.float64]:
    """How likely a chart held at zero has signalled after each of the attempts, (attempts,).

    Exact: the probability of every sum the chart can have is carried from attempt to attempt. A sum
    is known by the successes and failures since it last was zero, so nothing is rounded or drawn.

    Parameters
    ----------
    rule : HeldRule
        The chart.
    failure_rate : float
        The true rate, 0 to 1, the same at every attempt.
    attempts : int
        How far to look.
    """
    at_zero = (0, 0)
    likely = {at_zero: 1.0}
    signalled = np.zeros(attempts)
    total = 0.0
    for number in range(attempts):
        following: dict[tuple[int, int], float] = {}
        for (good, bad), before in likely.items():
            for state, share in (
                ((good + 1, bad), before * (1.0 - failure_rate)),
                ((good, bad + 1), before * failure_rate),
            ):
                level = state[0] * rule.success + state[1] * rule.failure
                if level >= rule.limit:
                    total += share
                else:
                    key = state if level > 0.0 else at_zero
                    following[key] = following.get(key, 0.0) + share
        likely = following
        signalled[number] = total
    return signalled


def _first(where: NDArray[np.bool_]) -> int | None:
    return int(np.argmax(where)) + 1 if where.any() else None


def _check_rates(low: float, high: float) -> None:
    if not 0.0 < low < high < 1.0:
        text = f"must be 0 < lower rate < higher rate < 1, got {low} and {high}"
        raise NotValid([Fault("chart", 0, "failure rates", text)])
