"""The best setup near the learner's."""

from __future__ import annotations

import pytest

from tests.engine.debrief.attempts import BAD, attempt, head_of_attempts
from tests.helpers.appointments import real_case
from trainer.engine.debrief.best import best_of_run
from trainer.engine.placement import place
from trainer.models.setup import setup_faults

WITH_A_RUN = [n for n in BAD if n not in ("nothing done", "stopped")]


@pytest.mark.parametrize("name", WITH_A_RUN)
def test_the_best_holds_everything_as_ordered(name: str) -> None:
    """In the ordered region and field, within the unit's travel, level enough, all are held."""
    state = attempt(name)
    case, unit, head, points = real_case()
    found = best_of_run(state, head_of_attempts())
    after = place(case, head, points, unit, found.setup)
    assert after.all_required_inside
    assert (found.held, found.of) == (5, 5)
    assert found.mine == state.runs[-1].conditions.setup
    order = state.true_prescription
    assert (found.setup.region, found.setup.field) == (order.region, order.field)
    assert setup_faults(found.setup, unit, "") == []
    for axis in ("pitch", "yaw", "roll"):
        off = abs(getattr(after.attitude, f"{axis}_off_deg"))
        assert off <= getattr(case.attitude, f"{axis}_deg") + 0.5


def test_a_good_setup_is_its_own_best() -> None:
    """Where everything is held as ordered, nothing differs."""
    found = best_of_run(attempt("clean"), head_of_attempts())
    assert found.setup == found.mine


def test_only_what_has_to_is_changed() -> None:
    """Too low: the best differs from the learner's in the support's height alone, and is higher."""
    found = best_of_run(attempt("low"), head_of_attempts())
    higher = found.setup.chin_height_mm
    assert found.setup == found.mine.with_values({"chin_height_mm": higher})
    assert higher > found.mine.chin_height_mm == -45.0


@pytest.mark.parametrize("name", ["nothing done", "stopped"])
def test_without_a_run_there_is_no_best(name: str) -> None:
    """Nothing to compare with."""
    assert best_of_run(attempt(name), head_of_attempts()) is None
