"""The bench's steps: change, start over, undo, redo."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.session import Change, Redo, StartOver, Undo, open_case, step
from trainer.errors import NotAllowedNow, NotFound, NotValid


@pytest.fixture(scope="module")
def opened(bench):
    """The demo case, just opened."""
    return open_case(*bench("lower-third-molar"))


def test_a_change_is_told_and_can_be_undone_and_redone(opened):
    """A change names its keys; undo and redo lead back and on."""
    changed = step(opened, Change({"chin_height_mm": -20.0}))
    assert changed.events[0].keys == {"chin_height_mm"}
    back = step(changed.state, Undo())
    assert back.state.setup == opened.setup
    assert step(back.state, Redo()).state.setup == changed.state.setup


def test_one_movement_of_the_hand_is_one_undo(opened):
    """Changes that join the last one are undone in one go; another control starts anew."""
    state = step(opened, Change({"yaw_deg": 1.0})).state
    for value in (2.0, 3.0):
        state = step(state, Change({"yaw_deg": value}, joins_last=True)).state
    state = step(state, Change({"roll_deg": 1.0}, joins_last=True)).state
    state = step(state, Undo()).state
    assert (state.setup.yaw_deg, state.setup.roll_deg) == (3.0, opened.setup.roll_deg)
    assert step(state, Undo()).state.setup == opened.setup


def test_what_the_unit_cannot_do_is_refused_whole(opened):
    """A value out of travel raises with its limits, and nothing has changed."""
    with pytest.raises(NotValid, match="chin_height_mm: must be"):
        step(opened, Change({"chin_height_mm": 999.0, "yaw_deg": 1.0}))


def test_unknown_controls_are_refused(opened):
    """A control that does not exist raises and names those that do."""
    with pytest.raises(NotFound, match="unit_height_mm"):
        step(opened, Change({"chin": 1.0}))


@pytest.mark.parametrize("command", [Undo(), Redo()])
def test_nothing_to_undo_or_redo(opened, command):
    """Undo and redo on a fresh case say that there is nothing."""
    with pytest.raises(NotAllowedNow, match="nothing to"):
        step(opened, command)


def test_start_over_can_be_undone(opened):
    """Starting over leads back to the case's start, and undo brings the work back."""
    worked = step(opened, Change({"yaw_deg": 4.0})).state
    again = step(worked, StartOver()).state
    assert again.setup == opened.case.start
    assert step(again, Undo()).state.setup == worked.setup


@given(
    moves=st.lists(
        st.tuples(
            st.sampled_from(["yaw_deg", "roll_deg", "chin_height_mm"]),
            st.integers(-15, 15),
            st.booleans(),
        ),
        max_size=12,
    )
)
def test_undoing_everything_leads_to_the_start(opened, moves):
    """However many changes, as many undos lead to the start and as many redos to the end."""
    state = opened
    for key, value, joins in moves:
        state = step(state, Change({key: float(value)}, joins)).state
    end = state.setup
    undone = 0
    while state.earlier:
        state = step(state, Undo()).state
        undone += 1
    assert state.setup == opened.case.start
    for _ in range(undone):
        state = step(state, Redo()).state
    assert state.setup == end
