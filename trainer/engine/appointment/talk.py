"""What is worn, and what is said: metal search, shield, explanation, instructions."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    inside_the_room,
    somebody,
)
from trainer.errors import NotAllowedNow, NotFound
from trainer.models.appointment_commands import (
    AskAboutMetal,
    Explain,
    Instruct,
    LookForMetal,
    PutItemIn,
    TakeItemOut,
    WearShield,
)
from trainer.models.appointment_events import (
    Explained,
    Instructed,
    ItemPutIn,
    ItemTakenOut,
    MetalTold,
    PlaceLookedAt,
    ShieldWorn,
)
from trainer.models.appointment_visit import WornItem
from trainer.models.appointment_words import HistoryTopic, Trait


def ask_about_metal(state: AppointmentState, command: AskAboutMetal) -> Step:
    """The person names what they think of: what is hidden is forgotten."""
    somebody(state)
    named = tuple(i.id for i in state.worn_items if not i.hidden)
    return Step(state, (MetalTold(named),))


def look_for_metal(state: AppointmentState, command: LookForMetal) -> Step:
    """All that is worn at a place comes to light."""
    inside_the_room(state)
    somebody(state)
    there = tuple(i.id for i in state.worn_items if i.place is command.place)
    return Step(state, (PlaceLookedAt(command.place, there),))


def take_item_out(state: AppointmentState, command: TakeItemOut) -> Step:
    """Something known of is taken off or out."""
    inside_the_room(state)
    person, item = somebody(state), _item(state, command.item)
    if item.id not in person.worn:
        raise NotAllowedNow(f"{item.name} is not worn.")
    known = {name for entry in state.log for name in _named(entry.event)}
    if item.hidden and item.id not in known:
        raise NotAllowedNow(f"You have not found {item.name} yet; look at the place first.")
    person = replace(person, worn=tuple(i for i in person.worn if i != item.id))
    return Step(replace(state, person=person), (ItemTakenOut(item.id),))


def _named(event: object) -> tuple[str, ...]:
    return event.items if isinstance(event, MetalTold | PlaceLookedAt) else ()


def put_item_in(state: AppointmentState, command: PutItemIn) -> Step:
    """Something is put in or on again."""
    inside_the_room(state)
    person, item = somebody(state), _item(state, command.item)
    if person.id != state.context.visit.patient:
        raise NotAllowedNow(f"{item.name} belongs to somebody else.")
    if item.id in person.worn:
        raise NotAllowedNow(f"{item.name} is in place already.")
    worn = {*person.worn, item.id}
    in_order = tuple(i.id for i in state.context.visit.items if i.id in worn)
    return Step(replace(state, person=replace(person, worn=in_order)), (ItemPutIn(item.id),))


def _item(state: AppointmentState, item_id: str) -> WornItem:
    item = state.context.visit.item(item_id)
    if item is None:
        have = ", ".join(i.id for i in state.context.visit.items) or "none"
        raise NotFound(f"no item {item_id!r}; there are: {have}")
    return item


def wear_shield(state: AppointmentState, command: WearShield) -> Step:
    """A shield is put on or taken off."""
    inside_the_room(state)
    person = replace(somebody(state), shield=command.shield)
    return Step(replace(state, person=person), (ShieldWorn(command.shield),))


def can_hear(state: AppointmentState) -> bool:
    """Whether the person follows what is said.

    A person who hears badly does with the hearing aid in; without one, when the operator has
    asked about hearing and so speaks to be understood.
    """
    if Trait.HARD_OF_HEARING not in state.traits or state.person is None:
        return True
    aids = [i for i in state.context.visit.items if i.hears]
    if aids:
        return any(i.id in state.person.worn for i in aids)
    return HistoryTopic.HEARING in state.person.asked


def explain(state: AppointmentState, command: Explain) -> Step:
    """The examination is explained to who can hear it."""
    person, heard = somebody(state), can_hear(state)
    if heard:
        person = replace(person, explained=person.explained | set(command.sentences))
    return Step(replace(state, person=person), (Explained(command.sentences, heard),))


def instruct(state: AppointmentState, command: Instruct) -> Step:
    """The person is asked to do something, and does when they hear it."""
    person, heard = somebody(state), can_hear(state)
    if heard:
        before = tuple(t for t in person.told if t[0] is not command.what)
        person = replace(person, told=(*before, (command.what, command.at_s)))
    return Step(replace(state, person=person), (Instructed(command.what, heard),))


HANDLERS: Handlers = {
    AskAboutMetal: ask_about_metal,
    LookForMetal: look_for_metal,
    TakeItemOut: take_item_out,
    PutItemIn: put_item_in,
    WearShield: wear_shield,
    Explain: explain,
    Instruct: instruct,
}
