"""Whose records have been kept for as long as the local rules say. Nobody is erased by itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, select

from trainer.models.records import Learner
from trainer.services.records.store import Records
from trainer.services.records.tables import ENTRIES


@dataclass(frozen=True, slots=True)
class Overdue:
    """A learner whose last entry, or else profile, is older than the rules keep."""

    learner: Learner
    last_active: date


def overdue(records: Records, months: int, now: datetime) -> tuple[Overdue, ...]:
    """Learners with nothing new for more than ``months``, the longest ago first."""
    newest = select(ENTRIES.c.learner_id, func.max(ENTRIES.c.made_at)).group_by(
        ENTRIES.c.learner_id
    )
    with records.database.reading() as connection:
        last = {row[0]: row[1] for row in connection.execute(newest)}
    found = []
    for learner in records.learners.all():
        text = last.get(learner.id)
        active = datetime.fromisoformat(text) if text else learner.made_at
        if active is not None and _months_later(active.date(), months) < now.date():
            found.append(Overdue(learner, active.date()))
    return tuple(sorted(found, key=lambda each: (each.last_active, each.learner.pseudonym)))


def _months_later(day: date, months: int) -> date:
    """The same day so many months later, or the last one of a shorter month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for number in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, number)
        except ValueError:
            continue
    raise AssertionError("every month has 28 days")
