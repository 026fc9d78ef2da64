"""What the runs of an examination were to hold, and what they did not."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

from trainer.engine.appointment.result import counted_runs, held_structures
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment import Run
from trainer.models.frames import Side
from trainer.models.scenario import Case
from trainer.models.setup import Setup


def setups_of(runs: tuple[Run, ...]) -> tuple[Setup, ...]:
    """The setup of each run."""
    return tuple(r.conditions.setup for r in runs)


def required_ids(state: AppointmentState) -> tuple[str, ...]:
    """Ids of the required structures, in the case's order."""
    return tuple(r.structure for r in state.context.case.required)


def cut_structures(state: AppointmentState) -> frozenset[str]:
    """Required structures that the runs that count do not hold with their margin."""
    return frozenset(required_ids(state)) - held_structures(state)


def part_of_run(state: AppointmentState, run: Run) -> Case:
    """The case with only those structures required that this run was to hold.

    Of an examination in several runs: where the target has as many sides as there are runs, one
    side each, so that all together lie as near as can be; else what lies nearer to this run than
    to another.
    """
    context, runs = state.context, counted_runs(state)
    if len(runs) < 2:
        return context.case
    margins = [
        {s.structure.id: s.margin_mm for s in context.placing(setup).required}
        for setup in setups_of(runs)
    ]
    number = next(i for i, r in enumerate(runs) if r.number == run.number)
    sides = _by_side(state)
    if len(sides) == len(runs):
        order = max(
            permutations(sides),
            key=lambda given: sum(margins[i][s] for i, part in enumerate(given) for s in part),
        )
        wanted = set(order[number])
    else:
        wanted = {
            s for s in margins[0] if max(range(len(runs)), key=lambda i: margins[i][s]) == number
        }
    mine = tuple(r for r in context.case.required if r.structure in wanted)
    return replace(context.case, required=mine)


def _by_side(state: AppointmentState) -> list[tuple[str, ...]]:
    """The required structures' ids by the side they lie on."""
    found: dict[Side, list[str]] = {}
    for s in state.context.placing(state.setup).required:
        found.setdefault(s.structure.side, []).append(s.structure.id)
    return [tuple(part) for part in found.values()]
