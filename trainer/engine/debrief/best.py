"""The best setup near the learner's: what "beside the best" compares with."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.engine.advice import advise
from trainer.engine.appointment.result import counted_runs
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.debrief.runs import part_of_run
from trainer.engine.placement import Placement, attitude_against, chain_of
from trainer.models.appointment import Run
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head

ATTITUDE = ("pitch", "yaw", "roll")


@dataclass(frozen=True, slots=True)
class Best:
    """The learner's setup of one run beside the best one near it.

    ``held`` of ``of`` counts the structures which that run was to hold, in the best setup;
    ``mine_held`` in the learner's.
    """

    run: int
    mine: Setup
    setup: Setup
    mine_held: int
    held: int
    of: int


def best_of_run(state: AppointmentState, head: Head, run: Run | None = None) -> Best | None:
    """The best setup near that of a run (of the last that counts); None when there was no run.

    Region and field are those that were ordered and the bite is, too; the head is brought level as
    far as neck and unit allow where it stood outside of the case's attitude; then the smallest
    change that holds everything, or the best reachable, is made.
    """
    runs = counted_runs(state)
    if not runs:
        return None
    run = run or runs[-1]
    case, unit = part_of_run(state, run), state.context.unit
    mine = run.conditions.setup
    setup = _levelled(state, head, _as_ordered(state, mine))
    advice = advise(case, head, unit, setup)
    if advice:
        setup = setup.with_values(advice[0].changes)
    placing = state.context.placing
    return Best(
        run.number,
        mine,
        setup,
        _held(case, placing(mine)),
        _held(case, placing(setup)),
        len(case.required),
    )


def _held(case: Case, placement: Placement) -> int:
    wanted = {r.structure for r in case.required}
    return sum(s.holds for s in placement.required if s.structure.id in wanted)


def _as_ordered(state: AppointmentState, mine: Setup) -> Setup:
    order = state.true_prescription
    values: dict[str, object] = {
        "region": order.region,
        "field": order.field,
        "arm_turned": False,
    }
    if order.arches_apart and mine.jaw_gap_mm == 0.0:
        values["jaw_gap_mm"] = state.context.case.start.jaw_gap_mm
    if order.arches_apart is False:
        values["jaw_gap_mm"] = 0.0
    return mine.with_values(values)


def _levelled(state: AppointmentState, head: Head, setup: Setup) -> Setup:
    """The setup with what is outside of the case's attitude brought level.

    A case that allows a tilt on purpose keeps the learner's.
    """
    limits, unit = state.context.case.attitude, state.context.unit
    if limits.tilt_allowed:
        return setup
    steps = chain_of(head, unit, setup)
    off = attitude_against(limits.reference_plane, head, steps)
    values: dict[str, object] = {}
    for axis in ATTITUDE:
        key = f"{axis}_deg"
        wrong = getattr(off, f"{axis}_off_deg")
        if abs(wrong) > getattr(limits, key):
            travel = unit.travel[key]
            low, high = getattr(state.context.visit.neck, key)
            low, high = max(low, travel.lowest), min(high, travel.highest)
            step = travel.step
            wanted = getattr(setup, key) - wrong
            values[key] = min(max(round(wanted / step) * step, low), high)
    return setup.with_values(values)
