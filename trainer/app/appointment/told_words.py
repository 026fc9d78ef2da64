"""What the window's running list tells a learner of what happened, while it happens.

`services.event_words` tells every event in full, for reports and replays. Here speech is told as it
is said, and whoever learns without help is told less: not what only the program knows, such as who
really came, how far a mark is off, where a picture really cuts, which entries of a record are
wrong. What needs neither is left to `services.event_words`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from trainer.app.appointment import act_words as words
from trainer.engine.panoramic.signs import FAULT_WORDS, SIGN_WORDS
from trainer.engine.wording import sentence_start, signed_amount
from trainer.models import appointment_events as ev
from trainer.models.appointment_visit import Visit
from trainer.models.appointment_words import (
    Gaze,
    PregnancyAnswer,
    RunEnd,
)
from trainer.models.controls import control
from trainer.models.motion import MovementKind
from trainer.services.event_words import event_text, setting_text

PREGNANCY = {
    PregnancyAnswer.NO: "“No.”",
    PregnancyAnswer.YES: "“Yes.”",
    PregnancyAnswer.NOT_SURE: "“I am not sure.”",
    PregnancyAnswer.NO_ANSWER: "No answer; a glance at the others.",
}
MOVEMENTS = {
    MovementKind.TURN: "the head turned",
    MovementKind.NOD: "the head nodded",
    MovementKind.LEAN: "the head leaned",
    MovementKind.LIFT: "the head lifted",
    MovementKind.FRONT_BACK: "the head went to and fro",
    MovementKind.SIDEWAYS: "the head went sideways",
    MovementKind.SWALLOW: "a swallow",
    MovementKind.TREMOR: "the head trembles",
    MovementKind.JERK: "a jerk: something was pulled",
}
ENDS = {
    RunEnd.COMPLETE: "The run is complete",
    RunEnd.RELEASED: "The switch was let go; the run stopped",
    RunEnd.TOUCHED: "The unit touched something and stopped the run",
}
GAZES = {
    Gaze.PATIENT: "Your eyes are on the patient.",
    Gaze.SCREEN: "Your eyes are on the screen.",
    Gaze.ELSEWHERE: "Your eyes are elsewhere.",
}


class Teller(NamedTuple):
    """Who stands behind ids, and whether the program tells what only it knows.

    ``angles``: whether the head's angles are told as numbers.
    """

    visit: Visit
    helped: bool = True
    angles: bool = True

    def items(self, ids: tuple[str, ...]) -> str:
        """Names of worn things in a row."""
        found = [self.visit.item(i) for i in ids]
        return words.listed([i.name for i in found if i is not None])


def event_words(event: ev.Event, teller: Teller) -> str:
    """One or two sentences on what happened."""
    says = SAYS.get(type(event))
    return says(event, teller) if says else event_text(event, teller.visit)


def blocked_words(event: ev.Blocked) -> str:
    """Why the unit does not do it, and what to do."""
    why = "; ".join(words.INTERLOCKS[i] for i in event.interlocks)
    return f"The unit blocks: {why}. No radiation came out."


def _request(e: ev.RequestRead, t: Teller) -> str:
    return "You read the request card." + (f" Unclear: {e.unclear}" if e.unclear else "")


def _identity(e: ev.IdentityAnswered, t: Teller) -> str:
    ask = "You asked openly" if e.open_question else "You put it into their mouth"
    return f"{ask} ({e.item.replace('-', ' ')}): “{e.words}”"


def _nudged(e: ev.HeadNudged, t: Teller) -> str:
    name = words.SUPPORTS[e.support]
    if not t.helped:
        return f"The {name} touched the head as it closed."
    turned = [
        signed_amount(value, "deg", *ways)
        for value, ways in (
            (e.pitch_deg, ("chin up", "chin down")),
            (e.yaw_deg, ("face left", "face right")),
            (e.roll_deg, ("top left", "top right")),
        )
        if value
    ]
    return f"Closing the {name} turned the head: {words.listed(turned)}."


def _trial(e: ev.TrialRunDone, t: Teller) -> str:
    if not e.touched:
        return "The unit turned once; it touched nothing."
    return f"The unit turned and touched {words.listed([words.TOUCHES[x] for x in e.touched])}."


def _marked(e: ev.TargetMarked, t: Teller) -> str:
    said = f"You pointed at the target on the {e.kind} scout"
    return f"{said}, {e.off_mm:g} mm from its middle." if t.helped else f"{said}."


def _cut(e: ev.CutNamed, t: Teller) -> str:
    def sides(found: tuple[Any, ...]) -> str:
        return words.listed([words.CUT_SIDES[s] for s in found]) or "nowhere"

    said = f"On the {e.kind} scout you called it cut off: {sides(e.named)}."
    return f"{said} It is: {sides(e.true)}." if t.helped else said


def _record(e: ev.RecordWritten, t: Teller) -> str:
    if not t.helped:
        return "The record is written."
    if not e.wrong:
        return "The record is written; every entry is what happened."
    names = words.listed([w.replace("_", " ") for w in e.wrong])
    return f"The record is written. Not what happened: {names}."


def _graded(e: ev.ImageGraded, t: Teller) -> str:
    why = words.listed([words.CAUSES[c] for c in e.causes])
    return f"You graded the image: {words.GRADES[e.grade]}{': ' + why if why else ''}."


def _retake(e: ev.RetakeDecided, t: Teller) -> str:
    why = f", because {words.CAUSES[e.cause]}" if e.cause else ""
    return f"You decided to repeat it{why}." if e.retake else "You decided: no repeat."


def _metal(e: ev.MetalTold, t: Teller) -> str:
    return f"“Yes: {t.items(e.items)}.”" if e.items else "“No, nothing.”"


def _place(e: ev.PlaceLookedAt, t: Teller) -> str:
    at = words.PLACES[e.place]
    return f"You looked at the {at}: {t.items(e.items) or 'nothing'}."


def _explained(e: ev.Explained, t: Teller) -> str:
    said = f"You explained the examination in {len(e.sentences)} sentences."
    return said if e.heard else f"{said} They did not hear you well."


def _instructed(e: ev.Instructed, t: Teller) -> str:
    said = words.INSTRUCTIONS[e.what]
    return said if e.heard else f"{said} They did not hear you well."


def _withheld(e: ev.Withheld, t: Teller) -> str:
    note = f" Note: {e.note}" if e.note else ""
    return f"You stopped the examination. {words.WITHHOLDING[e.reason]}.{note}"


def _cleaned(e: ev.Cleaned, t: Teller) -> str:
    where = ", before the person's eyes" if e.person_there else ""
    return f"{words.HYGIENE[e.what]}: done{where}."


def _moved(e: ev.SetupMoved, t: Teller) -> str:
    told = [
        setting_text(e.setup, key)
        if t.angles or control(key).unit != "deg"
        else f"{control(key).label}: as you see"
        for key in e.keys
    ]
    return f"Moved. {'; '.join(text.rstrip('.') for text in told)}."


def _resisted(e: ev.NeckResisted, t: Teller) -> str:
    if not t.angles:
        return f"{control(e.key).label}: the neck does not go further. “Ouch.”"
    return f"{control(e.key).label}: the neck does not go further than {e.reached_deg:g}°. “Ouch.”"


def _person_moved(e: ev.PersonMoved, t: Teller) -> str:
    return f"You saw the person move ({MOVEMENTS[e.kind]}), {e.into_s:.0f} s after the start."


def _ended(e: ev.RunEnded, t: Teller) -> str:
    return f"{ENDS[e.end]} after {e.recorded_s:.1f} s. Radiation is off."


def _answered(e: ev.PractitionerAnswered, t: Teller) -> str:
    return f"Practitioner: “{e.words}”"


def _authorised(e: ev.AuthorisationSeen, t: Teller) -> str:
    if e.valid:
        return "An entitled person has signed the request."
    return "The request is not signed by an entitled person."


Says = Callable[[Any, Teller], str]
SAYS: dict[type[ev.Event], Says] = {
    ev.RequestRead: _request,
    ev.AuthorisationSeen: _authorised,
    ev.PractitionerAnswered: _answered,
    ev.Withheld: _withheld,
    ev.Cleaned: _cleaned,
    ev.UnitSent: lambda e, t: f"The unit goes to its {words.POSITION_NAMES[e.to]}.",
    ev.PersonCame: lambda e, t: "Somebody comes in.",
    ev.IdentityAnswered: _identity,
    ev.PregnancyAnswered: lambda e, t: f"Asked about pregnancy: {PREGNANCY[e.answer]}",
    ev.HistoryAnswered: lambda e, t: f"{words.HISTORY[e.topic]} – “{e.words}”",
    ev.MetalTold: _metal,
    ev.PlaceLookedAt: _place,
    ev.ItemTakenOut: lambda e, t: f"Off or out now: {t.items((e.item,))}.",
    ev.ItemPutIn: lambda e, t: f"On or in now: {t.items((e.item,))}.",
    ev.Explained: _explained,
    ev.Instructed: _instructed,
    ev.SetupMoved: _moved,
    ev.HeadNudged: _nudged,
    ev.NeckResisted: _resisted,
    ev.TrialRunDone: _trial,
    ev.ReadyAsked: lambda e, t: "The unit gets ready; wait until the ready light stands steady.",
    ev.Blocked: lambda e, t: blocked_words(e),
    ev.TargetMarked: _marked,
    ev.CutNamed: _cut,
    ev.RunStarted: lambda e, t: f"Radiation is on. The run takes {e.planned_s:g} s.",
    ev.PersonMoved: _person_moved,
    ev.GazeTurned: lambda e, t: GAZES[e.gaze],
    ev.RunEnded: _ended,
    ev.ImageChecked: lambda e, t: f"You checked the image: {words.IMAGE_POINTS[e.point]}",
    ev.ImageGraded: _graded,
    ev.SignNamed: lambda e, t: f"{sentence_start(FAULT_WORDS[e.fault])}: {SIGN_WORDS[e.sign]}.",
    ev.RetakeDecided: _retake,
    ev.RecordWritten: _record,
}
