"""Steps 1 to 10: request, room, person."""

from __future__ import annotations

import math

from trainer.engine.appointment.checklist_marks import NOT_NEEDED, Mark, by, unless
from trainer.engine.appointment.history import (
    first_radiation_s,
    pregnancy_asked_of,
    pregnancy_cleared,
    supports_at,
)
from trainer.engine.appointment.outcome import slips_of_appointment
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.models.appointment_events import (
    AuthorisationSeen,
    Cleaned,
    Explained,
    Greeted,
    HistoryAnswered,
    IdentityAnswered,
    PersonCame,
    PlaceLookedAt,
    PractitionerAnswered,
    PregnancyAnswered,
    RequestRead,
    UnitSent,
    Withheld,
)
from trainer.models.appointment_words import (
    USEFUL_SENTENCES,
    Done,
    HistoryTopic,
    Hygiene,
    Support,
    Topic,
    UnitPosition,
    WornPlace,
)
from trainer.models.slips import SlipCode


def request(state: AppointmentState) -> Mark:
    """1: read; and cleared up when it contradicts itself."""
    wanted = {"reading the request": state.first(RequestRead)}
    if state.context.visit.card.unclear:
        asked = state.first(PractitionerAnswered, topic=Topic.REQUEST)
        wanted["clearing up the request"] = asked or state.first(Withheld)
    return by(first_radiation_s(state), wanted)


def authorisation(state: AppointmentState) -> Mark:
    """2: looked at, and asked for when it is missing."""
    wanted = {"looking for the authorisation": state.first(AuthorisationSeen)}
    if not state.context.visit.card.authorised:
        asked = state.first(PractitionerAnswered, topic=Topic.AUTHORISATION)
        wanted["asking for the authorisation"] = asked or state.first(Withheld)
    return by(first_radiation_s(state), wanted)


def room(state: AppointmentState) -> Mark:
    """3: clean, covered, the right supports and no others, unit at entry, before anybody comes."""
    came = state.first(PersonCame)
    came = math.inf if came is None else came
    mark = by(
        came,
        {
            "cleaning the surfaces": state.first(Cleaned, what=Hygiene.SURFACES),
            "fresh barriers": state.first(Cleaned, what=Hygiene.BARRIERS_ON),
            "unit at entry": state.first(UnitSent, to=UnitPosition.ENTRY),
        },
    )
    on, wanted = supports_at(state, came), set(state.context.visit.supports_wanted)
    strange = [s for s in Support if s in on - wanted]
    lacking = [s for s in Support if s in wanted - on]
    return unless(
        mark,
        f"Left on from another examination: {', '.join(map(spoken, strange))}." if strange else "",
        f"Not fitted: {', '.join(map(spoken, lacking))}." if lacking else "",
    )


def greeting(state: AppointmentState) -> Mark:
    """4: called and greeted."""
    return by(first_radiation_s(state), {"greeting": state.first(Greeted)})


def identity(state: AppointmentState) -> Mark:
    """5: every item of the local rule stated by the person."""
    wanted = {}
    for item in state.context.rules.identity_items:
        asked = state.first(IdentityAnswered, item=item, open_question=True)
        wanted[f"asking for the {spoken(item)} openly"] = asked
    return by(first_radiation_s(state), wanted)


def pregnancy(state: AppointmentState) -> Mark:
    """6: asked in private by the local rule; an unclear answer goes to the practitioner."""
    if not pregnancy_asked_of(state):
        return NOT_NEEDED
    asked = state.first(PregnancyAnswered, in_private=True)
    mark = by(first_radiation_s(state), {"asking in private": asked})
    if asked is None and state.first(PregnancyAnswered) is not None:
        return Mark(Done.PARTLY, "Asked before others.")
    told = state.first(PractitionerAnswered, topic=Topic.PREGNANCY) or state.first(Withheld)
    cleared = pregnancy_cleared(state, math.inf) or told is not None
    return unless(mark, "" if cleared else "The practitioner was not told of the answer.")


def history(state: AppointmentState) -> Mark:
    """7: everything that can upset this examination asked about."""
    wanted = {
        f"asking about {spoken(topic)}": state.first(HistoryAnswered, topic=topic)
        for topic in HistoryTopic
    }
    return by(first_radiation_s(state), wanted)


def metal(state: AppointmentState) -> Mark:
    """8: every place looked at; what comes off is off, what is ordered stays in."""
    wanted = {
        f"looking at the {spoken(place)}": state.first(PlaceLookedAt, place=place)
        for place in WornPlace
    }
    codes = (SlipCode.METAL_LEFT, SlipCode.DENTURE_OR_GUIDE)
    left = [s.found for _, s in slips_of_appointment(state) if s.code in codes]
    return unless(by(first_radiation_s(state), wanted), *left)


def shielding(state: AppointmentState) -> Mark:
    """9: what the local rule says, no more and no less."""
    wanted = state.context.rules.shield
    worn = [r.conditions.shield for r in state.runs] + [s.conditions.shield for s in state.scouts]
    wrong = [s for s in worn if s is not wanted]
    if wrong:
        words = f"The local rule wants: {spoken(wanted)}; worn: {spoken(wrong[0])}."
        return Mark(Done.SKIPPED, words)
    return Mark(Done.DONE) if worn else Mark(Done.SKIPPED, "Nobody was exposed.")


def explanation(state: AppointmentState) -> Mark:
    """10: the five sentences that serve, heard, and no others."""
    told = [e.event for e in state.log if isinstance(e.event, Explained)]
    heard = {s for e in told if e.heard for s in e.sentences}
    said = {s for e in told for s in e.sentences}
    mark = by(first_radiation_s(state), {"explaining": state.first(Explained, heard=True)})
    missing = [spoken(s) for s in USEFUL_SENTENCES if s not in heard]
    more = sorted(spoken(s) for s in said - set(USEFUL_SENTENCES))
    return unless(
        mark,
        f"Not said: {', '.join(missing)}." if missing else "",
        f"Did not help: {', '.join(more)}." if more else "",
    )


MARKERS = {
    1: request,
    2: authorisation,
    3: room,
    4: greeting,
    5: identity,
    6: pregnancy,
    7: history,
    8: metal,
    9: shielding,
    10: explanation,
}
