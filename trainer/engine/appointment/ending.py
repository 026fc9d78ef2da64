"""The end: freeing the person, the record, the quality programme."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    at_the_unit,
    inside_the_room,
    no_longer_ready,
    somebody,
)
from trainer.errors import NotAllowedNow
from trainer.models.appointment_commands import (
    DoQualityCheck,
    Finish,
    GiveBack,
    LetGo,
    WatchStanding,
    WriteRecord,
)
from trainer.models.appointment_events import (
    BelongingsGivenBack,
    Bumped,
    Event,
    Finished,
    PersonFreed,
    QualityChecked,
    RecordWritten,
    StandingWatched,
)
from trainer.models.appointment_words import Firmness, Grade, UnitPosition


def let_go(state: AppointmentState, command: LetGo) -> Step:
    """The person steps out; closed bands and a unit in the way are run against."""
    inside_the_room(state)
    person = at_the_unit(state)
    events: list[Event] = []
    if any(firmness is not Firmness.LOOSE for _, firmness in state.room.bands):
        events.append(Bumped("The head was still held as the person stood up."))
    moving = state.room.moving_until_s > command.at_s
    if state.room.position is UnitPosition.WORK or moving:
        events.append(Bumped("The unit stood in the way as the person stepped out."))
    new = no_longer_ready(state)
    new = replace(
        new,
        person=replace(person, stance=None, spacer=None),
        setup=new.setup.with_values({"jaw_gap_mm": 0.0}),
        room=replace(new.room, bands=()),
    )
    return Step(new, (*events, PersonFreed()))


def watch_standing(state: AppointmentState, command: WatchStanding) -> Step:
    """Somebody stays beside the person."""
    inside_the_room(state)
    somebody(state)
    return Step(state, (StandingWatched(),))


def give_back(state: AppointmentState, command: GiveBack) -> Step:
    """Belongings are returned, and the person leaves."""
    person = somebody(state)
    if person.stance is not None:
        raise NotAllowedNow("The person is still at the unit; let them step out first.")
    room = replace(state.room, companion_inside=False)
    return Step(replace(state, person=None, room=room), (BelongingsGivenBack(),))


def write_record(state: AppointmentState, command: WriteRecord) -> Step:
    """The record, with the entries that are not what happened."""
    runs = state.runs
    last = runs[-1] if runs else None
    setup = last.conditions.setup if last else state.setup
    programme = last.conditions.programme if last else state.programme
    rejected = sum(r.grade is Grade.N for r in runs)
    true = {
        "person": last.conditions.person if last else state.context.visit.patient,
        "region": setup.region,
        "field": setup.field,
        "voxel_um": programme.voxel_um,
        "runs": len(runs),
        "rejected_runs": rejected,
        "scouts": len(state.scouts),
        "grade": last.grade if last else None,
        "kap_noted": True,
    }
    wrong = tuple(key for key, value in true.items() if getattr(command, key) != value)
    return Step(state, (RecordWritten(wrong),))


def do_quality_check(state: AppointmentState, command: DoQualityCheck) -> Step:
    """A duty of the quality programme is done."""
    return Step(state, (QualityChecked(command.what),))


def finish(state: AppointmentState, command: Finish) -> Step:
    """The appointment is over, whatever was left out."""
    return Step(replace(state, finished=True), (Finished(),))


HANDLERS: Handlers = {
    LetGo: let_go,
    WatchStanding: watch_standing,
    GiveBack: give_back,
    WriteRecord: write_record,
    DoQualityCheck: do_quality_check,
    Finish: finish,
}
