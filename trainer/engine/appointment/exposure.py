"""From the trial run to the end of the radiation: interlocks, ready state, switch, eyes, motion."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.conditions import conditions, motion_cause, touches
from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    at_the_unit,
    inside_the_room,
    no_longer_ready,
)
from trainer.engine.motion import motion_trace, movements, summary
from trainer.errors import NotAllowedNow
from trainer.models.appointment import Run, Running
from trainer.models.appointment_commands import (
    CloseDoor,
    EnterRoom,
    LeaveRoom,
    LookAt,
    MakeReady,
    PressSwitch,
    ReleaseSwitch,
    TrialRun,
    Wait,
)
from trainer.models.appointment_events import (
    Blocked,
    ComputeImage,
    DoorClosed,
    Event,
    GazeTurned,
    OperatorMoved,
    PersonMoved,
    PlayMotion,
    ReadyAsked,
    RunEnded,
    RunStarted,
    TrialRunDone,
)
from trainer.models.appointment_words import (
    STOPPING_TOUCHES,
    Gaze,
    Interlock,
    RunEnd,
    UnitPosition,
)

# Where in its turn the moving part meets a shoulder or a chair: own working value.
STOPPED_AT_SHARE = 0.35


def trial_run(state: AppointmentState, command: TrialRun) -> Step:
    """The unit turns once without radiation and tells what it touches."""
    inside_the_room(state)
    at_the_unit(state)
    return Step(state, (TrialRunDone(touches(state)),))


def leave_room(state: AppointmentState, command: LeaveRoom) -> Step:
    """The operator goes outside; the door stands open and the ready state ends."""
    inside_the_room(state)
    new = no_longer_ready(state)
    room = replace(new.room, operator_outside=True, door_closed=False)
    return Step(replace(new, room=room), (OperatorMoved(True),))


def enter_room(state: AppointmentState, command: EnterRoom) -> Step:
    """The operator opens the door and goes in: the ready state ends."""
    if not state.room.operator_outside:
        raise NotAllowedNow("You are in the room already.")
    new = no_longer_ready(state)
    room = replace(new.room, operator_outside=False, door_closed=False)
    return Step(replace(new, room=room), (OperatorMoved(False),))


def close_door(state: AppointmentState, command: CloseDoor) -> Step:
    """The door is closed."""
    return Step(replace(state, room=replace(state.room, door_closed=True)), (DoorClosed(),))


def interlocks(state: AppointmentState, at_s: float, switch: bool) -> tuple[Interlock, ...]:
    """What keeps the unit from the ready state or, with ``switch``, from exposing.

    Only what a unit can know: it knows nothing of signatures, names and answers.
    """
    room = state.room
    ready = room.ready_from_s
    held = {
        Interlock.ARM_TURNED: state.setup.arm_turned,
        Interlock.UNIT_MOVING: room.moving_until_s > at_s,
        Interlock.NOT_IN_WORK_POSITION: room.position is not UnitPosition.WORK,
        Interlock.DOOR_OPEN: not room.door_closed,
        Interlock.OPERATOR_INSIDE: switch and not room.operator_outside,
        Interlock.NOT_READY: switch and ready is None,
        Interlock.NOT_YET_STEADY: switch and ready is not None and at_s < ready,
    }
    return tuple(i for i in Interlock if held[i])


def make_ready(state: AppointmentState, command: MakeReady) -> Step:
    """The unit becomes ready, and steady a few seconds later, unless an interlock stands open."""
    at_the_unit(state)
    blocked = interlocks(state, command.at_s, switch=False)
    if blocked:
        return Step(no_longer_ready(state), (Blocked(blocked),))
    steady_s = command.at_s + state.context.rules.ready_steady_s
    room = replace(state.room, ready_from_s=steady_s)
    return Step(replace(state, room=room), (ReadyAsked(round(steady_s, 3)),))


def press_switch(state: AppointmentState, command: PressSwitch) -> Step:
    """Radiation starts if the unit is ready and steady; a second press ends a switch that stays."""
    running = state.exposure.running
    if running is not None:
        if running.stays:
            return _stopped(state, running, command.at_s, RunEnd.RELEASED)
        raise NotAllowedNow("The switch is pressed already.")
    person = at_the_unit(state)
    blocked = interlocks(state, command.at_s, switch=True)
    if blocked:
        return Step(state, (Blocked(blocked),))
    number = len(state.runs) + 1
    at, planned_s = command.at_s, state.context.run_s(state.programme)
    now = conditions(state, person)
    stopped = any(t in STOPPING_TOUCHES for t in now.touches)
    running = Running(
        number=number,
        started_s=at,
        planned_s=planned_s,
        stops_s=at + planned_s * (STOPPED_AT_SHARE if stopped else 1.0),
        end=RunEnd.TOUCHED if stopped else RunEnd.COMPLETE,
        stays=command.stays,
        conditions=now,
        cause=motion_cause(state, person, at),
        seed=state.seed * 256 + number,
    )
    new = replace(state, exposure=replace(state.exposure, running=running))
    effect = PlayMotion(number, running.cause, planned_s, running.seed)
    return Step(new, (RunStarted(number, round(planned_s, 3)),), (effect,))


def release_switch(state: AppointmentState, command: ReleaseSwitch) -> Step:
    """Radiation stops at once. After the end of a run, letting go changes nothing."""
    running = state.exposure.running
    if running is None:
        return Step(state)
    return _stopped(state, running, command.at_s, RunEnd.RELEASED)


def _stopped(state: AppointmentState, running: Running, at_s: float, end: RunEnd) -> Step:
    recorded_s = at_s - running.started_s
    trace = motion_trace(running.cause, running.planned_s, running.seed)
    run = Run(
        number=running.number,
        started_s=running.started_s,
        planned_s=running.planned_s,
        recorded_s=recorded_s,
        end=end,
        conditions=running.conditions,
        cause=running.cause,
        seed=running.seed,
        motion=summary(trace, recorded_s),
        watched_s=running.watched_s,
    )
    exposure = replace(state.exposure, running=None, runs=(*state.exposure.runs, run))
    new = replace(no_longer_ready(state), exposure=exposure)
    ended = RunEnded(running.number, end, round(recorded_s, 3))
    return Step(new, (ended,), (ComputeImage(running.number),))


def look_at(state: AppointmentState, command: LookAt) -> Step:
    """The eyes go elsewhere."""
    exposure = replace(state.exposure, gaze=command.gaze)
    return Step(replace(state, exposure=exposure), (GazeTurned(command.gaze),))


def wait(state: AppointmentState, command: Wait) -> Step:
    """Only time passes."""
    return Step(state)


def pass_time(state: AppointmentState, to_s: float) -> Step:
    """What a run under way brings until ``to_s``: movements that are seen, and its own end.

    Each is logged at its own time.
    """
    running = state.exposure.running
    if running is None:
        return Step(replace(state, at_s=to_s))
    start, until = running.started_s, min(to_s, running.stops_s)
    seen: list[Event] = []
    if state.exposure.gaze is Gaze.PATIENT:
        running = replace(running, watched_s=running.watched_s + until - state.at_s)
        for m in movements(running.cause, running.planned_s, running.seed):
            if m.seen and state.at_s <= start + m.start_s < until:
                moved = PersonMoved(running.number, m.kind, round(m.start_s, 3))
                state, seen = state.told(start + m.start_s, moved), [*seen, moved]
    new = replace(state, at_s=to_s, exposure=replace(state.exposure, running=running))
    if to_s < running.stops_s:
        return Step(new, tuple(seen))
    ended = _stopped(new, running, running.stops_s, running.end)
    return Step(
        ended.state.told(running.stops_s, *ended.events), (*seen, *ended.events), ended.effects
    )


HANDLERS: Handlers = {
    TrialRun: trial_run,
    LeaveRoom: leave_room,
    EnterRoom: enter_room,
    CloseDoor: close_door,
    MakeReady: make_ready,
    PressSwitch: press_switch,
    ReleaseSwitch: release_switch,
    LookAt: look_at,
    Wait: wait,
}
# What can be done while radiation is on.
WHILE_RUNNING = (PressSwitch, ReleaseSwitch, LookAt, Wait)
