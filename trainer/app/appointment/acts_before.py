"""The acts before the person is at the unit: request, room, person, metal, entry."""

from __future__ import annotations

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts import (
    LAST_WORDS,
    Act,
    ActGroup,
    cleaning,
    companion_out,
    each,
    instruction,
    quality,
)
from trainer.engine.appointment.state import AppointmentState
from trainer.models import appointment_commands as do
from trainer.models.appointment_events import (
    MetalTold,
    PlaceLookedAt,
)
from trainer.models.appointment_words import (
    CallBy,
    IdentityItem,
    Instruction,
    QualityCheck,
    Support,
    WornPlace,
)


def known_items(state: AppointmentState) -> tuple[str, ...]:
    """Ids of what is worn or was, as far as it was told or found, in the visit's order."""
    known = {
        item
        for logged in state.log
        if isinstance(logged.event, MetalTold | PlaceLookedAt)
        for item in logged.event.items
    }
    items = state.context.visit.items
    return tuple(i.id for i in items if i.id in known or not (i.hidden or i.worn))


def request_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Card, practitioner, room, supports, the unit's position."""
    return (
        ActGroup(
            "The request card",
            (
                Act("read", "Read the request card", do.ReadRequest),
                Act("signature", "Look for the signature", do.CheckAuthorisation),
            ),
        ),
        ActGroup("Ask the practitioner", each(do.AskPractitioner, "topic", words.TOPICS)),
        ActGroup("Room", (*cleaning(), quality(QualityCheck.DAILY_CHECK))),
        ActGroup("Supports on the unit", tuple(_support(state, s) for s in Support)),
        ActGroup("Unit", each(do.MoveUnit, "to", words.POSITIONS)),
    )


def _support(state: AppointmentState, support: Support) -> Act:
    name = words.SUPPORTS[support]
    if support in state.room.supports:
        label, kind = f"✓ {name}: take it off", do.TakeSupportOff
    else:
        label, kind = f"{name}: fit it", do.FitSupport  # type: ignore[assignment]
    return Act(f"support-{support}", label, kind, {"support": support})


def person_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Calling, identity, pregnancy, history."""
    visit = state.context.visit
    meant = visit.person(visit.patient)
    calls = (
        Act(
            "call-full",
            f"Call “{meant.given_name} {meant.surname}”",
            do.Call,
            {"by": CallBy.FULL_NAME},
        ),
        Act("call-surname", f"Call “{meant.surname}”", do.Call, {"by": CallBy.SURNAME}),
        Act("greet", "Greet with your name and role", do.Greet),
        Act("send-back", "“Please take a seat outside again.”", do.SendBack),
        *companion_out(visit),
    )
    asks = []
    for item in IdentityItem:
        values = {"item": item, "open_question": True}
        asks.append(Act(f"ask-{item}", words.OPEN_QUESTIONS[item], do.AskIdentity, values))
    for item in IdentityItem:
        said = meant.states(item)
        label = words.LEADING_QUESTIONS[item].format(
            words.day(said) if item is IdentityItem.BIRTH_DATE else said
        )
        values = {"item": item, "open_question": False}
        asks.append(Act(f"lead-{item}", label, do.AskIdentity, values))
    pregnancy = (
        Act(
            "pregnancy-private",
            "“Could you be pregnant?” – in private",
            do.AskPregnancy,
            {"in_private": True},
        ),
        Act(
            "pregnancy-open",
            "“Could you be pregnant?” – before others",
            do.AskPregnancy,
            {"in_private": False},
        ),
    )
    return (
        ActGroup("Calling and greeting", calls),
        ActGroup("Who is it?", tuple(asks)),
        ActGroup("Pregnancy, by the local rule", pregnancy),
        ActGroup("What matters now", each(do.AskHistory, "topic", words.HISTORY)),
    )


def metal_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Asking, looking, taking off, shields."""
    visit = state.context.visit
    on = state.person.worn if state.person else ()
    items = []
    for item_id in known_items(state):
        item = visit.item(item_id)
        assert item is not None
        kind: type[do.Command] = do.TakeItemOut if item_id in on else do.PutItemIn
        way = "take it off or out" if item_id in on else "put it on or in"
        items.append(Act(f"item-{item_id}", f"{item.name}: {way}", kind, {"item": item_id}))
    found = (ActGroup("What is known of", tuple(items)),) if items else ()
    return (
        ActGroup(
            "Asking",
            (Act("ask-metal", "“Is there any metal on your head or neck?”", do.AskAboutMetal),),
        ),
        ActGroup(
            "Look yourself",
            tuple(
                Act(f"look-{p}", words.PLACES[p].capitalize(), do.LookForMetal, {"place": p})
                for p in WornPlace
            ),
            3,
        ),
        *found,
        ActGroup("Shield, by the local rule", each(do.WearShield, "shield", words.SHIELDS), 2),
    )


def explain_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """What the person is asked to do."""
    said = tuple(instruction(i) for i in Instruction if i not in LAST_WORDS)
    return (ActGroup("Ask the person", said),)


def entry_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Who is open at the console."""
    people = tuple(
        Act(
            f"console-{w.id}",
            f"{w.surname}, {w.given_name}, {words.day(w.birth_date)}",
            do.OpenAtConsole,
            {"person": w.id},
        )
        for w in state.context.visit.waiting
    )
    return (ActGroup("Open a person at the console", people),)
