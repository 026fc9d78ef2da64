"""Critical items: one that fails is not made up for by anything (training reference, own list)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from trainer.engine.appointment.history import (
    authorised_from_s,
    confirmed_at,
    last_record,
    pregnancy_asked_of,
    pregnancy_cleared,
    radiation_times,
    request_cleared,
)
from trainer.engine.appointment.outcome import (
    repeats_needlessly,
    repeats_same_cause,
    slips_of_appointment,
)
from trainer.engine.appointment.state import AppointmentState, held_by, spoken
from trainer.engine.appointment.verdict import answers_question, judged_runs
from trainer.engine.placement import TOUCHING_MM
from trainer.engine.wording import sentence_start, where
from trainer.models.appointment_words import CriticalItem, Grade, RetakeCause
from trainer.models.slips import SlipCode

# A run is watched when the eyes are on the patient for this share of it: own working value.
WATCHED_SHARE = 0.8


class CriticalFail(NamedTuple):
    """A critical item that failed, and why, in one sentence."""

    item: CriticalItem
    sentence: str


def critical_fails(state: AppointmentState) -> tuple[CriticalFail, ...]:
    """All critical items that count by the local rules and have failed, in the list's order."""
    counting = state.context.rules.critical_items
    return tuple(
        CriticalFail(item, sentence)
        for item in CriticalItem
        if item in counting
        for sentence in FINDERS[item](state)
    )


def _not_authorised(state: AppointmentState) -> Iterator[str]:
    if any(t < authorised_from_s(state) for t in radiation_times(state)):
        who = " or ".join(state.context.rules.authorised_by)
        yield f"Radiation was used before it was authorised, which is for {who} to do."
    if radiation_times(state) and not request_cleared(state):
        yield "Radiation was used on an unclear request: nobody knew what was authorised."


def _identity(state: AppointmentState) -> Iterator[str]:
    wanted = frozenset(state.context.rules.identity_items)
    for t in radiation_times(state):
        missing = wanted - confirmed_at(state, t)
        if missing:
            names = ", ".join(spoken(i) for i in state.context.rules.identity_items if i in missing)
            yield f"Radiation was used before the person had stated, in agreement: {names}."
            return


def _pregnancy(state: AppointmentState) -> Iterator[str]:
    if pregnancy_asked_of(state) and not all(
        pregnancy_cleared(state, t) for t in radiation_times(state)
    ):
        yield "The local rule on pregnancy was not followed before radiation was used."


def _wrong_place_or_person(state: AppointmentState) -> Iterator[str]:
    # A good image under a wrong name is filed anew, not repeated: critical, though not spoilt.
    for _, slip in slips_of_appointment(state):
        wrong_side = slip.code is SlipCode.WRONG_SIDE_OR_TOOTH
        if slip.code is SlipCode.WRONG_NAME or (
            wrong_side and slip.spoils is RetakeCause.PLACE_OR_PERSON
        ):
            yield slip.found


def _target_outside(state: AppointmentState) -> Iterator[str]:
    runs = judged_runs(state)
    if not runs:
        return
    counted = runs if state.true_prescription.runs > 1 else runs[-1:]
    setups = tuple(r.conditions.setup for r in counted)
    held = held_by(state.context, setups)
    for first, *others in zip(*(state.context.placing(s).required for s in setups), strict=True):
        nearest = max((first, *others), key=lambda s: s.margin_mm)
        if nearest.structure.id not in held and nearest.margin_mm < -TOUCHING_MM:
            yield sentence_start(f"{where(nearest)}.")


def _metal(state: AppointmentState) -> Iterator[str]:
    for _, slip in slips_of_appointment(state):
        if slip.code is SlipCode.METAL_LEFT and slip.spoils is RetakeCause.METAL:
            yield slip.found


def _others_inside(state: AppointmentState) -> Iterator[str]:
    exposed = [s.conditions for s in state.scouts] + [r.conditions for r in state.runs]
    names = sorted({name for c in exposed for name in c.others_inside})
    if names and not state.context.rules.companion_may_stay:
        yield f"In the room while radiation was on: {', '.join(names)}."


def _not_watched(state: AppointmentState) -> Iterator[str]:
    for run in state.runs:
        if run.watched_share < WATCHED_SHARE:
            share = 100.0 * run.watched_share
            yield f"In run {run.number} the eyes were on the patient for {share:.0f} % of the time."


def _retake(state: AppointmentState) -> Iterator[str]:
    for run in judged_runs(state):
        if repeats_needlessly(state, run):
            yield f"Run {run.number} repeated an image that answered the question."
        elif repeats_same_cause(state, run):
            yield f"Run {run.number} was a repeat without mending the cause."


def _not_recorded(state: AppointmentState) -> Iterator[str]:
    if not state.finished or not _something_to_hide(state):
        return
    written = last_record(state)
    if written is None:
        yield "There is no record after the last exposure, and so none of the rejected one."
    elif {"runs", "rejected_runs"} & set(written.wrong):
        yield "The record does not count every exposure, rejected ones included."


def _something_to_hide(state: AppointmentState) -> bool:
    """Whether a run was rejected, or should have been: graded or not."""
    return (
        any(r.grade is Grade.N for r in state.runs)
        or len(state.runs) > state.true_prescription.runs
        or any(not answers_question(state, r) for r in judged_runs(state))
    )


FINDERS: dict[CriticalItem, Callable[[AppointmentState], Iterator[str]]] = {
    CriticalItem.NOT_AUTHORISED: _not_authorised,
    CriticalItem.IDENTITY: _identity,
    CriticalItem.PREGNANCY_RULE: _pregnancy,
    CriticalItem.WRONG_PLACE_OR_PERSON: _wrong_place_or_person,
    CriticalItem.TARGET_OUTSIDE: _target_outside,
    CriticalItem.METAL: _metal,
    CriticalItem.OTHERS_INSIDE: _others_inside,
    CriticalItem.NOT_WATCHED: _not_watched,
    CriticalItem.RETAKE: _retake,
    CriticalItem.NOT_RECORDED: _not_recorded,
}
