"""An invented visit, a clean run through it, and ways to change both."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import Any

from trainer.engine.appointment.state import AppointmentState, Context, Step, open_appointment
from trainer.engine.appointment.step import step
from trainer.engine.placement import place
from trainer.engine.points import pack_head
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import (
    LocalRules,
    Prescription,
    Programme,
    RequestCard,
    Visit,
    Waiting,
)
from trainer.models.appointment_words import (
    USEFUL_SENTENCES,
    CallBy,
    Firmness,
    Gaze,
    Grade,
    Hygiene,
    IdentityItem,
    ImagePoint,
    Instruction,
    QualityCheck,
    ScoutKind,
    Stance,
    Support,
    UnitPosition,
    View,
    WornPlace,
)
from trainer.models.device import Region
from trainer.models.frames import Side
from trainer.models.learning import HelpLevel
from trainer.services.assets import SCENARIOS, UNITS, load_head
from trainer.services.scenario_io import find_case, load_case
from trainer.services.unit_io import find_unit

CASE = "lower-third-molar"
ROWAN = Waiting("rowan", "Rowan", "Tom", "1997-04-03", "4 Mill Row")
OTHER_ROWAN = Waiting("rowan-senior", "Rowan", "Hal", "1961-09-30", "4 Mill Row")
ORDER = Prescription(
    region=Region.LOWER_JAW,
    field="40x40",
    programme=Programme(voxel_um=100),
    side=Side.RIGHT,
    teeth=("48",),
    arches_apart=False,
)
RULES = LocalRules()
VISIT = Visit(
    card=RequestCard(ORDER),
    patient="rowan",
    waiting=(ROWAN,),
    supports_left_on=(Support.BITE_PIECE,),
    console_left_over="rowan",
    scripted_motion=(),
)


@lru_cache(maxsize=1)
def real_case() -> tuple[Any, ...]:
    """The shipped case, its unit, its head and the head's points."""
    case = load_case(find_case(CASE, SCENARIOS), UNITS)
    unit = find_unit(case.unit_id, UNITS)
    head = load_head(case.subject.person).head
    return case, unit, head, pack_head(head)


def context(visit: Visit = VISIT, rules: LocalRules = RULES, **case_changes: Any) -> Context:
    """The third-molar case with a visit; placements are the real head's."""
    case, unit, head, points = real_case()
    case = replace(case, **case_changes)
    placing = lru_cache(partial(place, case, head, points, unit))
    return Context(case, visit, unit, rules, placing)


@dataclass(frozen=True)
class Act:
    """A command before it has a time: its kind, its values, and how long after the one before."""

    kind: type[do.Command]
    values: dict[str, Any]
    after_s: float = 2.0

    def at(self, at_s: float) -> do.Command:
        """The command."""
        return self.kind(at_s=at_s, **self.values)


def act(kind: type[do.Command], /, *, after_s: float = 2.0, **values: Any) -> Act:
    """One act."""
    return Act(kind, values, after_s)


BEFORE = [
    act(do.DoQualityCheck, what=QualityCheck.DAILY_CHECK),
    act(do.ReadRequest),
    act(do.CheckAuthorisation),
    act(do.Clean, what=Hygiene.SURFACES),
    act(do.TakeSupportOff, support=Support.BITE_PIECE),
    act(do.FitSupport, support=Support.CHIN_REST),
    act(do.FitSupport, support=Support.FOREHEAD_REST),
    act(do.Clean, what=Hygiene.BARRIERS_ON),
    act(do.MoveUnit, to=UnitPosition.ENTRY),
    act(do.Clean, what=Hygiene.HANDS),
]
TALK = [
    act(do.Call, after_s=10.0, by=CallBy.FULL_NAME),
    act(do.Greet),
    *(act(do.AskIdentity, item=i, open_question=True) for i in IdentityItem),
    act(do.AskPregnancy, in_private=True),
    *(act(do.AskHistory, topic=t) for t in do.HistoryTopic),
    act(do.AskAboutMetal),
    *(act(do.LookForMetal, place=p) for p in WornPlace),
    act(do.Explain, sentences=USEFUL_SENTENCES),
]
ENTER = [
    act(do.OpenAtConsole, person="rowan"),
    act(do.Adjust, values={"region": "lower-jaw", "field": "40x40"}),
    act(do.EnterProgramme, programme=ORDER.programme),
]
PLACE = [
    act(do.TakePlace, stance=Stance.STANDING),
    act(do.MoveUnit, to=UnitPosition.WORK),
    *(
        act(do.Instruct, what=i)
        for i in Instruction
        if i not in (Instruction.SWALLOW_ONCE, Instruction.STAY_STILL)
    ),
    act(do.Adjust, values={"unit_height_mm": 1538.0}),
    act(do.SwitchLights, on=True),
    act(do.Look, view=View.FRONT),
    act(do.Look, view=View.SIDE),
    act(do.MeasureWithTape),
    act(do.Adjust, values={"chin_height_mm": -28.0}),
    act(do.Adjust, values={"field_sideways_mm": -30.0}),
    act(do.Adjust, values={"arm_turned": True}),
    act(do.Adjust, values={"field_forward_mm": -34.0}, after_s=6.0),
    act(do.Adjust, values={"arm_turned": False}, after_s=6.0),
]
HOLD = [
    act(do.SetBand, support=Support.FOREHEAD_REST, firmness=Firmness.SNUG),
    act(do.Adjust, values={"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0}),
    act(do.Look, view=View.FRONT),
    act(do.Look, view=View.SIDE),
    act(do.TrialRun, after_s=10.0),
]
OUT = [
    act(do.Instruct, what=Instruction.SWALLOW_ONCE),
    act(do.Instruct, what=Instruction.STAY_STILL),
    act(do.LeaveRoom),
    act(do.CloseDoor),
    act(do.MakeReady, after_s=6.0),
]
SCOUTS = [
    act(do.TakeScout, kind=ScoutKind.FRONTAL, after_s=4.0),
    act(do.TakeScout, kind=ScoutKind.LATERAL),
    act(do.MarkTarget, kind=ScoutKind.FRONTAL, across_mm=0.0, up_mm=0.0),
    act(do.NameCut, kind=ScoutKind.FRONTAL, sides=()),
]
RUN = [
    act(do.LookAt, gaze=Gaze.PATIENT),
    act(do.PressSwitch),
    act(do.Wait, after_s=19.0),
    act(do.ReleaseSwitch, after_s=1.0),
]
CHECK = [
    act(do.OpenImage),
    *(act(do.CheckImage, point=p) for p in ImagePoint),
    act(do.GradeImage, grade=Grade.A),
    act(do.DecideRetake, retake=False),
]
FREE = [
    act(do.EnterRoom),
    act(do.SetBand, support=Support.FOREHEAD_REST, firmness=Firmness.LOOSE),
    act(do.MoveUnit, to=UnitPosition.EXIT),
    act(do.LetGo, after_s=6.0),
    act(do.WatchStanding),
    act(do.GiveBack),
]
END = [
    act(
        do.WriteRecord,
        person="rowan",
        region=Region.LOWER_JAW,
        field="40x40",
        voxel_um=100,
        runs=1,
        rejected_runs=0,
        scouts=2,
        grade=Grade.A,
        kap_noted=True,
    ),
    act(do.Clean, what=Hygiene.BARRIERS_OFF),
    act(do.Clean, what=Hygiene.SURFACES),
    act(do.Clean, what=Hygiene.HANDS),
    act(do.DoQualityCheck, what=QualityCheck.REJECT_LOG),
    act(do.Finish),
]
CLEAN_RUN = [*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT, *SCOUTS, *RUN, *CHECK, *FREE, *END]

Which = Callable[[Act], bool]


def doing(kind: type[do.Command], /, **values: Any) -> Which:
    """Tells acts of a kind, with these values."""
    return lambda a: a.kind is kind and all(a.values.get(k) == v for k, v in values.items())


def without(acts: Sequence[Act], *which: Which) -> list[Act]:
    """The acts but for some; which must be there."""
    for w in which:
        assert any(w(a) for a in acts)
    return [a for a in acts if not any(w(a) for w in which)]


def before(acts: Sequence[Act], which: Which, *more: Act) -> list[Act]:
    """More acts before the first that is meant."""
    spot = next(i for i, a in enumerate(acts) if which(a))
    return [*acts[:spot], *more, *acts[spot:]]


def instead(acts: Sequence[Act], which: Which, *more: Act) -> list[Act]:
    """Other acts in place of the first that is meant."""
    spot = next(i for i, a in enumerate(acts) if which(a))
    return [*acts[:spot], *more, *acts[spot + 1 :]]


def timed(acts: Iterable[Act]) -> list[do.Command]:
    """The acts with their times."""
    at_s, found = 0.0, []
    for a in acts:
        at_s += a.after_s
        found.append(a.at(at_s))
    return found


def play(
    acts: Iterable[Act],
    where: Context | None = None,
    seed: int = 1,
    help: HelpLevel = HelpLevel.NONE,
) -> tuple[AppointmentState, list[Step]]:
    """The state after all acts, and every step."""
    state, steps = open_appointment(where or context(), seed, help), []
    for command in timed(acts):
        steps.append(step(state, command))
        state = steps[-1].state
    return state, steps
