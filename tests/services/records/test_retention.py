"""Who has been kept for as long as the rules say."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from helpers.records import NOW, attempt_of

from trainer.services.records.retention import _months_later, overdue


def test_learners_without_anything_new_are_named(records, learner):
    """The longest ago stands first; an entry made now keeps its learner from the list."""
    old = records.learners.add("Jay 20", now=datetime(2019, 5, 1, tzinfo=UTC))
    older = records.learners.add("Teal 33", now=datetime(2018, 5, 1, tzinfo=UTC))
    active = records.learners.add("Wren 40", now=datetime(2018, 5, 1, tzinfo=UTC))
    records.add_attempt(attempt_of(active))
    found = overdue(records, 12, NOW)
    assert [(each.learner, each.last_active) for each in found] == [
        (older, date(2018, 5, 1)),
        (old, date(2019, 5, 1)),
    ]
    assert overdue(records, 120, NOW) == ()


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2024, 1, 30), 1, date(2024, 2, 29)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 3, 31), 84, date(2033, 3, 31)),
        (date(2026, 5, 31), 6, date(2026, 11, 30)),
    ],
)
def test_months_end_on_the_same_day_or_the_months_last(day, months, later):
    """As people count months."""
    assert _months_later(day, months) == later


def test_the_last_day_still_counts(records):
    """Kept up to and with the day, due on the next."""
    records.learners.add("Jay 20", now=datetime(2025, 3, 2, 8, tzinfo=UTC))
    assert overdue(records, 12, datetime(2026, 3, 2, 23, tzinfo=UTC)) == ()
    assert len(overdue(records, 12, datetime(2026, 3, 3, 1, tzinfo=UTC))) == 1
