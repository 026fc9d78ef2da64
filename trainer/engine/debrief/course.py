"""The course of an appointment: how everything stood at each event."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.engine.appointment.state import AppointmentState, open_appointment
from trainer.models import appointment_events as ev
from trainer.models.setup import Setup

ATTITUDE = ("pitch_deg", "yaw_deg", "roll_deg")


@dataclass(frozen=True, slots=True)
class Moment:
    """An event, and how things stood just after it.

    ``at_unit``: somebody has their place at the unit, so that there is a head to be seen.
    """

    at_s: float
    event: ev.Event
    setup: Setup
    at_unit: bool
    lights_on: bool


def course_of(state: AppointmentState) -> tuple[Moment, ...]:
    """Every event of the appointment with the setup of that moment, in order of time."""
    begin = open_appointment(state.context, state.seed)
    setup, at_unit, lights = begin.setup, False, begin.room.lights_on
    found = []
    for entry in state.log:
        match entry.event:
            case ev.SetupMoved(moved, _):
                setup = moved
            case ev.HeadNudged() as nudge:
                values = {key: getattr(setup, key) + getattr(nudge, key) for key in ATTITUDE}
                setup = setup.with_values(values)
            case ev.PlaceTaken():
                at_unit = True
            case ev.PersonFreed():
                at_unit, setup = False, setup.with_values({"jaw_gap_mm": 0.0})
            case ev.LightsSwitched(on):
                lights = on
        found.append(Moment(entry.at_s, entry.event, setup, at_unit, lights))
    return tuple(found)
