"""One command: the state after it, what happened, what the world is to do. Pure.

Time comes with the command. What was due before it (the end of a run, a movement that is seen)
happens first. Nothing is forced on the operator but what a unit's interlocks would; a command that
has no meaning now (asking when nobody is there) raises and changes nothing.
"""

from __future__ import annotations

from trainer.engine.appointment import (
    ending,
    entry,
    exposure,
    learner,
    people,
    placing,
    request,
    review,
    scouts,
    signs,
    talk,
)
from trainer.engine.appointment.exposure import WHILE_RUNNING, pass_time
from trainer.engine.appointment.state import AppointmentState, Handlers, Step
from trainer.errors import NotAllowedNow
from trainer.models.appointment_commands import Command, Predict

HANDLERS: Handlers = {
    **request.HANDLERS,
    **people.HANDLERS,
    **talk.HANDLERS,
    **entry.HANDLERS,
    **placing.HANDLERS,
    **exposure.HANDLERS,
    **scouts.HANDLERS,
    **review.HANDLERS,
    **signs.HANDLERS,
    **ending.HANDLERS,
    **learner.HANDLERS,
}


def step(state: AppointmentState, command: Command) -> Step:
    """The state after a command, the events in order, and the effects.

    Raises
    ------
    NotAllowedNow
        If the command has no meaning now, its time lies before the last one's, or the
        appointment is over (a prediction can still be made then).
    NotValid, NotFound
        If a value is not possible on this unit or in this case.
    """
    if state.finished and not isinstance(command, Predict):
        raise NotAllowedNow("The appointment is over.")
    if command.at_s < state.at_s:
        raise NotAllowedNow(
            f"Time runs forwards: {command.at_s:g} s comes after {state.at_s:g} s already passed."
        )
    passed = pass_time(state, command.at_s)
    before = passed.state
    if before.exposure.running is not None and not isinstance(command, WHILE_RUNNING):
        raise NotAllowedNow("Radiation is on; let go of the switch or wait for its end.")
    found = HANDLERS[type(command)](before, command)
    after = found.state.told(command.at_s, *found.events)
    return Step(after, passed.events + found.events, passed.effects + found.effects)
