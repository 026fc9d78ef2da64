"""Scouts: taking one, pointing at the target on it, saying what is cut off."""

from __future__ import annotations

import math
from dataclasses import replace

from trainer.engine.appointment.conditions import conditions
from trainer.engine.appointment.exposure import interlocks
from trainer.engine.appointment.state import AppointmentState, Handlers, Step, at_the_unit
from trainer.engine.placement import TOUCHING_MM, Placement, Way
from trainer.errors import NotAllowedNow
from trainer.models.appointment import Scout
from trainer.models.appointment_commands import MarkTarget, NameCut, TakeScout
from trainer.models.appointment_events import Blocked, CutNamed, ScoutTaken, ShowScout, TargetMarked
from trainer.models.appointment_words import CutSide, ScoutKind

SIDES = {
    ScoutKind.FRONTAL: {CutSide.LEFT: Way.LEFT, CutSide.RIGHT: Way.RIGHT},
    ScoutKind.LATERAL: {CutSide.FRONT: Way.FORWARD, CutSide.BACK: Way.BACK},
}
UP_AND_DOWN = {CutSide.TOP: Way.UP, CutSide.BOTTOM: Way.DOWN}


def take_scout(state: AppointmentState, command: TakeScout) -> Step:
    """A preview of what stands in the field now; it costs its dose."""
    person = at_the_unit(state)
    if state.context.unit.is_panoramic:
        raise NotAllowedNow("This unit makes panoramic pictures and no scouts.")
    blocked = interlocks(state, command.at_s, switch=True)
    if blocked:
        return Step(state, (Blocked(blocked),))
    number = len(state.scouts) + 1
    scout = Scout(number, command.kind, command.at_s, conditions(state, person))
    exposure = replace(state.exposure, scouts=(*state.scouts, scout))
    new = replace(state, exposure=exposure)
    return Step(new, (ScoutTaken(number, command.kind),), (ShowScout(number),))


def mark_target(state: AppointmentState, command: MarkTarget) -> Step:
    """Tells how far the point is from the target's middle."""
    scout = _last(state, command.kind)
    target = state.context.placing(scout.conditions.setup).target
    if target is None:
        raise NotAllowedNow("The case names no target to point at.")
    x, y, z = (float(v) for v in target.centre_mm)
    across = x if command.kind is ScoutKind.FRONTAL else -y
    off = round(math.hypot(command.across_mm - across, command.up_mm - z), 1)
    marked = replace(scout, marked_off_mm=off)
    scouts = tuple(marked if s is scout else s for s in state.scouts)
    new = replace(state, exposure=replace(state.exposure, scouts=scouts))
    return Step(new, (TargetMarked(command.kind, off),))


def name_cut(state: AppointmentState, command: NameCut) -> Step:
    """Tells what was named beside what is so."""
    scout = _last(state, command.kind)
    true = cut_sides(state.context.placing(scout.conditions.setup), command.kind)
    named = tuple(s for s in CutSide if s in command.sides)
    return Step(state, (CutNamed(command.kind, named, true),))


def cut_sides(placement: Placement, kind: ScoutKind) -> tuple[CutSide, ...]:
    """Where a required structure sticks out of the field, as far as that view shows it."""
    ways = {**SIDES[kind], **UP_AND_DOWN}
    return tuple(
        side
        for side in CutSide
        if side in ways and any(s.margins_mm[ways[side]] < -TOUCHING_MM for s in placement.required)
    )


def _last(state: AppointmentState, kind: ScoutKind) -> Scout:
    found = [s for s in state.scouts if s.kind is kind]
    if not found:
        raise NotAllowedNow(f"There is no {kind} scout yet.")
    return found[-1]


HANDLERS: Handlers = {TakeScout: take_scout, MarkTarget: mark_target, NameCut: name_cut}
