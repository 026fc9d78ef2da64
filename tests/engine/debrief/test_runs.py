"""An examination in several runs: which run was to hold what."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.engine.appointment.result import counted_runs
from trainer.engine.appointment.state import AppointmentState, open_appointment
from trainer.engine.appointment.step import step
from trainer.engine.debrief.best import best_of_run
from trainer.engine.debrief.movement import helpful_movement
from trainer.engine.debrief.runs import cut_structures, part_of_run, required_ids
from trainer.models.appointment_commands import Adjust
from trainer.services.appointment import context_of
from trainer.services.command_list import load_commands
from trainer.services.solutions import solution_files
from trainer.services.workbench import open_workbench

CASE = "both-joints"
KEY = "field_sideways_mm"


@pytest.fixture(scope="module")
def bench():
    """The shipped case that takes two runs, one joint each."""
    return open_workbench(CASE)


def played(bench, wrong: dict[int, float]) -> AppointmentState:
    """The solution with some of its moves of the field sideways gone elsewhere, by number."""
    listed = load_commands(solution_files()[CASE])
    state, moves = open_appointment(context_of(bench), listed.seed), 0
    for command in listed.commands:
        if isinstance(command, Adjust) and KEY in command.values:
            if moves in wrong:
                command = replace(command, values={**command.values, KEY: wrong[moves]})
            moves += 1
        state = step(state, command).state
    return state


@pytest.mark.parametrize("wrong", [{}, {0: 30.0}, {0: 0.0, 1: 0.0}])
def test_each_run_was_to_hold_one_side(bench, wrong) -> None:
    """Two runs share the structures by sides, whole and without overlap, however they stood."""
    state = played(bench, wrong)
    parts = [{r.structure for r in part_of_run(state, run).required} for run in counted_runs(state)]
    assert [len({name.split("-")[-1] for name in part}) for part in parts] == [1, 1]
    assert parts[0] | parts[1] == set(required_ids(state))
    assert not parts[0] & parts[1]


def test_the_movement_names_the_run_that_missed(bench) -> None:
    """With one run aside, that run is named, and both together then hold everything."""
    good = played(bench, {})
    where = good.runs[1].conditions.setup.field_sideways_mm
    state = played(bench, {1: where / 2.0})
    assert cut_structures(state)
    found = helpful_movement(state, bench.meshes.head)
    missed = counted_runs(state)[1].number
    assert found.run == missed
    assert found.sentence.startswith(f"Run {missed}: ")
    assert (found.held_after, found.of) == (4, 4)


def test_every_run_has_a_best_of_its_own(bench) -> None:
    """The best of a run holds the two structures of its side."""
    state = played(bench, {0: 0.0, 1: 0.0})
    for run in counted_runs(state):
        best = best_of_run(state, bench.meshes.head, run)
        assert (best.mine_held, best.held, best.of) == (0, 2, 2)
