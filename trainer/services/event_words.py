"""The events of an appointment in plain English, one sentence each."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.engine.appointment.state import spoken
from trainer.engine.panoramic.signs import FAULT_WORDS, SIGN_WORDS
from trainer.engine.wording import amount, signed_amount
from trainer.models import appointment_events as happened
from trainer.models.appointment_events import Event
from trainer.models.appointment_visit import Programme, Visit
from trainer.models.appointment_words import PregnancyAnswer, RunEnd
from trainer.models.controls import ControlKind, control
from trainer.models.setup import Setup

ENDS = {
    RunEnd.COMPLETE: "complete",
    RunEnd.RELEASED: "the switch was let go",
    RunEnd.TOUCHED: "stopped by contact",
}
ANSWERS = {
    PregnancyAnswer.NO: "no",
    PregnancyAnswer.YES: "yes",
    PregnancyAnswer.NOT_SURE: "not sure",
    PregnancyAnswer.NO_ANSWER: "no answer",
}


def clock(at_s: float) -> str:
    """A time of the appointment as minutes and seconds: ``4:02.5``."""
    minutes, seconds = divmod(at_s, 60.0)
    return f"{int(minutes)}:{seconds:04.1f}"


def event_text(event: Event, visit: Visit) -> str:
    """One sentence on an event; people and items by the names that the visit gives them."""
    return _Told(visit).text(event)


def _list(words: Iterable[str], nothing: str = "nothing") -> str:
    return ", ".join(spoken(w) for w in words) or nothing


def programme_text(p: Programme) -> str:
    """The programme in a few words."""
    low = ", low dose" if p.low_dose else ""
    return (
        f"{spoken(p.protocol)}, {p.voxel_um} µm{low}, metal correction {p.metal_level}, "
        f"{p.run_kind} run"
    )


def setting_text(setup: Setup, key: str) -> str:
    """One control and its value, in the patient's words."""
    c, value = control(key), setup.as_dict()[key]
    if c.kind is ControlKind.SWITCH:
        return f"{c.label}: {'yes' if value else 'no'}"
    if c.kind is ControlKind.CHOICE:
        return f"{c.label}: {spoken(str(value))}"
    if key in ("unit_height_mm", "jaw_gap_mm"):
        return f"{c.label}: {amount(float(value), c.unit)}"
    return f"{c.label}: {signed_amount(float(value), c.unit, c.more_word, c.less_word)}"


class _Told:
    """Tells events of one visit."""

    def __init__(self, visit: Visit) -> None:
        self.visit = visit

    def person(self, person_id: str) -> str:
        """The name of somebody in today's list."""
        if person_id not in {w.id for w in self.visit.waiting}:
            return person_id or "nobody"
        found = self.visit.person(person_id)
        return f"{found.given_name} {found.surname}"

    def item(self, item_id: str) -> str:
        """The name of something worn."""
        found = self.visit.item(item_id)
        return found.name if found else item_id

    def items(self, ids: Iterable[str]) -> str:
        """Names of things worn."""
        return ", ".join(self.item(i) for i in ids) or "nothing"

    def text(self, event: Event) -> str:
        """One sentence."""
        return self._before(event) or self._unit(event) or self._after(event)

    def _before(self, event: Event) -> str:
        """Request, room and person."""
        e = happened
        match event:
            case e.RequestRead(unclear):
                return f"Request read. {unclear}".strip()
            case e.AuthorisationSeen(valid):
                return f"Authorisation looked for: {'there' if valid else 'missing'}."
            case e.PractitionerAnswered(topic, go_on, words):
                stop = "" if go_on else " (not to go on)"
                return f'Practitioner asked about {spoken(topic)}{stop}: "{words}"'
            case e.Withheld(reason, note):
                return f"Examination not carried out: {spoken(reason)}. {note}".strip()
            case e.Cleaned(what, there):
                return f"Cleaning: {spoken(what)}{', with the person there' if there else ''}."
            case e.PersonCame(person):
                return f"{self.person(person)} came in."
            case e.Greeted():
                return "The person was greeted."
            case e.PersonSentBack(person):
                return f"{self.person(person)} went back to the waiting room."
            case e.IdentityAnswered(item, openly, words, agrees):
                how = "openly" if openly else "with the answer put in the mouth"
                fits = "agrees" if agrees else "does not agree with the request"
                return f'Asked for the {spoken(item)} {how}: "{words}" ({fits}).'
            case e.PregnancyAnswered(private, answer):
                where = "in private" if private else "before others"
                return f"Asked about pregnancy {where}: {ANSWERS[answer]}."
            case e.HistoryAnswered(topic, words):
                return f'Asked about {spoken(topic)}: "{words}"'
            case e.MetalTold(ids):
                return f"Asked about metal: {self.items(ids)}."
            case e.PlaceLookedAt(place, ids):
                return f"Looked at the {spoken(place)}: {self.items(ids)}."
            case e.ItemTakenOut(item):
                return f"Taken off or out: {self.item(item)}."
            case e.ItemPutIn(item):
                return f"Put in or on: {self.item(item)}."
            case e.ShieldWorn(shield):
                return f"Shield: {spoken(shield)}."
            case e.Explained(sentences, heard):
                return f"Explained: {_list(sentences)}{'' if heard else '; not heard'}."
            case e.Instructed(what, heard):
                return f"Asked: {spoken(what)}{'' if heard else '; not heard'}."
        return ""

    def _unit(self, event: Event) -> str:
        """Unit, supports and placing."""
        e = happened
        match event:
            case e.SupportFitted(support):
                return f"Fitted: {spoken(support)}."
            case e.SupportTakenOff(support):
                return f"Taken off the unit: {spoken(support)}."
            case e.UnitSent(to, arrives):
                return f"Unit sent to {to}, there at {clock(arrives)}."
            case e.Bumped(words):
                return words
            case e.OpenedAtConsole(person):
                return f"Open at the console: {self.person(person)}."
            case e.ProgrammeEntered(programme):
                return f"Programme entered: {programme_text(programme)}."
            case e.VoxelChanged(voxel):
                return f"The field lacks that voxel; the unit took {voxel} µm."
            case e.SetupMoved(setup, keys):
                return f"Moved. {'; '.join(setting_text(setup, k).rstrip('.') for k in keys)}."
            case e.HeadNudged(support, pitch, yaw, roll):
                turned = max((pitch, yaw, roll), key=abs)
                return f"The {spoken(support)} turned the head by {amount(abs(turned), 'deg')}."
            case e.NeckResisted(key, asked, reached):
                label = control(key).label
                return f"{label} stopped without force at {reached:g}°, asked was {asked:g}°."
            case e.PlaceTaken(stance, brakes):
                return f"Place taken: {spoken(stance)}{', brakes on' if brakes else ''}."
            case e.SpacerPlaced(kind, place, both, gap):
                sides = "on both sides" if both else "on one side"
                return f"Spacer placed: {kind} at the {place} {sides}, {amount(gap, 'mm')}."
            case e.Gagged():
                return "The person gagged; the spacer is out again."
            case e.SpacerTakenOut():
                return "Spacer taken out; the teeth are closed."
            case e.LightsSwitched(on):
                return f"Light lines {'on' if on else 'off'}."
            case e.Looked(view, on):
                return f"Looked from the {view}{'' if on else ' in the dark'}."
            case e.TapeRead(chin, floor):
                return (
                    f"Tape above the zero plane: chin {chin:g} mm, lower edge of the field "
                    f"{floor:g} mm."
                )
            case e.BandSet(support, firmness):
                return f"The {spoken(support)} is {firmness}."
            case e.TrialRunDone(touched):
                return f"Trial run without radiation; touched: {_list(touched)}."
        return ""

    def _after(self, event: Event) -> str:
        """Exposure, image and end."""
        e = happened
        match event:
            case e.CompanionLeft():
                return f"{self.visit.companion or 'The companion'} waits outside."
            case e.OperatorMoved(outside):
                return "Went outside to the switch." if outside else "Went into the room."
            case e.DoorClosed():
                return "Door closed."
            case e.ReadyAsked(steady):
                return f"Ready state; steady from {clock(steady)} on."
            case e.Blocked(locks):
                return f"The unit refused: {_list(locks)}."
            case e.ScoutTaken(number, kind):
                return f"Radiation: scout {number}, {kind}."
            case e.TargetMarked(kind, off):
                return f"Target marked on the {kind} scout, {amount(off, 'mm')} off its middle."
            case e.CutNamed(kind, named, true):
                return f"Named as cut on the {kind} scout: {_list(named)}; cut is: {_list(true)}."
            case e.RunStarted(number, planned):
                return f"Radiation on: run {number}, {planned:g} s."
            case e.PersonMoved(number, kind, into):
                return f"Seen in run {number} after {into:.1f} s: {spoken(kind)}."
            case e.GazeTurned(gaze):
                return f"Eyes on: {gaze}."
            case e.RunEnded(number, end, recorded):
                return f"Radiation off: run {number} after {recorded:.1f} s, {ENDS[end]}."
            case e.ImageOpened(number, person):
                return f"Image of run {number} opened, filed under {self.person(person)}."
            case e.ImageChecked(number, point):
                return f"Image {number} checked for {point}."
            case e.ImageGraded(number, grade, causes):
                why = f": {_list(causes)}" if causes else ""
                return f"Image {number} graded {grade}{why}."
            case e.SignNamed(fault, sign):
                return f"Sign named for {FAULT_WORDS[fault]}: {SIGN_WORDS[sign]}."
            case e.RetakeDecided(number, retake, cause):
                why = f", because of {spoken(cause)}" if cause else ""
                return f"Run {number} {'to be repeated' if retake else 'not repeated'}{why}."
            case e.PersonFreed():
                return "The person has left the unit."
            case e.StandingWatched():
                return "Stayed beside the person."
            case e.BelongingsGivenBack():
                return "Belongings given back; the person left."
            case e.RecordWritten(wrong):
                false = f" Not what happened: {_list(wrong)}." if wrong else ""
                return f"Record written.{false}"
            case e.QualityChecked(what):
                return f"Quality programme: {spoken(what)}."
            case e.Finished():
                return "The appointment is over."
            case e.HintGiven(words):
                return f'Asked for a hint: "{words}"'
            case e.Predicted(said):
                word = "acceptable" if said.acceptable else "not acceptable"
                return f"Predicted: {said.percent} %, {word}; cut: {_list(sorted(said.cut))}."
        raise AssertionError(f"no words for {type(event).__name__}")
