"""What the operator can do in an appointment. Every command carries its time.

``at_s`` counts seconds since the appointment began. Values in a command are those of the closed
lists in `models.appointment_words` and the controls of `models.controls`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from trainer.errors import Fault, NotFound, NotValid
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import (
    ArchPlace,
    CallBy,
    CutSide,
    Firmness,
    Gaze,
    Grade,
    HistoryTopic,
    Hygiene,
    IdentityItem,
    ImagePoint,
    Instruction,
    QualityCheck,
    RetakeCause,
    ScoutKind,
    Sentence,
    Shield,
    SpacerKind,
    Stance,
    Support,
    Topic,
    UnitPosition,
    View,
    WithholdReason,
    WornPlace,
)
from trainer.models.controls import ControlKind, control
from trainer.models.device import Region
from trainer.models.learning import Prediction
from trainer.models.panorama import PanoramaFault, PanoramaSign

Value = float | str | bool


@dataclass(frozen=True, slots=True)
class Command:
    """One act of the operator, ``at_s`` seconds after the appointment began."""

    at_s: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.at_s) and self.at_s >= 0.0):
            raise NotValid([Fault("command", 0, "at_s", f"must be 0 or more, got {self.at_s}")])


# request and room
@dataclass(frozen=True, slots=True)
class ReadRequest(Command):
    """Read question, region, side, teeth and earlier images on the card."""


@dataclass(frozen=True, slots=True)
class CheckAuthorisation(Command):
    """Look whether an entitled person has signed."""


@dataclass(frozen=True, slots=True)
class AskPractitioner(Command):
    """Ask the practitioner about something, and wait for the answer."""

    topic: Topic


@dataclass(frozen=True, slots=True)
class Withhold(Command):
    """Stop here: no (further) exposure, with a reason and a note."""

    reason: WithholdReason
    note: str = ""


@dataclass(frozen=True, slots=True)
class Clean(Command):
    """One act of cleaning."""

    what: Hygiene


@dataclass(frozen=True, slots=True)
class FitSupport(Command):
    """Put a support onto the unit."""

    support: Support


@dataclass(frozen=True, slots=True)
class TakeSupportOff(Command):
    """Take a support off the unit."""

    support: Support


@dataclass(frozen=True, slots=True)
class MoveUnit(Command):
    """Send the unit's moving part to a position."""

    to: UnitPosition


# the person
@dataclass(frozen=True, slots=True)
class Call(Command):
    """Call the person of the request from the waiting room."""

    by: CallBy


@dataclass(frozen=True, slots=True)
class Greet(Command):
    """Greet with own name and role, in plain words and looking at the person."""


@dataclass(frozen=True, slots=True)
class SendBack(Command):
    """Ask the person to take a seat in the waiting room again."""


@dataclass(frozen=True, slots=True)
class AskIdentity(Command):
    """Ask who the person is. Open: "What is your name?". Else: "You are Mrs …?"."""

    item: IdentityItem
    open_question: bool


@dataclass(frozen=True, slots=True)
class AskPregnancy(Command):
    """Ask the question of the local rule, in private or before others."""

    in_private: bool


@dataclass(frozen=True, slots=True)
class AskHistory(Command):
    """Ask about something that matters now."""

    topic: HistoryTopic


@dataclass(frozen=True, slots=True)
class AskAboutMetal(Command):
    """Ask whether anything of metal is worn on head or neck; what is hidden is forgotten."""


@dataclass(frozen=True, slots=True)
class LookForMetal(Command):
    """Look at one place, under the hair and in the mouth too."""

    place: WornPlace


@dataclass(frozen=True, slots=True)
class TakeItemOut(Command):
    """Have something taken off or out, and keep it safe."""

    item: str


@dataclass(frozen=True, slots=True)
class PutItemIn(Command):
    """Have something put in or on."""

    item: str


@dataclass(frozen=True, slots=True)
class WearShield(Command):
    """Put a shield on, or take it off (`Shield.NONE`)."""

    shield: Shield


@dataclass(frozen=True, slots=True)
class Explain(Command):
    """Explain the examination with some of nine sentences."""

    sentences: tuple[Sentence, ...]


@dataclass(frozen=True, slots=True)
class Instruct(Command):
    """Ask the person to do something."""

    what: Instruction


# the unit
@dataclass(frozen=True, slots=True)
class OpenAtConsole(Command):
    """Open a person at the console, so that the image is filed under that name."""

    person: str


@dataclass(frozen=True, slots=True)
class EnterProgramme(Command):
    """Enter all of the programme beside region and field, which are controls."""

    programme: Programme


@dataclass(frozen=True, slots=True)
class Adjust(Command):
    """Move some controls of `models.controls` (mm, deg)."""

    values: Mapping[str, Value]

    def __post_init__(self) -> None:
        Command.__post_init__(self)
        faults, checked = [], {}
        for key, value in self.values.items():
            try:
                checked[key] = _checked(key, value)
            except (NotFound, ValueError) as error:
                faults.append(Fault("command", 0, f"values.{key}", str(error)))
        if not self.values:
            faults.append(Fault("command", 0, "values", "must name at least one control"))
        if faults:
            raise NotValid(faults)
        object.__setattr__(self, "values", checked)


def _checked(key: str, value: object) -> Value:
    """The value as the control holds it; ValueError with what is expected."""
    if key == "region":
        if value not in tuple(Region):
            raise ValueError(f"must be one of {', '.join(Region)}, got {value!r}")
        return Region(str(value))
    kind = control(key).kind
    if kind is ControlKind.SWITCH:
        if isinstance(value, bool):
            return value
        raise ValueError(f"must be true or false, got {value!r}")
    if kind is ControlKind.CHOICE:
        if isinstance(value, str):
            return value
        raise ValueError(f"must be a name, got {value!r}")
    if isinstance(value, bool) or not isinstance(value, float | int):
        raise ValueError(f"must be a number, got {value!r}")
    if not math.isfinite(value):
        raise ValueError(f"must be a finite number, got {value!r}")
    return float(value)


@dataclass(frozen=True, slots=True)
class TakePlace(Command):
    """Have the person take their place at the unit. ``brakes_on`` counts for a wheelchair."""

    stance: Stance
    brakes_on: bool = False


@dataclass(frozen=True, slots=True)
class PlaceSpacer(Command):
    """Put a spacer between the arches; the incisors then stand ``gap_mm`` apart."""

    kind: SpacerKind
    place: ArchPlace
    both_sides: bool
    gap_mm: float

    def __post_init__(self) -> None:
        Command.__post_init__(self)
        if not 0.0 < self.gap_mm <= 20.0:
            text = f"must be above 0 and at most 20, got {self.gap_mm}"
            raise NotValid([Fault("command", 0, "gap_mm", text)])


@dataclass(frozen=True, slots=True)
class TakeSpacerOut(Command):
    """Take the spacer out; the teeth close."""


@dataclass(frozen=True, slots=True)
class SwitchLights(Command):
    """Switch the light lines on or off."""

    on: bool


@dataclass(frozen=True, slots=True)
class Look(Command):
    """Go and look at the lines on the face from one direction."""

    view: View


@dataclass(frozen=True, slots=True)
class MeasureWithTape(Command):
    """Hold a tape at the scale: zero plane to chin, and zero plane to the field's lower edge."""


@dataclass(frozen=True, slots=True)
class SetBand(Command):
    """Close a forehead rest, temple supports or a strap, or open it."""

    support: Support
    firmness: Firmness


@dataclass(frozen=True, slots=True)
class TrialRun(Command):
    """Let the unit turn once without radiation."""


# exposure
@dataclass(frozen=True, slots=True)
class SendCompanionOut(Command):
    """Ask who came along to wait outside."""


@dataclass(frozen=True, slots=True)
class LeaveRoom(Command):
    """Go outside, to the switch."""


@dataclass(frozen=True, slots=True)
class EnterRoom(Command):
    """Go in again. The door is open then."""


@dataclass(frozen=True, slots=True)
class CloseDoor(Command):
    """Close the door of the room."""


@dataclass(frozen=True, slots=True)
class MakeReady(Command):
    """Ask the unit for the ready state."""


@dataclass(frozen=True, slots=True)
class TakeScout(Command):
    """Take one preview from the front or the side; the switch is held for it."""

    kind: ScoutKind


@dataclass(frozen=True, slots=True)
class MarkTarget(Command):
    """Point at the middle of the target on the last scout of that kind.

    ``across_mm``: from the field's axis to the patient's left (frontal) or forward (lateral);
    ``up_mm``: from the field's middle upwards.
    """

    kind: ScoutKind
    across_mm: float
    up_mm: float


@dataclass(frozen=True, slots=True)
class NameCut(Command):
    """Say where the last scout cuts the target off; none means nothing is cut off."""

    kind: ScoutKind
    sides: tuple[CutSide, ...]


@dataclass(frozen=True, slots=True)
class PressSwitch(Command):
    """Press the exposure switch. ``stays``: the next press or release ends it (no holding)."""

    stays: bool = False


@dataclass(frozen=True, slots=True)
class ReleaseSwitch(Command):
    """Let go of the switch."""


@dataclass(frozen=True, slots=True)
class LookAt(Command):
    """Turn the eyes to the patient, the screen or elsewhere."""

    gaze: Gaze


@dataclass(frozen=True, slots=True)
class Wait(Command):
    """Let time pass; what is due by then happens."""


# image, retake, end
@dataclass(frozen=True, slots=True)
class OpenImage(Command):
    """Open the last run's image."""


@dataclass(frozen=True, slots=True)
class CheckImage(Command):
    """Check one point of the last run's image."""

    point: ImagePoint


@dataclass(frozen=True, slots=True)
class GradeImage(Command):
    """Grade the last run's image, with the causes when it is not acceptable."""

    grade: Grade
    causes: tuple[RetakeCause, ...] = ()


@dataclass(frozen=True, slots=True)
class DecideRetake(Command):
    """Decide whether to repeat the run, and for which cause."""

    retake: bool
    cause: RetakeCause | None = None


@dataclass(frozen=True, slots=True)
class NameSign(Command):
    """Say by which sign a panoramic picture would show a fault that the start has."""

    fault: PanoramaFault
    sign: PanoramaSign


@dataclass(frozen=True, slots=True)
class LetGo(Command):
    """Let the person step out of the unit."""


@dataclass(frozen=True, slots=True)
class WatchStanding(Command):
    """Stay beside the person and watch for dizziness."""


@dataclass(frozen=True, slots=True)
class GiveBack(Command):
    """Return all belongings and say goodbye."""


@dataclass(frozen=True, slots=True)
class WriteRecord(Command):
    """Write the record: what was done, with which settings, how often, how good, and what happened.

    ``kap_noted``: the kerma-area product (dose-area product) was copied from the display.
    """

    person: str
    region: Region
    field: str
    voxel_um: int
    runs: int
    rejected_runs: int
    scouts: int
    grade: Grade | None
    kap_noted: bool
    note: str = ""

    def __post_init__(self) -> None:
        Command.__post_init__(self)
        counts = {"runs": self.runs, "rejected_runs": self.rejected_runs, "scouts": self.scouts}
        faults = [
            Fault("command", 0, key, f"must be 0 or more, got {value}")
            for key, value in counts.items()
            if value < 0
        ]
        if faults:
            raise NotValid(faults)


@dataclass(frozen=True, slots=True)
class DoQualityCheck(Command):
    """Do and note a duty of the quality programme."""

    what: QualityCheck


@dataclass(frozen=True, slots=True)
class Finish(Command):
    """End the appointment."""


# the learner
@dataclass(frozen=True, slots=True)
class AskHint(Command):
    """Ask for one hint, where the help level gives hints on request. It costs nothing."""


@dataclass(frozen=True, slots=True)
class Predict(Command):
    """Say what the images will turn out to be, before anything is revealed."""

    prediction: Prediction


COMMANDS: tuple[type[Command], ...] = tuple(
    found
    for found in list(globals().values())
    if isinstance(found, type) and issubclass(found, Command) and found is not Command
)
