"""Who comes in: calling, greeting, identity, the local rule's question, history."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    inside_the_room,
    no_longer_ready,
    somebody,
)
from trainer.errors import NotAllowedNow
from trainer.models.appointment import PersonState
from trainer.models.appointment_commands import (
    AskHistory,
    AskIdentity,
    AskPregnancy,
    Call,
    Greet,
    SendBack,
    SendCompanionOut,
)
from trainer.models.appointment_events import (
    CompanionLeft,
    Greeted,
    HistoryAnswered,
    IdentityAnswered,
    PersonCame,
    PersonSentBack,
    PregnancyAnswered,
)
from trainer.models.appointment_words import (
    CallBy,
    Firmness,
    HistoryTopic,
    PregnancyAnswer,
    Trait,
)

# What each question brings to light. Silence about the rest is what makes the question matter.
TOPIC_TRAITS: dict[HistoryTopic, tuple[tuple[Trait, str], ...]] = {
    HistoryTopic.SHAKING: ((Trait.TREMOR, "My head shakes a little."),),
    HistoryTopic.NECK: (
        (Trait.STIFF_NECK, "My neck is stiff."),
        (Trait.KYPHOSIS, "I cannot straighten up."),
    ),
    HistoryTopic.FAINTING: ((Trait.FAINTS, "I have fainted before."),),
    HistoryTopic.GAGGING: ((Trait.GAG_REFLEX, "I gag easily."),),
    HistoryTopic.HEARING: ((Trait.HARD_OF_HEARING, "I hear badly."),),
    HistoryTopic.FEAR: (
        (Trait.ANXIOUS, "I am afraid of the machine."),
        (Trait.FIDGETS, "I cannot sit still for long."),
    ),
    HistoryTopic.EARLIER_SCANS: (),
}


def call(state: AppointmentState, command: Call) -> Step:
    """Somebody comes in: by surname alone, the first who bears it."""
    inside_the_room(state)
    if state.person is not None:
        raise NotAllowedNow("Somebody is in the room already.")
    visit = state.context.visit
    meant = visit.person(visit.patient)
    came = meant
    if command.by is CallBy.SURNAME:
        came = next(w for w in visit.waiting if w.surname == meant.surname)
    is_patient = came is meant
    worn = tuple(i.id for i in visit.items if i.worn) if is_patient else ()
    companion = bool(visit.companion) and is_patient
    new = replace(
        state,
        person=PersonState(came.id, worn=worn),
        room=replace(state.room, companion_inside=companion),
    )
    return Step(new, (PersonCame(came.id),))


def greet(state: AppointmentState, command: Greet) -> Step:
    """The person is greeted."""
    person = somebody(state)
    return Step(replace(state, person=replace(person, greeted=True)), (Greeted(),))


def send_back(state: AppointmentState, command: SendBack) -> Step:
    """The person goes back; what was said and done with them goes too."""
    inside_the_room(state)
    person = somebody(state)
    new = no_longer_ready(state)
    room = replace(
        new.room,
        companion_inside=False,
        bands=tuple((s, Firmness.LOOSE) for s, _ in new.room.bands),
    )
    setup = new.setup.with_values({"jaw_gap_mm": 0.0})
    return Step(replace(new, person=None, room=room, setup=setup), (PersonSentBack(person.id),))


def ask_identity(state: AppointmentState, command: AskIdentity) -> Step:
    """The person states an item, or agrees to what was put into their mouth."""
    visit, person = state.context.visit, somebody(state)
    here, meant = visit.person(person.id), visit.person(visit.patient)
    item = command.item
    if command.open_question:
        words = here.states(item)
        agrees = words == meant.states(item)
        if agrees:
            person = replace(person, confirmed=person.confirmed | {item})
    else:
        agrees = here.says_yes or here.states(item) == meant.states(item)
        words = "Yes." if agrees else f"No, {here.states(item)}."
    event = IdentityAnswered(item, command.open_question, words, agrees)
    return Step(replace(state, person=person), (event,))


def ask_pregnancy(state: AppointmentState, command: AskPregnancy) -> Step:
    """The answer; before others a person whom it concerns gives none."""
    visit, person = state.context.visit, somebody(state)
    concerned = visit.can_be_pregnant and person.id == visit.patient
    answer = visit.pregnancy if concerned else PregnancyAnswer.NO
    if concerned and not command.in_private:
        answer = PregnancyAnswer.NO_ANSWER
    new = replace(state, person=replace(person, pregnancy=answer))
    return Step(new, (PregnancyAnswered(command.in_private, answer),))


def ask_history(state: AppointmentState, command: AskHistory) -> Step:
    """What the person tells about one topic."""
    visit, person, topic = state.context.visit, somebody(state), command.topic
    written = visit.history.get(topic, "") if person.id == visit.patient else ""
    found = [words for trait, words in TOPIC_TRAITS[topic] if trait in state.traits]
    words = written or " ".join(found) or "No, nothing."
    new = replace(state, person=replace(person, asked=person.asked | {topic}))
    return Step(new, (HistoryAnswered(topic, words),))


def send_companion_out(state: AppointmentState, command: SendCompanionOut) -> Step:
    """Who came along waits outside."""
    inside_the_room(state)
    if not state.room.companion_inside:
        raise NotAllowedNow("Nobody else is in the room.")
    return Step(
        replace(state, room=replace(state.room, companion_inside=False)), (CompanionLeft(),)
    )


HANDLERS: Handlers = {
    Call: call,
    Greet: greet,
    SendBack: send_back,
    AskIdentity: ask_identity,
    AskPregnancy: ask_pregnancy,
    AskHistory: ask_history,
    SendCompanionOut: send_companion_out,
}
