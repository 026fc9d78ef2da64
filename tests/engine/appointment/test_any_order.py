"""Whatever is done in whatever order: never a crash, always the same again."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.appointment_strategies import commands
from helpers.appointments import CLEAN_RUN, OTHER_ROWAN, ROWAN, VISIT, context, timed
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.engine.appointment.checklist import checklist
from trainer.engine.appointment.critical import critical_fails
from trainer.engine.appointment.outcome import slips_of_appointment
from trainer.engine.appointment.state import open_appointment
from trainer.engine.appointment.step import step
from trainer.errors import NotAllowedNow, NotFound, NotValid
from trainer.models.appointment_visit import WornItem
from trainer.models.appointment_words import Trait, WornPlace

BUSY = replace(
    VISIT,
    waiting=(OTHER_ROWAN, ROWAN),
    traits=frozenset(Trait),
    items=(
        WornItem("ring", "a ring", WornPlace.NOSE),
        WornItem("aid", "a hearing aid", WornPlace.EARS, hears=True),
        WornItem("guide", "a guide", WornPlace.LOWER_TEETH, metal=False, prescribed_in=True),
    ),
    companion="mother",
    can_be_pregnant=True,
    scripted_motion=None,
)


@pytest.fixture(scope="module")
def busy():
    """A visit in which everything can happen."""
    return context(BUSY)


def go_on(state, commands_given):
    """The state after those that are possible, and those that were."""
    done = []
    for command in commands_given:
        later = replace(command, at_s=state.at_s + command.at_s % 7.0)
        try:
            state = step(state, later).state
        except (NotAllowedNow, NotValid, NotFound) as refused:
            assert str(refused)  # noqa: PT017
            continue
        done.append(later)
    return state, done


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.integers(0, len(CLEAN_RUN) - 1),
    st.lists(commands(), min_size=5, max_size=40),
    st.integers(0, 2**40),
)
def test_any_commands_at_any_moment(busy, spot, more, seed):
    """From any point of a clean run on, any commands are done or refused in words.

    What was done leads to the same state again, and every judgement can be made of it.
    """
    start = open_appointment(busy, seed)
    first = timed(CLEAN_RUN[:spot])
    state, done_first = start, []
    for command in first:
        try:
            state = step(state, command).state
        except NotAllowedNow:
            continue
        done_first.append(command)
    state, done = go_on(state, more)
    again = start
    for command in (*done_first, *done):
        again = step(again, command).state
    assert again == state
    times = [entry.at_s for entry in state.log]
    assert times == sorted(times)
    assert len(checklist(state)) == 29
    assert all(s.slip.found for s in slips_of_appointment(state))
    assert all(f.sentence for f in critical_fails(state))
    for run in state.runs:
        assert 0.0 <= run.recorded_share <= 1.0
        assert 0.0 <= run.watched_share <= 1.0
        assert run.recorded_s <= run.planned_s + 1e-9
