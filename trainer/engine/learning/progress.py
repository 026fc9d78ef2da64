"""What a learner's attempts say over time: the learning chart, then the maintenance chart.

Which attempts count: those with help on request or none, in mixed order. *Mixed* is judged by the
attempt just before, whatever its help: an attempt at the same case as the one before it shows
memory of that case and is left out. The first attempt of all counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.engine.learning.cusum import (
    HeldRule,
    first_signal,
    held_sums,
    learning_rule,
    maintenance_rule,
    signal_probability,
)
from trainer.models.records import StoredAttempt

# Failure rates that are not yet, and are, good enough, and the limit: own working values. By 30
# attempts 11.6 % of those who still fail one in four reach the limit, and 71.7 % of those who fail
# one in ten; so a signal means "ready for observed practice" and nothing more.
INADEQUATE, ADEQUATE, LEARNING_LIMIT = 0.25, 0.10, 2.5
# After the signal: own working values. False alarm within 50 attempts 7.2 %; a true rate of 15 % is
# found within 50 attempts with 78.8 %.
KEPT, LOST, MAINTENANCE_LIMIT = 0.05, 0.15, 3.0
LEARNING = learning_rule(INADEQUATE, ADEQUATE, LEARNING_LIMIT)
MAINTENANCE = maintenance_rule(KEPT, LOST, MAINTENANCE_LIMIT)
LOOK_AHEAD = 30  # attempts for which the chance of a false signal is told


@dataclass(frozen=True, slots=True)
class Progress:
    """Both charts of one learner.

    ``counted`` (n) attempts in order of time; ``successes`` (n). ``learning`` holds the sum after
    each counted attempt up to the signal, ``signal`` its number from 1. ``maintenance`` holds the
    sums after the attempts that followed; ``alarms`` are numbers from 1 within those. The chart
    starts at zero again after each alarm. ``sentence`` says what all this means.
    """

    counted: tuple[StoredAttempt, ...]
    successes: tuple[bool, ...]
    left_out: int
    learning: NDArray[np.float64]
    signal: int | None
    maintenance: NDArray[np.float64]
    alarms: tuple[int, ...]
    sentence: str


def in_order(attempts: Sequence[StoredAttempt]) -> list[StoredAttempt]:
    """The attempts by the time they ended (equal times by id)."""
    return sorted(attempts, key=lambda a: (a.finished_at, a.id))


def succeeded(attempt: StoredAttempt) -> bool:
    """Whether the attempt counts as a success.

    No critical item failed, no needless retake, the mastery mark reached, and help on request or
    none.
    """
    return (
        attempt.mastered
        and not attempt.critical
        and not attempt.needless_retake
        and attempt.help.is_unassisted
    )


def counted_attempts(attempts: Sequence[StoredAttempt]) -> tuple[StoredAttempt, ...]:
    """The attempts that count as evidence, in order: unassisted and at another case than before."""
    ordered = in_order(attempts)
    cases_before = ["", *(a.case_id for a in ordered)]
    return tuple(
        a
        for a, before in zip(ordered, cases_before, strict=False)
        if a.help.is_unassisted and a.case_id != before
    )


def progress(attempts: Sequence[StoredAttempt]) -> Progress:
    """Both charts of one learner's attempts, in any order of the list."""
    counted = counted_attempts(attempts)
    successes = tuple(succeeded(a) for a in counted)
    learning = held_sums(LEARNING, successes)
    signal = first_signal(LEARNING, learning)
    maintenance, alarms = _restarted(MAINTENANCE, successes[signal:] if signal else ())
    return Progress(
        counted,
        successes,
        len(attempts) - len(counted),
        learning[:signal],
        signal,
        maintenance,
        alarms,
        _sentence(len(counted), successes, signal, alarms),
    )


def _restarted(
    rule: HeldRule, successes: Sequence[bool]
) -> tuple[NDArray[np.float64], tuple[int, ...]]:
    """Sums that start at zero again after each alarm, and the alarms' numbers from 1."""
    sums, alarms, done = np.empty(len(successes)), [], 0
    while done < len(successes):
        rest = held_sums(rule, successes[done:])
        alarm = first_signal(rule, rest)
        end = len(rest) if alarm is None else alarm
        sums[done : done + end] = rest[:end]
        done += end
        if alarm is not None:
            alarms.append(done)
    return sums, tuple(alarms)


def _sentence(n: int, successes: Sequence[bool], signal: int | None, alarms: Sequence[int]) -> str:
    if n == 0:
        return "No attempt counts yet: unassisted attempts at changing cases do."
    if signal is None:
        return (
            f"{sum(successes)} of {n} counted attempts were successes. No signal yet: go on with "
            "mixed, unassisted cases."
        )
    if alarms:
        latest = signal + alarms[-1]
        since = successes[latest:]
        return (
            f"Failures have become more frequent since the signal at counted attempt {signal}: "
            f"alarm at {latest}; {sum(since)} of {len(since)} counted attempts since were "
            "successes. Practise with more help and tell your supervisor."
        )
    wrong = signal_probability(LEARNING, INADEQUATE, LOOK_AHEAD)[-1]
    return (
        f"Ready for observed practice since counted attempt {signal}. A supervisor decides what "
        f"follows: of people who still fail one attempt in four, {100.0 * wrong:.1f} % reach this "
        f"signal by attempt {LOOK_AHEAD}."
    )
