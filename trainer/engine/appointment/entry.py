"""At the console and into the unit: programme, positions of the unit, taking one's place."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    inside_the_room,
    no_longer_ready,
    somebody,
)
from trainer.errors import Fault, NotAllowedNow, NotFound, NotValid
from trainer.models.appointment_commands import EnterProgramme, MoveUnit, OpenAtConsole, TakePlace
from trainer.models.appointment_events import (
    Bumped,
    Event,
    OpenedAtConsole,
    PlaceTaken,
    ProgrammeEntered,
    UnitSent,
    VoxelChanged,
)
from trainer.models.appointment_words import Stance, Trait, UnitPosition

POSITION_MOVE_S = 4.0  # own working value


def open_at_console(state: AppointmentState, command: OpenAtConsole) -> Step:
    """A person's file is open: images are filed there."""
    people = [w.id for w in state.context.visit.waiting]
    if command.person not in people:
        raise NotFound(f"nobody {command.person!r} in today's list; there are {', '.join(people)}")
    return Step(replace(state, console_person=command.person), (OpenedAtConsole(command.person),))


def enter_programme(state: AppointmentState, command: EnterProgramme) -> Step:
    """The programme is entered; the unit takes only what it offers.

    Raises
    ------
    NotValid
        If field and voxel do not go together, or the unit has no such protocol.
    """
    programme, context = command.programme, state.context
    offered = context.unit.field(state.setup.field).voxels_um
    faults = []
    if programme.voxel_um not in offered:
        have = ", ".join(str(v) for v in offered)
        text = f"field {state.setup.field} offers {have}, got {programme.voxel_um}"
        faults.append(Fault("programme", 0, "voxel_um", text))
    if context.protocols and programme.protocol not in context.protocols:
        text = f"must be one of {', '.join(context.protocols)}, got {programme.protocol!r}"
        faults.append(Fault("programme", 0, "protocol", text))
    if faults:
        raise NotValid(faults)
    new = replace(no_longer_ready(state), programme=programme)
    return Step(new, (ProgrammeEntered(programme),))


def nearest_offered(state: AppointmentState) -> tuple[AppointmentState, tuple[Event, ...]]:
    """The state with a voxel that the field offers: another field brings the nearest of its own."""
    offered = state.context.unit.field(state.setup.field).voxels_um
    now = state.programme.voxel_um
    if now in offered:
        return state, ()
    nearest = min(offered, key=lambda v: (abs(v - now), v))
    programme = replace(state.programme, voxel_um=nearest)
    return replace(state, programme=programme), (VoxelChanged(nearest),)


def move_unit(state: AppointmentState, command: MoveUnit) -> Step:
    """The moving part sets off."""
    inside_the_room(state)
    arrives = max(command.at_s, state.room.moving_until_s) + POSITION_MOVE_S
    new = no_longer_ready(state)
    room = replace(new.room, position=command.to, moving_until_s=arrives)
    return Step(replace(new, room=room), (UnitSent(command.to, round(arrives, 3)),))


def take_place(state: AppointmentState, command: TakePlace) -> Step:
    """The person steps in; with the unit in the way they run against it.

    Raises
    ------
    NotAllowedNow
        If nobody is there, or somebody without a wheelchair is to stay in one.
    """
    inside_the_room(state)
    there = somebody(state)
    if command.stance is Stance.OWN_WHEELCHAIR and Trait.WHEELCHAIR not in state.traits:
        raise NotAllowedNow("This person has no wheelchair; have them stand or sit.")
    person = replace(there, stance=command.stance, brakes_on=command.brakes_on)
    events: tuple[Event, ...] = (PlaceTaken(command.stance, command.brakes_on),)
    moving = state.room.moving_until_s > command.at_s
    if state.room.position is not UnitPosition.ENTRY or moving:
        events = (Bumped("The unit stood in the way as the person stepped in."), *events)
    return Step(replace(no_longer_ready(state), person=person), events)


HANDLERS: Handlers = {
    OpenAtConsole: open_at_console,
    EnterProgramme: enter_programme,
    MoveUnit: move_unit,
    TakePlace: take_place,
}
