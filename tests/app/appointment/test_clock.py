"""The clock of an appointment."""

from __future__ import annotations

import pytest

from trainer.app.appointment.clock import VisitClock, minutes


def test_time_goes_on_where_it_was_left() -> None:
    """A clock that starts at 90 s tells 90 s, and then what has passed since."""
    now = [1000.0]
    clock = VisitClock(90.0, lambda: now[0])
    assert clock.now_s() == 90.0
    now[0] += 2.5
    assert clock.now_s() == 92.5


def test_time_never_runs_back() -> None:
    """A source that jumps back does not take the time with it."""
    now = [10.0]
    clock = VisitClock(0.0, lambda: now[0])
    now[0] = 14.0
    assert clock.now_s() == 4.0
    now[0] = 3.0
    assert clock.now_s() == 4.0


def test_times_are_whole_milliseconds() -> None:
    """A time is told to 1 ms."""
    now = [0.0]
    clock = VisitClock(0.0, lambda: now[0])
    now[0] = 1.23456
    assert clock.now_s() == 1.235


@pytest.mark.parametrize(("at_s", "words"), [(0.0, "0:00"), (59.9, "0:59"), (187.2, "3:07")])
def test_minutes(at_s: float, words: str) -> None:
    """A time is shown as minutes and seconds."""
    assert minutes(at_s) == words


def test_time_can_stand_still() -> None:
    """While it stands no time passes, and it goes on from there; standing twice is standing."""
    at = [10.0]
    clock = VisitClock(5.0, lambda: at[0])
    at[0] = 12.0
    clock.stand()
    at[0] = 100.0
    clock.stand()
    assert clock.now_s() == 7.0
    clock.go_on()
    assert clock.now_s() == 7.0
    at[0] = 101.5
    assert clock.now_s() == 8.5
    clock.go_on()
    assert clock.now_s() == 8.5
