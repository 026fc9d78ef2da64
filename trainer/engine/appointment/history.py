"""Questions to an appointment's log: what held when radiation went on."""

from __future__ import annotations

import math

from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_events import (
    IdentityAnswered,
    ImageGraded,
    PersonCame,
    PractitionerAnswered,
    PregnancyAnswered,
    RecordWritten,
    RunStarted,
    ScoutTaken,
    SupportFitted,
    SupportTakenOff,
)
from trainer.models.appointment_words import IdentityItem, PregnancyAnswer, Support, Topic


def radiation_times(state: AppointmentState) -> list[float]:
    """When radiation went on, scouts included [s]."""
    return state.times(RunStarted, ScoutTaken)


def first_radiation_s(state: AppointmentState) -> float:
    """When radiation first went on; infinity when it never did."""
    return min(radiation_times(state), default=math.inf)


def authorised_from_s(state: AppointmentState) -> float:
    """From when the exposure was authorised; infinity when it never was."""
    if state.context.visit.card.authorised:
        return 0.0
    given = state.first(PractitionerAnswered, topic=Topic.AUTHORISATION, go_on=True)
    return math.inf if given is None else given


def came_before(state: AppointmentState, at_s: float) -> float:
    """When the person who was in the room at a time had come in."""
    return max((t for t in state.times(PersonCame) if t <= at_s), default=0.0)


def confirmed_at(state: AppointmentState, at_s: float) -> frozenset[IdentityItem]:
    """Items that the person in the room had stated, and that agreed, by that time."""
    came = came_before(state, at_s)
    return frozenset(
        item
        for item in IdentityItem
        for t in state.times(IdentityAnswered, item=item, open_question=True, agrees=True)
        if came <= t <= at_s
    )


def pregnancy_asked_of(state: AppointmentState) -> bool:
    """Whether the local rule wants the question asked of the patient."""
    ages = state.context.rules.pregnancy_ages
    if ages is None or not state.context.visit.can_be_pregnant:
        return False
    return ages[0] <= state.context.age_years <= ages[1]


def pregnancy_cleared(state: AppointmentState, at_s: float) -> bool:
    """Whether, by that time, the rule was followed and left the way free.

    A plain no in private, or any answer in private and then the practitioner's decision to go on.
    """
    asked = private_answers(state, at_s)
    if not asked:
        return False
    if max(asked) in state.times(PregnancyAnswered, in_private=True, answer=PregnancyAnswer.NO):
        return True
    decided = state.times(PractitionerAnswered, topic=Topic.PREGNANCY, go_on=True)
    return any(max(asked) <= t <= at_s for t in decided)


def private_answers(state: AppointmentState, at_s: float) -> list[float]:
    """When, by that time, the person in the room was asked about pregnancy in private [s]."""
    came = came_before(state, at_s)
    return [t for t in state.times(PregnancyAnswered, in_private=True) if came <= t <= at_s]


def request_cleared(state: AppointmentState) -> bool:
    """Whether an unclear request was cleared up before radiation; a clear one always is."""
    asked = state.first(PractitionerAnswered, topic=Topic.REQUEST)
    in_time = asked is not None and asked <= first_radiation_s(state)
    return in_time or not state.context.visit.card.unclear


def last_record(state: AppointmentState) -> RecordWritten | None:
    """The record that counts: one older than the last exposure or grade cannot tell of it."""
    found: RecordWritten | None = None
    for entry in state.log:
        if isinstance(entry.event, RunStarted | ScoutTaken | ImageGraded):
            found = None
        elif isinstance(entry.event, RecordWritten):
            found = entry.event
    return found


def supports_at(state: AppointmentState, at_s: float) -> frozenset[Support]:
    """Which supports were on the unit at a time."""
    on = set(state.context.visit.supports_left_on)
    for entry in state.log:
        if entry.at_s <= at_s:
            if isinstance(entry.event, SupportFitted):
                on.add(entry.event.support)
            elif isinstance(entry.event, SupportTakenOff):
                on.discard(entry.event.support)
    return frozenset(on)
