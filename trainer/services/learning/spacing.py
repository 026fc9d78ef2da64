"""When to practise a task again: spaced by the FSRS library, from the evidence of attempts.

FSRS is fitted to the recall of facts, so it is used with care: a family of cases (a task) stands
for a card, the grade comes from the attempt and not from the learner, no interval is longer than 90
days, and another case of the family is offered than the one met last. Beside it stand a refresh
after three months and a check after six (half of a gain in accuracy was lost after about 6.5 months
without use: Tatel & Ackerman, Psychol Bull, 457 reports; the two dates are our own working values).
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from fsrs import Card, Rating, Scheduler

from trainer.engine.learning.next_case import TASK_TEXT
from trainer.engine.learning.practice import PracticeCase, freshest
from trainer.engine.learning.progress import in_order, succeeded
from trainer.models.learning import HelpLevel, Task
from trainer.models.records import StoredAttempt

LONGEST_DAYS = 90  # own working value
RETENTION = 0.9  # the estimate at which practice is due; the library's default
WEAK_RETENTION = 0.8  # own working value
REFRESH_MONTHS, RECHECK_MONTHS = 3, 6
# An attempt takes minutes and ends with its debrief, so there are no steps of minutes: every
# interval is whole days, one at least. No chance in it: the same log gives the same dates.
FAMILIES = Scheduler(
    desired_retention=RETENTION,
    learning_steps=(),
    relearning_steps=(),
    maximum_interval=LONGEST_DAYS,
    enable_fuzzing=False,
)


@dataclass(frozen=True, slots=True)
class FamilyDue:
    """When a task's family of cases is due, and the case to offer then.

    ``retention`` is the library's estimate, 0 to 1, at the moment asked for; ``due`` and ``last``
    are UTC.
    """

    task: Task
    last: datetime
    due: datetime
    retention: float
    case: PracticeCase
    is_due: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Upkeep:
    """Days of the next refresh and the next check; None before the first unassisted attempt."""

    refresh_on: date | None
    recheck_on: date | None
    sentence: str


def grade(attempt: StoredAttempt, first_of_family: bool) -> Rating:
    """The library's grade for what the attempt showed.

    Critical fail: again. Below mastery, or a needless retake: hard. Mastery: good; at the
    family's first attempt and without a repeated scout: easy.

    Parameters
    ----------
    attempt : StoredAttempt
        An unassisted attempt.
    first_of_family : bool
        Whether this is the family's first unassisted attempt.
    """
    if attempt.critical:
        return Rating.Again
    if not succeeded(attempt):
        return Rating.Hard
    return Rating.Easy if first_of_family and attempt.scout_pairs <= 1 else Rating.Good


def family_card(attempts: Sequence[StoredAttempt], task: Task) -> Card | None:
    """The library's card of the task after all unassisted attempts; None without any."""
    card: Card | None = None
    for attempt in in_order(attempts):
        if attempt.task is task and attempt.help.is_unassisted:
            mark = grade(attempt, first_of_family=card is None)
            # With id and date given the library asks no clock.
            card = card or Card(card_id=0, due=attempt.finished_at)
            card, _ = FAMILIES.review_card(card, mark, attempt.finished_at.astimezone(UTC))
    return card


def interval_days(stability_days: float, retention: float) -> float:
    """After how many days the estimate falls to ``retention``; at 0.9 it is the stability.

    The library's formula, not rounded: R = (1 + F t / S)^-w20 with F so that R(S) = 0.9.
    """
    decay = -FAMILIES.parameters[20]
    factor = 0.9 ** (1.0 / decay) - 1.0
    return float(stability_days / factor * (retention ** (1.0 / decay) - 1.0))


def families_due(
    cases: Sequence[PracticeCase], attempts: Sequence[StoredAttempt], now: datetime
) -> tuple[FamilyDue, ...]:
    """Every task that was practised unassisted and has cases, the one due first at the top.

    ``now`` is UTC.
    """
    ordered = in_order(attempts)
    found = []
    for task in Task:
        card = family_card(ordered, task)
        own = [c for c in cases if c.task is task]
        if card is None or not own:
            continue
        assert card.last_review is not None and card.stability is not None
        weak = card.last_review + timedelta(days=interval_days(card.stability, WEAK_RETENTION))
        case = freshest(own, [a for a in ordered if a.task is task])
        retention = float(FAMILIES.get_card_retrievability(card, now))
        is_due = card.due <= now
        found.append(
            FamilyDue(
                task,
                card.last_review,
                card.due,
                retention,
                case,
                is_due,
                _sentence(task, card, weak, retention, now, len(own)),
            )
        )
    return tuple(sorted(found, key=lambda f: f.due))


def upkeep(attempts: Sequence[StoredAttempt], now: datetime) -> Upkeep:
    """When to refresh and when to check again, counted in calendar months.

    Refresh: after the latest unassisted attempt. Check: after the latest attempt without any help
    (as in an exam), or without one, after the first unassisted attempt.
    """
    free = [a for a in in_order(attempts) if a.help.is_unassisted]
    if not free:
        return Upkeep(None, None, "Nothing to keep up yet: no unassisted attempt.")
    exams = [a for a in free if a.help is HelpLevel.NONE]
    refresh = months_later(free[-1].finished_at.date(), REFRESH_MONTHS)
    checked = (exams[-1] if exams else free[0]).finished_at.date()
    recheck = months_later(checked, RECHECK_MONTHS)
    today = now.date()
    parts = [
        f"{name} {'was due' if day < today else 'is due'} on {day.isoformat()}."
        for name, day in (("A refresh", refresh), ("A check without help", recheck))
    ]
    return Upkeep(refresh, recheck, " ".join(parts))


def months_later(day: date, months: int) -> date:
    """The same day some months later, or that month's last day."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _sentence(
    task: Task, card: Card, weak: datetime, retention: float, now: datetime, cases: int
) -> str:
    name = TASK_TEXT[task][0].upper() + TASK_TEXT[task][1:]
    days = (card.due.date() - now.date()).days
    if days > 0:
        when = f"due in {days} day{'s' if days > 1 else ''}"
    else:
        when = "due today" if days == 0 else f"overdue by {-days} day{'s' if days < -1 else ''}"
    text = f"{name}: {when} (estimated {100.0 * retention:.0f} % kept"
    text += f", below {100.0 * WEAK_RETENTION:.0f} % from {weak.date().isoformat()})."
    if cases == 1:
        text += " The library has one case of this task only, so the same one comes again."
    return text
