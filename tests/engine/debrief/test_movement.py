"""The movement that would have helped, checked by placing anew."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.engine.debrief.attempts import BAD, attempt, head_of_attempts, moved
from tests.helpers.appointments import VISIT, context, play, real_case
from trainer.engine.appointment.state import AppointmentState, held_by
from trainer.engine.debrief.movement import helpful_movement
from trainer.engine.placement import place
from trainer.engine.points import pack
from trainer.models.appointment_visit import NeckRange
from trainer.models.controls import control
from trainer.models.setup import Setup


def held(setup: Setup) -> int:
    """How many required structures a setup holds, placed without the appointment's memory."""
    case, unit, head, _ = real_case()
    points = pack([head.structure(r.structure) for r in case.required])
    return place(case, head, points, unit, setup).held


def movement_of(state: AppointmentState):
    """The movement for an attempt."""
    return helpful_movement(state, head_of_attempts())


def test_one_control_does_it_and_not_a_step_less() -> None:
    """Too low: one control, named with way and amount, just far enough, holds all."""
    found = movement_of(attempt("low"))
    ((key, value),) = found.changes.items()
    assert (found.held_after, found.of) == (5, 5)
    assert held(found.after) == 5
    assert held(found.before) == found.held_before == 1
    unit = real_case()[1]
    back = unit.travel[key].step * (1 if value > getattr(found.before, key) else -1)
    assert held(found.before.with_values({key: value - back})) < 5
    by = value - getattr(found.before, key)
    does = control(key).more if by > 0 else control(key).less
    assert found.sentence == (
        f"{does[0].upper()}{does[1:]} {abs(by):g} mm. "
        "Then 5 of 5 required structures are held; 1 was."
    )


def test_where_no_single_movement_does_it_that_is_said() -> None:
    """Low and aside: every single control, step by step over its travel, holds less than all."""
    found = movement_of(attempt("low and aside"))
    assert len(found.changes) == 2
    assert found.sentence.startswith("No single movement would have done it. Two would: ")
    assert held(found.after) == found.held_after == 5
    case, unit, head, _ = real_case()
    points = pack([head.structure(r.structure) for r in case.required])
    for key in ("chin_height_mm", "sideways_mm", "forward_mm", "field_sideways_mm",
                "field_forward_mm"):  # fmt: skip
        travel = unit.travel[key]
        steps = round((travel.highest - travel.lowest) / 1.0)
        for n in range(steps + 1):
            trial = found.before.with_values({key: travel.lowest + n * 1.0})
            assert place(case, head, points, unit, trial).held < 5, (key, n)


def test_what_was_held_needs_no_movement() -> None:
    """A run that holds everything is told so, with its number, and nothing changes."""
    found = movement_of(attempt("clean"))
    assert found.changes == {}
    assert found.before == found.after
    assert "all 5 required structures" in found.sentence


@pytest.mark.parametrize("name", ["nothing done", "stopped"])
def test_without_a_run_there_is_none(name: str) -> None:
    """Nothing was placed, so nothing is advised."""
    assert movement_of(attempt(name)) is None


def test_a_neck_that_does_not_turn_is_not_advised_to() -> None:
    """With a neck that goes nowhere no turn of the head is told, and what is told holds."""
    stiff = replace(VISIT, neck=NeckRange((-0.5, 0.5), (-0.5, 0.5), (-0.5, 0.5)))
    for acts in BAD["low"], BAD["low and aside"], BAD["turned"]:
        state, _ = play(acts, context(stiff))
        found = movement_of(state)
        assert not set(found.changes) & {"pitch_deg", "yaw_deg", "roll_deg"}
        assert held(found.after) == found.held_after >= found.held_before


@settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(
    height=st.floats(-60.0, -5.0).map(lambda v: round(v)),
    sideways=st.floats(-45.0, 10.0).map(lambda v: round(v)),
    pitch=st.floats(-10.0, 10.0).map(lambda v: round(v)),
)
def test_it_never_makes_it_worse_and_never_invents(height, sideways, pitch) -> None:
    """For any setup: what is said to be held then is held, no less than before, within travel."""
    state, _ = play(moved(height, sideways, pitch_deg=pitch))
    found, unit = movement_of(state), real_case()[1]
    assert held(found.before) == found.held_before
    assert held(found.after) == found.held_after
    assert found.held_after > found.held_before or not found.changes
    for key, value in found.changes.items():
        if key in unit.travel:
            assert unit.travel[key].lowest <= value <= unit.travel[key].highest
    setup = state.runs[-1].conditions.setup
    assert found.held_before == len(held_by(state.context, (setup,)))
