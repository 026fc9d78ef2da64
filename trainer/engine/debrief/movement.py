"""The one movement that would have helped, computed again after it was made."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from trainer.engine.advice import Advice, Changes, action_words, advise
from trainer.engine.appointment.conditions import SHOULDERS_GIVE_MM, TRUNK
from trainer.engine.appointment.result import counted_runs
from trainer.engine.appointment.state import AppointmentState, held_by
from trainer.engine.criteria import is_well_placed
from trainer.engine.debrief.runs import cut_structures, part_of_run, setups_of
from trainer.engine.placement import Placement
from trainer.engine.wording import sentence_start
from trainer.models.appointment import Run
from trainer.models.setup import Setup
from trainer.models.structures import Head

NECK_KEYS = ("pitch_deg", "yaw_deg", "roll_deg")
NONE_NEEDED = "No movement was needed: the field held all {of} required structures."
NONE_HELPS = "No movement of the controls would have held more than {held} of {of} structures."

NONE_INTO_THE_LAYER = "No movement of the controls would have brought the head into the layer."


@dataclass(frozen=True, slots=True)
class Movement:
    """What would have helped in one run, and what would be held then.

    ``before`` and ``after`` are the setups without and with ``changes``; ``held_before`` and
    ``held_after`` count the ``of`` required structures that the whole examination holds. Without
    changes ``sentence`` says why there are none.
    """

    run: int
    changes: Changes
    before: Setup
    after: Setup
    held_before: int
    held_after: int
    of: int
    sentence: str


def helpful_movement(state: AppointmentState, head: Head) -> Movement | None:
    """The smallest movement that would have held what was cut; None when there was no run.

    One control if one does it, else two, else the best that can be reached; the sentence says
    which. Every number in it comes from placing the changed setup anew. Advice that the person's
    neck does not allow, or with which the unit would touch them, is not given.
    """
    runs = counted_runs(state)
    if not runs:
        return None
    cut, of = cut_structures(state), len(state.context.case.required)
    held = of - len(cut)
    if not cut and not is_well_placed(state.context.case, _placed(state, runs[-1])):
        return _into_the_layer(state, head, runs[-1], of)
    lacking = [r for r in runs if {q.structure for q in part_of_run(state, r).required} & cut]
    if not cut or not lacking:
        last = runs[-1].conditions.setup
        return Movement(runs[-1].number, {}, last, last, held, held, of, NONE_NEEDED.format(of=of))
    for run in lacking:
        found = max(_tried(state, head, run), key=lambda m: m.held_after, default=None)
        if found is not None and found.held_after > held:
            return found
    run = lacking[0]
    before = run.conditions.setup
    text = NONE_HELPS.format(held=held, of=of)
    return Movement(run.number, {}, before, before, held, held, of, text)


def _placed(state: AppointmentState, run: Run) -> Placement:
    return state.context.placing(run.conditions.setup)


def _into_the_layer(state: AppointmentState, head: Head, run: Run, of: int) -> Movement:
    """All is inside, but the head stands beyond the limits of a panoramic picture."""
    before, case = run.conditions.setup, state.context.case
    for advice in advise(case, head, state.context.unit, before):
        after = before.with_values(advice.changes)
        if advice.reaches_all and advice.changes and _is_possible(state, advice, after):
            actions = [action_words(before, key, value) for key, value in advice.changes.items()]
            what = sentence_start(" and ".join(actions))
            text = f"{what}. Then the head stands as the sharp layer asks."
            return Movement(run.number, advice.changes, before, after, of, of, of, text)
    return Movement(run.number, {}, before, before, of, of, of, NONE_INTO_THE_LAYER)


def _tried(state: AppointmentState, head: Head, run: Run) -> Iterator[Movement]:
    """Movements worth telling, the smallest first, each computed again."""
    context = state.context
    before = run.conditions.setup
    for advice in advise(part_of_run(state, run), head, context.unit, before):
        after = before.with_values(advice.changes)
        if advice.changes and _is_possible(state, advice, after):
            yield _movement(state, run, advice.changes, after)


def _is_possible(state: AppointmentState, advice: Advice, after: Setup) -> bool:
    neck = state.context.visit.neck
    for key in NECK_KEYS:
        low, high = getattr(neck, key)
        if key in advice.changes and not low <= getattr(after, key) <= high:
            return False
    near = state.context.placing(after).clearance
    if near is None:
        return True
    # shoulders can be asked to go low
    gives_mm = SHOULDERS_GIVE_MM if near.place in TRUNK else 0.0
    return near.distance_mm + gives_mm >= 0.0


def _movement(state: AppointmentState, run: Run, changes: Changes, after: Setup) -> Movement:
    before, of = run.conditions.setup, len(state.context.case.required)
    runs = counted_runs(state)
    others = tuple(after if r is run else r.conditions.setup for r in runs)
    held_before = len(held_by(state.context, setups_of(runs)))
    held_after = len(held_by(state.context, others))
    actions = [action_words(before, key, value) for key, value in changes.items()]
    what = sentence_start(" and ".join([", ".join(actions[:-1]), actions[-1]][len(actions) < 2 :]))
    if len(changes) == 1:
        start = f"{what}."
    elif len(changes) == 2 and held_after == of:
        start = f"No single movement would have done it. Two would: {what[0].lower()}{what[1:]}."
    else:
        start = f"Neither one nor two movements would have held all. The nearest: {what}."
    were = "was" if held_before == 1 else "were"
    told = f"{start} Then {held_after} of {of} required structures are held; {held_before} {were}."
    if len(runs) > 1:
        told = f"Run {run.number}: {told}"
    return Movement(run.number, changes, before, after, held_before, held_after, of, told)
