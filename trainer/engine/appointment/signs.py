"""Panoramic pictures: saying by which sign the picture would show a fault of placing."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.engine.appointment.state import AppointmentState, Handlers, Step
from trainer.engine.panoramic.signs import FAULT_WORDS, faults_at_start
from trainer.errors import NotAllowedNow
from trainer.models.appointment_commands import NameSign
from trainer.models.appointment_events import SignNamed
from trainer.models.panorama import PanoramaFault, PanoramaSign


def asked_faults(state: AppointmentState) -> tuple[PanoramaFault, ...]:
    """The faults whose signs are asked for: those of the start; none for a volume."""
    context = state.context
    return faults_at_start(context.case, context.placing(context.case.start))


def named_signs(state: AppointmentState) -> Mapping[PanoramaFault, PanoramaSign]:
    """What was named for each fault."""
    events = [entry.event for entry in state.log]
    return {e.fault: e.sign for e in events if isinstance(e, SignNamed)}


def name_sign(state: AppointmentState, command: NameSign) -> Step:
    """The sign of one fault is named, once; whether it is right is told after the end."""
    if command.fault not in asked_faults(state):
        raise NotAllowedNow("Nothing is asked about this fault here.")
    if command.fault in named_signs(state):
        raise NotAllowedNow(f"The sign for {FAULT_WORDS[command.fault]} is named already.")
    return Step(state, (SignNamed(command.fault, command.sign),))


HANDLERS: Handlers = {NameSign: name_sign}
