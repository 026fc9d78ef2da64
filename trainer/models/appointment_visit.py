"""What a case says about the visit: the request's card, the people, what they wear and answer.

Everything here is invented and written by the author of a case. Patients' names are trees' names,
so that nobody takes them for real people.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from trainer.errors import Fault, NotValid
from trainer.models.appointment_words import (
    CriticalItem,
    HistoryTopic,
    IdentityItem,
    MetalLevel,
    PregnancyAnswer,
    RunKind,
    Shield,
    Support,
    Trait,
    WornPlace,
)
from trainer.models.device import Region
from trainer.models.frames import Side
from trainer.models.learning import (
    STRICT_TASKS,
    BlockWeights,
    Task,
    Tolerances,
    ToothNumbering,
)
from trainer.models.motion import Movement
from trainer.models.subject import Worn

VOXELS_UM = (50, 600)  # edges that a unit of this kind can offer, from memory 75-400, 600 on a few


@dataclass(frozen=True, slots=True)
class Programme:
    """What is entered at the unit beside region and field.

    ``protocol`` is the unit's preset for the person's size (see `models.protocol`).
    """

    protocol: str = "adult"
    voxel_um: int = 200
    low_dose: bool = False
    metal_level: MetalLevel = MetalLevel.OFF
    run_kind: RunKind = RunKind.FULL

    def __post_init__(self) -> None:
        low, high = VOXELS_UM
        if not low <= self.voxel_um <= high:
            text = f"must be {low} to {high}, got {self.voxel_um}"
            raise NotValid([Fault("programme", 0, "voxel_um", text)])


@dataclass(frozen=True, slots=True)
class Prescription:
    """What the practitioner ordered.

    ``arches_apart``: True with a spacer, False with the teeth together, ``None`` when it does not
    matter. ``side`` ``None``: both, or the middle. ``field`` is a field's name on the case's unit.
    ``runs`` is how many full runs make up the examination: two small fields for both joints, or
    parts that are stitched; what one run leaves out another one may hold.
    """

    region: Region
    field: str
    programme: Programme
    side: Side | None = None
    teeth: tuple[str, ...] = ()
    arches_apart: bool | None = None
    runs: int = 1

    def __post_init__(self) -> None:
        if not 1 <= self.runs <= 3:
            raise NotValid([Fault("prescription", 0, "runs", f"must be 1 to 3, got {self.runs}")])


@dataclass(frozen=True, slots=True)
class RequestCard:
    """The request as it lies there. ``unclear`` says in words what is missing or contradicts."""

    prescription: Prescription
    authorised: bool = True
    unclear: str = ""


@dataclass(frozen=True, slots=True)
class Answers:
    """What the practitioner says when asked.

    ``authorises``: the signature is given when it is asked for. ``after_pregnancy``: whether the
    practitioner decides to go on after an answer that is not a plain no. ``clears`` is what an
    unclear request turns out to mean; ``None`` when the card's prescription stands.
    """

    authorises: bool = True
    after_pregnancy: bool = False
    clears: Prescription | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """Somebody in the waiting room: an id, and what they say when asked who they are.

    ``says_yes``: agrees to a leading question whoever is named in it.
    """

    id: str
    surname: str
    given_name: str
    birth_date: str
    address: str
    says_yes: bool = True

    def states(self, item: IdentityItem) -> str:
        """What the person states about themselves."""
        if item is IdentityItem.NAME:
            return f"{self.given_name} {self.surname}"
        return self.birth_date if item is IdentityItem.BIRTH_DATE else self.address


@dataclass(frozen=True, slots=True)
class WornItem:
    """Something that can be taken off or out.

    ``hidden``: not seen before its place is looked at. ``metal``: it casts a shadow.
    ``prescribed_in``: the request wants it in the mouth. ``worn``: in place at the start.
    ``hears``: a hearing aid, which has to stay in until everything is explained. ``shown_as``:
    how the person's phantom knows it, if it does.
    """

    id: str
    name: str
    place: WornPlace
    hidden: bool = False
    metal: bool = True
    prescribed_in: bool = False
    worn: bool = True
    hears: bool = False
    shown_as: Worn | None = None


@dataclass(frozen=True, slots=True)
class NeckRange:
    """How far the head goes without force [deg]; lowest and highest."""

    pitch_deg: tuple[float, float] = (-30.0, 30.0)
    yaw_deg: tuple[float, float] = (-30.0, 30.0)
    roll_deg: tuple[float, float] = (-25.0, 25.0)


@dataclass(frozen=True, slots=True)
class LocalRules:
    """What the practice's own rules say. They differ by country, school and practice.

    ``shield``: what has to be worn (`Shield.NONE`: nothing). ``pregnancy_ages``: from and to;
    ``None`` when the rule asks nobody. ``ready_steady_s``: how long the ready state has to stand
    before the switch counts. ``companion_may_stay``: with protection, by local rule.

    How an attempt is judged: ``critical_items`` are those that count; ``block_weights`` add up to
    100; ``mastery_percent`` has to be reached; ``tolerances`` go by level, with tighter angles for
    the ``strict_tasks``. What else the practice has settled: ``authorised_by`` and
    ``retake_decided_by`` in words, ``keep_records_months``, the ``language`` of texts (two
    letters), ``tooth_numbering``, and under which ``signatures`` a printed record has a line.
    """

    identity_items: tuple[IdentityItem, ...] = tuple(IdentityItem)
    pregnancy_ages: tuple[int, int] | None = (12, 55)
    shield: Shield = Shield.NONE
    companion_may_stay: bool = False
    ready_steady_s: float = 3.0
    critical_items: tuple[CriticalItem, ...] = tuple(CriticalItem)
    block_weights: BlockWeights = field(default_factory=BlockWeights)
    mastery_percent: float = 90.0
    tolerances: Tolerances = field(default_factory=Tolerances)
    strict_tasks: tuple[Task, ...] = STRICT_TASKS
    authorised_by: tuple[str, ...] = ("the practitioner",)
    retake_decided_by: str = "the practitioner"
    keep_records_months: int = 36
    language: str = "en"
    tooth_numbering: ToothNumbering = ToothNumbering.FDI
    signatures: tuple[str, ...] = ("learner", "supervisor")


@dataclass(frozen=True, slots=True)
class Visit:
    """The script of one visit.

    Attributes
    ----------
    card : RequestCard
        The request.
    patient : str
        Id, among ``waiting``, of the person whom the request is for.
    waiting : tuple of Waiting
        Who sits in the waiting room, in the order in which they look up.
    can_be_pregnant : bool
        Whether the local rule's question concerns this person; the age is the subject's.
    pregnancy : PregnancyAnswer
        What is said when asked in private; before others it is `NO_ANSWER`.
    companion : str
        Who came along; empty when nobody did.
    supports_wanted, supports_left_on : tuple of Support
        What the examination needs, and what the last one has left on the unit.
    console_left_over : str
        Id of the patient still open at the console; empty when none is.
    programme_left_over : Programme
        What is still entered at the console.
    scripted_motion : tuple of Movement or None
        Movements of the first full run; ``None`` lets the seed decide.
    image_answers : bool or None
        Whether a first full image whose only fault is motion answers the question; ``None`` goes
        by the motion's size.
    history : mapping of HistoryTopic to str
        Answers; a topic without one is answered from the traits.
    """

    card: RequestCard
    patient: str
    waiting: tuple[Waiting, ...]
    traits: frozenset[Trait] = frozenset()
    items: tuple[WornItem, ...] = ()
    neck: NeckRange = NeckRange()
    can_be_pregnant: bool = False
    pregnancy: PregnancyAnswer = PregnancyAnswer.NO
    companion: str = ""
    answers: Answers = Answers()
    supports_wanted: tuple[Support, ...] = (Support.CHIN_REST, Support.FOREHEAD_REST)
    supports_left_on: tuple[Support, ...] = ()
    console_left_over: str = ""
    programme_left_over: Programme = Programme()
    scripted_motion: tuple[Movement, ...] | None = None
    image_answers: bool | None = None
    history: Mapping[HistoryTopic, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        faults = [
            Fault("visit", 0, key, f"{name!r} is there more than once")
            for key, names in (
                ("waiting", [w.id for w in self.waiting]),
                ("items", [i.id for i in self.items]),
            )
            for name in sorted({n for n in names if names.count(n) > 1})
        ]
        if self.patient not in [w.id for w in self.waiting]:
            have = ", ".join(w.id for w in self.waiting) or "nobody"
            faults.append(Fault("visit", 0, "patient", f"{self.patient!r} is not among {have}"))
        if faults:
            raise NotValid(faults)

    def person(self, person_id: str) -> Waiting:
        """The waiting person of that id; KeyError when there is none."""
        return {w.id: w for w in self.waiting}[person_id]

    def item(self, item_id: str) -> WornItem | None:
        """The item of that id, if there is one."""
        return next((i for i in self.items if i.id == item_id), None)
