"""Whether an image answers the question: what the practitioner would say of it."""

from __future__ import annotations

from trainer.engine.appointment.slips.find import slips_of_run
from trainer.engine.appointment.state import AppointmentState, held_by
from trainer.models.appointment import Run
from trainer.models.appointment_words import RetakeCause, RunKind
from trainer.models.slips import Slip


def judged_runs(state: AppointmentState) -> tuple[Run, ...]:
    """Runs that are judged: a preview that was followed by a run is only a step on the way."""
    last = state.runs[-1].number if state.runs else 0
    return tuple(
        r for r in state.runs if r.conditions.programme.run_kind is RunKind.FULL or r.number == last
    )


def judged_slips(state: AppointmentState, run: Run) -> tuple[Slip, ...]:
    """The slips of a run against what the practitioner means, together with its partners."""
    ordered = state.true_prescription
    several = ordered.runs > 1
    partners = tuple(r for r in judged_runs(state) if r.number != run.number) if several else ()
    return slips_of_run(state.context, ordered, run, partners)


def spoiling_causes(state: AppointmentState, run: Run) -> tuple[RetakeCause, ...]:
    """The causes for which the image does not answer; none when it does."""
    found = {slip.spoils for slip in judged_slips(state, run) if slip.spoils is not None}
    full = [r for r in state.runs if r.conditions.programme.run_kind is RunKind.FULL]
    is_first = bool(full) and full[0].number == run.number
    written = state.context.visit.image_answers
    if is_first and written is not None and found <= {RetakeCause.MOTION}:
        found = set() if written else {RetakeCause.MOTION}
    return tuple(c for c in RetakeCause if c in found)


def answers_question(state: AppointmentState, run: Run) -> bool:
    """Whether the question can be answered from the run's image (with those of its partners)."""
    return not spoiling_causes(state, run)


def answered_before(state: AppointmentState, run: Run) -> bool:
    """Whether the runs before had answered already what this one could."""
    before = [r for r in judged_runs(state) if r.number < run.number]
    if state.true_prescription.runs == 1:
        return bool(before) and answers_question(state, before[-1])
    good = [r for r in before if set(spoiling_causes(state, r)) <= {RetakeCause.COVERAGE}]
    shown = held_by(state.context, tuple(r.conditions.setup for r in good))
    asked = {r.structure for r in state.context.case.required}
    new = held_by(state.context, (run.conditions.setup,)) - shown
    return bool(good) and (asked <= shown or not new)
