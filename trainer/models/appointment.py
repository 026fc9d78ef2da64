"""The parts of an appointment's state, and what an exposure leaves behind. All frozen.

The whole state is `engine.appointment.state.AppointmentState`, since it holds the engine's placing.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.models.appointment_events import Event
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import (
    ArchPlace,
    Firmness,
    Gaze,
    Grade,
    HistoryTopic,
    IdentityItem,
    ImagePoint,
    Instruction,
    PregnancyAnswer,
    RetakeCause,
    RunEnd,
    ScoutKind,
    Sentence,
    Shield,
    SpacerKind,
    Stance,
    Support,
    Touch,
    UnitPosition,
)
from trainer.models.motion import MotionCause, MotionSummary
from trainer.models.setup import Setup


@dataclass(frozen=True, slots=True)
class Logged:
    """An event and when it happened."""

    at_s: float
    event: Event


@dataclass(frozen=True, slots=True)
class SpacerIn:
    """The spacer that lies between the arches."""

    kind: SpacerKind
    place: ArchPlace
    both_sides: bool


@dataclass(frozen=True, slots=True)
class PersonState:
    """The person in the room and what has been said and done.

    ``confirmed``: items that the person stated and that agree. ``told``: instructions that were
    heard, with their times. ``worn``: ids of items in place, in the visit's order.
    """

    id: str
    greeted: bool = False
    confirmed: frozenset[IdentityItem] = frozenset()
    pregnancy: PregnancyAnswer | None = None
    asked: frozenset[HistoryTopic] = frozenset()
    worn: tuple[str, ...] = ()
    shield: Shield = Shield.NONE
    explained: frozenset[Sentence] = frozenset()
    told: tuple[tuple[Instruction, float], ...] = ()
    stance: Stance | None = None
    brakes_on: bool = False
    spacer: SpacerIn | None = None

    def heard(self, what: Instruction) -> bool:
        """Whether the person was asked to and heard it."""
        return any(i is what for i, _ in self.told)


@dataclass(frozen=True, slots=True)
class RoomState:
    """Unit and room. ``ready_from_s``: from when on the switch counts; ``None`` when not ready."""

    supports: tuple[Support, ...]
    bands: tuple[tuple[Support, Firmness], ...] = ()
    position: UnitPosition = UnitPosition.WORK
    moving_until_s: float = 0.0
    ready_from_s: float | None = None
    door_closed: bool = False
    operator_outside: bool = False
    companion_inside: bool = False
    lights_on: bool = False

    def firmness(self, support: Support) -> Firmness:
        """How a band sits."""
        return dict(self.bands).get(support, Firmness.LOOSE)


@dataclass(frozen=True, slots=True)
class Conditions:
    """Everything at the moment of an exposure that the image depends on.

    ``nudged_deg`` (pitch, yaw, roll) is what closing the bands has turned the head by since the
    operator last looked from the front (yaw, roll) and from the side (pitch).
    """

    setup: Setup
    programme: Programme
    person: str
    console_person: str
    worn: tuple[str, ...]
    shield: Shield
    spacer: SpacerIn | None
    supports: tuple[Support, ...]
    bands: tuple[tuple[Support, Firmness], ...]
    soft_parts_told: bool
    nudged_deg: tuple[float, float, float]
    touches: tuple[Touch, ...]
    others_inside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Scout:
    """A preview that was taken, with the field and setup it shows."""

    number: int
    kind: ScoutKind
    at_s: float
    conditions: Conditions
    marked_off_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Running:
    """A run under way. ``stops_s`` is when it ends by itself, by ``end``."""

    number: int
    started_s: float
    planned_s: float
    stops_s: float
    end: RunEnd
    stays: bool
    conditions: Conditions
    cause: MotionCause
    seed: int
    watched_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Run:
    """A run that is over, and what became of its image.

    ``cause``, ``planned_s`` and ``seed`` give its motion trace (`engine.motion.motion_trace`).
    """

    number: int
    started_s: float
    planned_s: float
    recorded_s: float
    end: RunEnd
    conditions: Conditions
    cause: MotionCause
    seed: int
    motion: MotionSummary
    watched_s: float
    checked: frozenset[ImagePoint] = frozenset()
    opened: bool = False
    grade: Grade | None = None
    causes: tuple[RetakeCause, ...] = ()
    retake: bool | None = None
    retake_cause: RetakeCause | None = None

    @property
    def recorded_share(self) -> float:
        """Share of the views that there are, 0 to 1."""
        return min(1.0, self.recorded_s / self.planned_s)

    @property
    def watched_share(self) -> float:
        """Share of the run with the operator's eyes on the patient, 0 to 1."""
        return min(1.0, self.watched_s / self.recorded_s) if self.recorded_s > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class ExposureState:
    """Scouts, the run under way, the runs that are over, and where the operator looks."""

    scouts: tuple[Scout, ...] = ()
    running: Running | None = None
    runs: tuple[Run, ...] = ()
    gaze: Gaze = Gaze.SCREEN
