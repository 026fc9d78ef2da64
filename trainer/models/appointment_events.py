"""What happens in an appointment, and what the world outside the engine is to do about it.

Numbers in events are rounded (0.1 mm, 0.1 deg, 0.001 s), so that equal attempts read alike on
every machine.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import (
    ArchPlace,
    CutSide,
    Firmness,
    Gaze,
    Grade,
    HistoryTopic,
    Hygiene,
    IdentityItem,
    ImagePoint,
    Instruction,
    Interlock,
    PregnancyAnswer,
    QualityCheck,
    RetakeCause,
    RunEnd,
    ScoutKind,
    Sentence,
    Shield,
    SpacerKind,
    Stance,
    Support,
    Topic,
    Touch,
    UnitPosition,
    View,
    WithholdReason,
    WornPlace,
)
from trainer.models.learning import Prediction
from trainer.models.motion import MotionCause, MovementKind
from trainer.models.panorama import PanoramaFault, PanoramaSign
from trainer.models.setup import Setup


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened."""


@dataclass(frozen=True, slots=True)
class RequestRead(Event):
    """The card was read; ``unclear`` says what is missing or contradicts (empty: nothing)."""

    unclear: str


@dataclass(frozen=True, slots=True)
class AuthorisationSeen(Event):
    """Whether an entitled person has signed."""

    valid: bool


@dataclass(frozen=True, slots=True)
class PractitionerAnswered(Event):
    """The answer to a question: whether to go on, in words."""

    topic: Topic
    go_on: bool
    words: str


@dataclass(frozen=True, slots=True)
class Withheld(Event):
    """The operator stopped."""

    reason: WithholdReason
    note: str


@dataclass(frozen=True, slots=True)
class Cleaned(Event):
    """An act of cleaning was done. ``person_there``: with somebody in the room."""

    what: Hygiene
    person_there: bool


@dataclass(frozen=True, slots=True)
class SupportFitted(Event):
    """A support is on the unit."""

    support: Support


@dataclass(frozen=True, slots=True)
class SupportTakenOff(Event):
    """A support is off the unit."""

    support: Support


@dataclass(frozen=True, slots=True)
class UnitSent(Event):
    """The moving part goes to a position and arrives later."""

    to: UnitPosition
    arrives_s: float


@dataclass(frozen=True, slots=True)
class Bumped(Event):
    """Somebody ran against the unit."""

    words: str


@dataclass(frozen=True, slots=True)
class PersonCame(Event):
    """Somebody came in."""

    person: str


@dataclass(frozen=True, slots=True)
class Greeted(Event):
    """The person was greeted."""


@dataclass(frozen=True, slots=True)
class PersonSentBack(Event):
    """The person went back to the waiting room."""

    person: str


@dataclass(frozen=True, slots=True)
class IdentityAnswered(Event):
    """What the person said, and whether it agrees with the request.

    To a leading question a person may agree who is somebody else: ``agrees`` is then true.
    """

    item: IdentityItem
    open_question: bool
    words: str
    agrees: bool


@dataclass(frozen=True, slots=True)
class PregnancyAnswered(Event):
    """The answer to the local rule's question."""

    in_private: bool
    answer: PregnancyAnswer


@dataclass(frozen=True, slots=True)
class HistoryAnswered(Event):
    """The answer to a question on history."""

    topic: HistoryTopic
    words: str


@dataclass(frozen=True, slots=True)
class MetalTold(Event):
    """What the person named when asked."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlaceLookedAt(Event):
    """What is worn at a place."""

    place: WornPlace
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemTakenOut(Event):
    """Something is off or out."""

    item: str


@dataclass(frozen=True, slots=True)
class ItemPutIn(Event):
    """Something is in or on."""

    item: str


@dataclass(frozen=True, slots=True)
class ShieldWorn(Event):
    """A shield is worn, or none."""

    shield: Shield


@dataclass(frozen=True, slots=True)
class Explained(Event):
    """The examination was explained. ``heard``: the person could hear it."""

    sentences: tuple[Sentence, ...]
    heard: bool


@dataclass(frozen=True, slots=True)
class Instructed(Event):
    """The person was asked to do something. ``heard``: and could hear it."""

    what: Instruction
    heard: bool


@dataclass(frozen=True, slots=True)
class OpenedAtConsole(Event):
    """A person is open at the console."""

    person: str


@dataclass(frozen=True, slots=True)
class ProgrammeEntered(Event):
    """The programme is another one."""

    programme: Programme


@dataclass(frozen=True, slots=True)
class VoxelChanged(Event):
    """The new field lacks the voxel that was entered; the unit has taken its nearest."""

    voxel_um: int


@dataclass(frozen=True, slots=True)
class SetupMoved(Event):
    """Controls moved, by the operator's hand or by a spacer; ``keys`` in the controls' order."""

    setup: Setup
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HeadNudged(Event):
    """A band that was closed turned the head."""

    support: Support
    pitch_deg: float
    yaw_deg: float
    roll_deg: float


@dataclass(frozen=True, slots=True)
class NeckResisted(Event):
    """The head does not go that far without force; it stops at the limit."""

    key: str
    asked_deg: float
    reached_deg: float


@dataclass(frozen=True, slots=True)
class PlaceTaken(Event):
    """The person stands or sits at the unit."""

    stance: Stance
    brakes_on: bool


@dataclass(frozen=True, slots=True)
class SpacerPlaced(Event):
    """A spacer is in."""

    kind: SpacerKind
    place: ArchPlace
    both_sides: bool
    gap_mm: float


@dataclass(frozen=True, slots=True)
class Gagged(Event):
    """The person could not keep the spacer in; it is out again."""


@dataclass(frozen=True, slots=True)
class SpacerTakenOut(Event):
    """The spacer is out, the teeth are closed."""


@dataclass(frozen=True, slots=True)
class LightsSwitched(Event):
    """The light lines are on or off."""

    on: bool


@dataclass(frozen=True, slots=True)
class Looked(Event):
    """The operator looked from a direction. Without light lines little can be told."""

    view: View
    lights_on: bool


@dataclass(frozen=True, slots=True)
class TapeRead(Event):
    """What the tape says, to the millimetre, above the zero plane."""

    chin_mm: float
    field_floor_mm: float


@dataclass(frozen=True, slots=True)
class BandSet(Event):
    """A band was closed or opened."""

    support: Support
    firmness: Firmness


@dataclass(frozen=True, slots=True)
class TrialRunDone(Event):
    """The unit turned once without radiation and touched this."""

    touched: tuple[Touch, ...]


@dataclass(frozen=True, slots=True)
class CompanionLeft(Event):
    """Who came along waits outside."""


@dataclass(frozen=True, slots=True)
class OperatorMoved(Event):
    """The operator is outside, or inside."""

    outside: bool


@dataclass(frozen=True, slots=True)
class DoorClosed(Event):
    """The door is closed."""


@dataclass(frozen=True, slots=True)
class ReadyAsked(Event):
    """The unit goes into the ready state; from ``steady_s`` on the switch counts."""

    steady_s: float


@dataclass(frozen=True, slots=True)
class Blocked(Event):
    """Interlocks kept the unit from doing it."""

    interlocks: tuple[Interlock, ...]


@dataclass(frozen=True, slots=True)
class ScoutTaken(Event):
    """A scout was taken."""

    number: int
    kind: ScoutKind


@dataclass(frozen=True, slots=True)
class TargetMarked(Event):
    """The operator pointed at the target, this far from where its middle is."""

    kind: ScoutKind
    off_mm: float


@dataclass(frozen=True, slots=True)
class CutNamed(Event):
    """The operator said where the target is cut off, and where it is."""

    kind: ScoutKind
    named: tuple[CutSide, ...]
    true: tuple[CutSide, ...]


@dataclass(frozen=True, slots=True)
class RunStarted(Event):
    """Radiation is on."""

    number: int
    planned_s: float


@dataclass(frozen=True, slots=True)
class PersonMoved(Event):
    """The operator, eyes on the patient, saw a movement ``into_s`` after the start."""

    number: int
    kind: MovementKind
    into_s: float


@dataclass(frozen=True, slots=True)
class GazeTurned(Event):
    """The operator's eyes are on something else."""

    gaze: Gaze


@dataclass(frozen=True, slots=True)
class RunEnded(Event):
    """Radiation is off."""

    number: int
    end: RunEnd
    recorded_s: float


@dataclass(frozen=True, slots=True)
class ImageOpened(Event):
    """The image of a run is on the screen, under the name open at the console."""

    number: int
    person_shown: str


@dataclass(frozen=True, slots=True)
class ImageChecked(Event):
    """One point of an image was checked."""

    number: int
    point: ImagePoint


@dataclass(frozen=True, slots=True)
class ImageGraded(Event):
    """An image was graded."""

    number: int
    grade: Grade
    causes: tuple[RetakeCause, ...]


@dataclass(frozen=True, slots=True)
class SignNamed(Event):
    """A sign was named for a fault."""

    fault: PanoramaFault
    sign: PanoramaSign


@dataclass(frozen=True, slots=True)
class RetakeDecided(Event):
    """Whether a run is repeated, and why."""

    number: int
    retake: bool
    cause: RetakeCause | None


@dataclass(frozen=True, slots=True)
class PersonFreed(Event):
    """The person has left the unit."""


@dataclass(frozen=True, slots=True)
class StandingWatched(Event):
    """Somebody stayed beside the person."""


@dataclass(frozen=True, slots=True)
class BelongingsGivenBack(Event):
    """Everything is returned, and the person leaves."""


@dataclass(frozen=True, slots=True)
class RecordWritten(Event):
    """The record is written; ``wrong`` names the entries that are not what happened."""

    wrong: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class QualityChecked(Event):
    """A duty of the quality programme is done."""

    what: QualityCheck


@dataclass(frozen=True, slots=True)
class Finished(Event):
    """The appointment is over."""


@dataclass(frozen=True, slots=True)
class HintGiven(Event):
    """The learner asked for a hint and got this one."""

    words: str


@dataclass(frozen=True, slots=True)
class Predicted(Event):
    """The learner has said what the images will turn out to be. Tells nothing of what is so."""

    prediction: Prediction


@dataclass(frozen=True, slots=True)
class Effect:
    """Something to be done outside the engine."""


@dataclass(frozen=True, slots=True)
class ShowScout(Effect):
    """Compute and show the scout of that number (`AppointmentState.scouts`)."""

    number: int


@dataclass(frozen=True, slots=True)
class PlayMotion(Effect):
    """Show the person as they move: ``motion_trace(cause, planned_s, seed)``."""

    number: int
    cause: MotionCause
    planned_s: float
    seed: int


@dataclass(frozen=True, slots=True)
class ComputeImage(Effect):
    """Compute the image of the run of that number (`AppointmentState.runs`)."""

    number: int


@dataclass(frozen=True, slots=True)
class ShowImage(Effect):
    """Show the image of the run of that number."""

    number: int
