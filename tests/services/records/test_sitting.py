"""The screen locks when nobody does anything."""

from __future__ import annotations

from datetime import timedelta

from helpers.records import NOW

from trainer.models.records import Learner
from trainer.services.records.sitting import AUTO_LOCK_S, Sitting

SITTING = Sitting(Learner("ab" * 16, "Heron 12"), NOW)


def test_it_locks_after_its_time_and_not_before():
    """Up to the last second it is open; an act starts the time anew."""
    last, over = timedelta(seconds=AUTO_LOCK_S), timedelta(seconds=AUTO_LOCK_S + 1)
    assert not SITTING.is_locked(NOW)
    assert not SITTING.is_locked(NOW + last)
    assert SITTING.is_locked(NOW + over)
    assert not SITTING.touched(NOW + last).is_locked(NOW + over)
    assert SITTING.is_locked(NOW + timedelta(seconds=11), after_s=10)


def test_a_clock_set_back_locks():
    """A time before the last act proves nothing, so the PIN is asked for."""
    assert SITTING.is_locked(NOW - timedelta(seconds=1))
