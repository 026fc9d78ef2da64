"""Request, authorisation, and the room before anybody comes in."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    inside_the_room,
    no_longer_ready,
    spoken,
)
from trainer.engine.appointment.verdict import answers_question
from trainer.errors import NotAllowedNow
from trainer.models.appointment_commands import (
    AskPractitioner,
    CheckAuthorisation,
    Clean,
    FitSupport,
    ReadRequest,
    TakeSupportOff,
    Withhold,
)
from trainer.models.appointment_events import (
    AuthorisationSeen,
    Cleaned,
    PractitionerAnswered,
    RequestRead,
    SupportFitted,
    SupportTakenOff,
    Withheld,
)
from trainer.models.appointment_words import BANDS, PregnancyAnswer, Support, Topic


def read_request(state: AppointmentState, command: ReadRequest) -> Step:
    """The card is read."""
    return Step(state, (RequestRead(state.context.visit.card.unclear),))


def check_authorisation(state: AppointmentState, command: CheckAuthorisation) -> Step:
    """Tells whether the exposure is authorised now."""
    return Step(state, (AuthorisationSeen(state.authorised),))


def ask_practitioner(state: AppointmentState, command: AskPractitioner) -> Step:
    """The practitioner answers and so may authorise, clear up or stop."""
    visit, topic = state.context.visit, command.topic
    go_on = True
    new = replace(state, asked=state.asked | {topic})
    match topic:
        case Topic.AUTHORISATION:
            go_on = state.authorised or visit.answers.authorises
            new = replace(new, authorised=go_on)
            words = "It is authorised now." if go_on else "No. I do not authorise this."
        case Topic.REQUEST:
            new = replace(new, clear=True)
            words = _order_in_words(new)
        case Topic.PREGNANCY:
            said = state.person.pregnancy if state.person else None
            go_on = said is PregnancyAnswer.NO or visit.answers.after_pregnancy
            words = "Go on, and note it." if go_on else "No exposure today. I will see to it."
        case Topic.RETAKE:
            if not state.runs:
                raise NotAllowedNow("There is no image yet to decide on.")
            go_on = not answers_question(state, state.runs[-1])
            words = (
                "It does not answer the question. Mend the cause, then repeat it."
                if go_on
                else "It answers the question. No repeat."
            )
        case _:
            words = _order_in_words(new)
    return Step(new, (PractitionerAnswered(topic, go_on, words),))


def _order_in_words(state: AppointmentState) -> str:
    order = state.prescription
    bite = {True: "arches apart", False: "teeth together", None: "bite as it is"}
    teeth = f", {', '.join(order.teeth)}" if order.teeth else ""
    side = f", {order.side}" if order.side else ""
    p = order.programme
    dose = ", low dose" if p.low_dose else ""
    return (
        f"{spoken(order.region)}{side}{teeth}, field {order.field}, {p.voxel_um} µm, "
        f"{p.protocol}{dose}, metal correction {p.metal_level}, {p.run_kind}, "
        f"{bite[order.arches_apart]}."
    )


def withhold(state: AppointmentState, command: Withhold) -> Step:
    """The operator stops, and says why."""
    return Step(state, (Withheld(command.reason, command.note),))


def clean(state: AppointmentState, command: Clean) -> Step:
    """One act of cleaning."""
    inside_the_room(state)
    return Step(state, (Cleaned(command.what, state.person is not None),))


def fit_support(state: AppointmentState, command: FitSupport) -> Step:
    """A support goes onto the unit."""
    inside_the_room(state)
    if command.support in state.room.supports:
        raise NotAllowedNow(f"The {spoken(command.support)} is on the unit already.")
    fitted = {*state.room.supports, command.support}
    new = no_longer_ready(state)
    room = replace(new.room, supports=tuple(s for s in Support if s in fitted))
    return Step(replace(new, room=room), (SupportFitted(command.support),))


def take_support_off(state: AppointmentState, command: TakeSupportOff) -> Step:
    """A support comes off the unit; a band with it."""
    inside_the_room(state)
    if command.support not in state.room.supports:
        raise NotAllowedNow(f"There is no {spoken(command.support)} on the unit.")
    new = no_longer_ready(state)
    room = replace(
        new.room,
        supports=tuple(s for s in new.room.supports if s is not command.support),
        bands=tuple(b for b in new.room.bands if b[0] is not command.support),
    )
    return Step(replace(new, room=room), (SupportTakenOff(command.support),))


def fits_band(state: AppointmentState, support: Support) -> None:
    """Return when the support is a band on the unit.

    Raises
    ------
    NotAllowedNow
        If it is none, or not fitted.
    """
    if support not in BANDS:
        bands = ", ".join(map(spoken, BANDS))
        raise NotAllowedNow(f"The {spoken(support)} is no band; bands are: {bands}.")
    if support not in state.room.supports:
        raise NotAllowedNow(f"There is no {spoken(support)} on the unit; fit it first.")


HANDLERS: Handlers = {
    ReadRequest: read_request,
    CheckAuthorisation: check_authorisation,
    AskPractitioner: ask_practitioner,
    Withhold: withhold,
    Clean: clean,
    FitSupport: fit_support,
    TakeSupportOff: take_support_off,
}
