"""What to practise next: the weakest skill, and a case for it.

A skill is a task. How weak it is goes by the *lower* end of the interval of its success rate, so
little evidence counts as weakness: 1 of 1 is weaker than 9 of 10. The block of the score that needs
most care is told beside it, judged the same way.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trainer.engine.learning.practice import PracticeCase, freshest
from trainer.engine.learning.progress import in_order, succeeded
from trainer.engine.statistics.rates import Interval, wilson
from trainer.errors import NotFound
from trainer.models.learning import Block, Task
from trainer.models.records import StoredAttempt

LATEST = 10  # unassisted attempts of a skill that are looked at; own working value
CLEAN_CASES = 2  # successes in different cases after which the next level is due; own working value
FEWEST_FOR_BLOCK = 3  # attempts before anything is said on a block; own working value

TASK_TEXT = {
    Task.SINGLE_SITE: "single sites",
    Task.LOWER_JAW: "the lower jaw",
    Task.UPPER_JAW: "the upper jaw",
    Task.BOTH_JAWS: "both jaws",
    Task.ONE_JOINT: "one joint",
    Task.BOTH_JOINTS: "both joints",
    Task.SINUS: "the sinus",
    Task.EAR: "the ear",
    Task.PANORAMIC: "panoramic pictures",
}


@dataclass(frozen=True, slots=True)
class Skill:
    """How one task goes: ``successes`` of the latest ``attempts``, with the rate's interval."""

    task: Task
    successes: int
    attempts: int
    rate: Interval


@dataclass(frozen=True, slots=True)
class BlockCare:
    """The block with the lowest share of its points, as far as the evidence goes.

    ``mean`` 0 to 1 over ``attempts``; ``low`` the lower end of its 95 % interval.
    """

    block: Block
    mean: float
    low: float
    attempts: int


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A case to practise next, and why."""

    case: PracticeCase
    skill: Skill
    care: BlockCare | None
    reason: str


def skills(cases: Sequence[PracticeCase], attempts: Sequence[StoredAttempt]) -> tuple[Skill, ...]:
    """How every task that there are cases for goes, weakest first."""
    ordered = in_order(attempts)
    found = []
    for task in Task:
        levels = [c.level for c in cases if c.task is task]
        if levels:
            latest = [a for a in ordered if a.task is task and a.help.is_unassisted][-LATEST:]
            good = sum(succeeded(a) for a in latest)
            skill = Skill(task, good, len(latest), wilson(good, len(latest)))
            found.append((skill, min(levels)))
    # Where nothing is known, easy tasks come first.
    found.sort(key=lambda pair: (pair[0].rate.low, pair[0].rate.high, pair[1]))
    return tuple(skill for skill, _ in found)


def block_shares(score: Mapping[str, Any]) -> dict[Block, float]:
    """The share of its points, 0 to 1, that each block of a stored score earned.

    A block nothing of which applied is left out.
    """
    return {Block(b["block"]): float(b["earned"]) for b in score["blocks"] if b["items"]}


def block_care(attempts: Sequence[StoredAttempt]) -> BlockCare | None:
    """The block that needs most care in the latest unassisted attempts; None with too few."""
    latest = [a for a in in_order(attempts) if a.help.is_unassisted][-LATEST:]
    if len(latest) < FEWEST_FOR_BLOCK:
        return None
    shares: dict[Block, list[float]] = {}
    for attempt in latest:
        for block, share in block_shares(attempt.score).items():
            shares.setdefault(block, []).append(share)
    found = [_care(b, s) for b, s in shares.items() if len(s) >= FEWEST_FOR_BLOCK]
    return min(found, key=lambda c: (c.low, c.mean, list(Block).index(c.block)), default=None)


def next_case(cases: Sequence[PracticeCase], attempts: Sequence[StoredAttempt]) -> Suggestion:
    """The case to practise next. The same evidence gives the same suggestion.

    The task practised last is passed over once if there are others, because mixed order teaches
    more. Within the task: the lowest level that was not yet done twice without fault in different
    cases, there the case met least often.

    Raises
    ------
    NotFound
        If there is no case at all.
    """
    if not cases:
        raise NotFound("There is no case to practise with. Take cases into the library first.")
    ordered = in_order(attempts)
    ranked = skills(cases, ordered)
    passed_over = len(ranked) > 1 and bool(ordered) and ordered[-1].task is ranked[0].task
    skill = ranked[1] if passed_over else ranked[0]
    case = freshest(_at_level(cases, skill.task, ordered), ordered)
    care = block_care(ordered)
    reason = _skill_sentence(skill)
    if passed_over:
        reason += (
            f" ({_start(TASK_TEXT[ranked[0].task])} would be weaker still, but came last; "
            "mixed order teaches more.)"
        )
    if care is not None and care.mean < 1.0:
        reason += (
            f" Take most care with {care.block}: {100.0 * care.mean:.0f} % of its points on "
            f"average in the latest {care.attempts} attempts."
        )
    return Suggestion(case, skill, care, reason)


def _at_level(
    cases: Sequence[PracticeCase], task: Task, attempts: Sequence[StoredAttempt]
) -> list[PracticeCase]:
    """The task's cases of the lowest level that is not yet done; all of them when all are.

    The case met last is left out unless it is the task's only one.
    """
    own = [c for c in cases if c.task is task]
    last = attempts[-1].case_id if attempts else ""
    other = [c for c in own if c.id != last] or own
    done = {a.case_id for a in attempts if succeeded(a)}
    for level in sorted({c.level for c in own}):
        here = [c for c in own if c.level == level]
        open_here = [c for c in other if c.level == level]
        if open_here and len({c.id for c in here} & done) < min(CLEAN_CASES, len(here)):
            return open_here
    return other


def _care(block: Block, shares: Sequence[float]) -> BlockCare:
    from scipy.stats import t

    n = len(shares)
    mean = math.fsum(shares) / n
    spread = math.sqrt(math.fsum((s - mean) ** 2 for s in shares) / (n - 1))
    low = mean - float(t.ppf(0.975, n - 1)) * spread / math.sqrt(n)
    return BlockCare(block, mean, max(0.0, low), n)


def _skill_sentence(skill: Skill) -> str:
    name = _start(TASK_TEXT[skill.task])
    if skill.attempts == 0:
        return f"{name}: not tried without help yet."
    return (
        f"{name}: {skill.successes} of the latest {skill.attempts} unassisted attempts were "
        f"successes, so the true rate may be as low as {100.0 * skill.rate.low:.0f} %."
    )


def _start(text: str) -> str:
    return text[0].upper() + text[1:]
