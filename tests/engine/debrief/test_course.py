"""The course of an appointment, folded from its events."""

from __future__ import annotations

import pytest

from tests.engine.debrief.attempts import BAD, attempt
from trainer.engine.debrief.course import course_of
from trainer.models import appointment_events as ev


@pytest.mark.parametrize("name", [*BAD, "clean"])
def test_the_course_has_every_event_and_ends_as_the_state_does(name: str) -> None:
    """One moment for each event, in order; the last setup is the state's."""
    state = attempt(name)
    course = course_of(state)
    assert [(m.at_s, m.event) for m in course] == [(e.at_s, e.event) for e in state.log]
    assert course[-1].setup == state.setup
    assert course[-1].lights_on is state.room.lights_on
    assert course[-1].at_unit is (state.person is not None and state.person.stance is not None)


@pytest.mark.parametrize("name", ["clean", "turned", "low"])
def test_at_every_exposure_the_setup_is_that_of_the_exposure(name: str) -> None:
    """Bands that turn the head, spacers and moves are all followed up to scouts and runs."""
    state = attempt(name)
    course = course_of(state)
    exposed = [(s.at_s, s.conditions.setup) for s in state.scouts]
    exposed += [(r.started_s, r.conditions.setup) for r in state.runs]
    assert exposed
    for at_s, setup in exposed:
        moment = next(m for m in course if m.at_s == at_s
                      and isinstance(m.event, ev.ScoutTaken | ev.RunStarted))  # fmt: skip
        assert moment.setup == setup
        assert moment.at_unit
