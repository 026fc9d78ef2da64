"""Placing the head and the field: controls, light lines, looking, the tape, spacer and bands."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.entry import nearest_offered
from trainer.engine.appointment.request import fits_band
from trainer.engine.appointment.state import (
    AppointmentState,
    Handlers,
    Step,
    at_the_unit,
    inside_the_room,
    no_longer_ready,
    somebody,
    spoken,
)
from trainer.engine.chance import Chance
from trainer.errors import NotAllowedNow
from trainer.models.appointment import SpacerIn
from trainer.models.appointment_commands import (
    Adjust,
    Look,
    MeasureWithTape,
    PlaceSpacer,
    SetBand,
    SwitchLights,
    TakeSpacerOut,
)
from trainer.models.appointment_events import (
    BandSet,
    Event,
    Gagged,
    HeadNudged,
    LightsSwitched,
    Looked,
    NeckResisted,
    SetupMoved,
    SpacerPlaced,
    SpacerTakenOut,
    TapeRead,
)
from trainer.models.appointment_words import ArchPlace, Firmness, SpacerKind, Trait
from trainer.models.controls import CONTROLS, ControlGroup, control
from trainer.models.motion import SpacerGrip
from trainer.models.setup import Setup, require_valid

# Speed of column, support and arm, and time of a quarter turn: own working values.
COLUMN_MM_PER_S, ARM_MM_PER_S, TURN_S = 60.0, 20.0, 4.0
# A band turns the head by 1 to 3 degrees (reference table of the operator's steps: own value).
NUDGE_DEG = (1.0, 3.0)
NUDGES = 3  # what chance is drawn for, beside those in `engine.motion`
ATTITUDE = ("pitch_deg", "yaw_deg", "roll_deg")
# A spacer this thick makes a person with a gag reflex gag: own working value.
GAG_GAP_MM = 8.0


def adjust(state: AppointmentState, command: Adjust) -> Step:
    """Controls move as far as unit and neck allow.

    Raises
    ------
    NotValid
        If the unit cannot do the setup; nothing has moved then.
    NotAllowedNow
        If nobody is at the unit whose head could be moved, or a jaw is to open without a spacer.
    """
    groups = {control(key).group for key in command.values}
    by_hand = groups - {ControlGroup.FIELD} or "arm_turned" in command.values
    if by_hand:
        inside_the_room(state)
    if groups & {ControlGroup.HEAD, ControlGroup.JAW}:
        at_the_unit(state)
    values = dict(command.values)
    if float(values.get("jaw_gap_mm", 0.0)) > 0.0 and somebody(state).spacer is None:
        raise NotAllowedNow("The jaw stays open only on a spacer; place one first.")
    require_valid(state.setup.with_values(values), state.context.unit)
    resisted = []
    if state.person is not None and state.person.id == state.context.visit.patient:
        for key in ATTITUDE:
            if key in values:
                asked = float(values[key])
                low, high = getattr(state.context.visit.neck, key)
                reached = min(max(asked, low), high)
                if reached != asked:
                    values[key] = reached
                    resisted.append(NeckResisted(key, round(asked, 1), round(reached, 1)))
    return _moved(state, command.at_s, state.setup.with_values(values), tuple(resisted))


def _moved(
    state: AppointmentState, at_s: float, setup: Setup, events: tuple[Event, ...] = ()
) -> Step:
    """The step to another setup: what moves takes its time and ends the ready state."""
    a, b = state.setup.as_dict(), setup.as_dict()
    keys = tuple(c.key for c in CONTROLS if a[c.key] != b[c.key])
    if not keys:
        return Step(state, events)
    new = replace(no_longer_ready(state), setup=setup)
    until = max(at_s, state.room.moving_until_s) + _moving_s(state.setup, setup)
    if until > at_s:
        new = replace(new, room=replace(new.room, moving_until_s=until))
    new, entered = nearest_offered(new)
    return Step(new, (*events, SetupMoved(setup, keys), *entered))


def _moving_s(before: Setup, after: Setup) -> float:
    column = abs(after.unit_height_mm - before.unit_height_mm) / COLUMN_MM_PER_S
    support = abs(after.chin_height_mm - before.chin_height_mm) / COLUMN_MM_PER_S
    arm = max(
        abs(after.field_sideways_mm - before.field_sideways_mm),
        abs(after.field_forward_mm - before.field_forward_mm),
    )
    turn = TURN_S if after.arm_turned != before.arm_turned else 0.0
    return max(column, support, arm / ARM_MM_PER_S, turn)


def switch_lights(state: AppointmentState, command: SwitchLights) -> Step:
    """The light lines are on or off."""
    room = replace(state.room, lights_on=command.on)
    return Step(replace(state, room=room), (LightsSwitched(command.on),))


def look(state: AppointmentState, command: Look) -> Step:
    """The operator looks at the face from one direction."""
    inside_the_room(state)
    at_the_unit(state)
    return Step(state, (Looked(command.view, state.room.lights_on),))


def measure_with_tape(state: AppointmentState, command: MeasureWithTape) -> Step:
    """The tape reads chin and lower edge of the field above the zero plane, to the millimetre.

    For an upper-jaw field the second one is the free gap that the chin has to leave.
    """
    inside_the_room(state)
    at_the_unit(state)
    floor = state.context.unit.regions[state.setup.region].start_mm
    chin = state.setup.chin_height_mm
    return Step(state, (TapeRead(float(round(chin)), float(round(floor))),))


def spacer_grip(spacer: SpacerIn | None, traits: frozenset[Trait]) -> SpacerGrip:
    """How a spacer sits: steady on both sides behind the front teeth.

    A block also holds on front teeth; toothless ridges hold only rolls. From memory: "seat molars
    or ridges".
    """
    if spacer is None:
        return SpacerGrip.NONE
    toothless = Trait.TOOTHLESS in traits
    if spacer.kind is SpacerKind.BLOCK and toothless:
        return SpacerGrip.UNSTEADY
    on_front_teeth = spacer.place is ArchPlace.INCISORS
    if on_front_teeth and spacer.kind is SpacerKind.BLOCK:
        return SpacerGrip.STEADY
    steady = spacer.both_sides and not on_front_teeth
    return SpacerGrip.STEADY if steady else SpacerGrip.UNSTEADY


def place_spacer(state: AppointmentState, command: PlaceSpacer) -> Step:
    """A spacer goes in and opens the jaw.

    A person who gags cannot keep a thick one, or one in front.
    """
    inside_the_room(state)
    person = at_the_unit(state)
    if person.spacer is not None:
        raise NotAllowedNow("A spacer is in already; take it out first.")
    setup = state.setup.with_values({"jaw_gap_mm": command.gap_mm})
    require_valid(setup, state.context.unit)
    placed = SpacerPlaced(command.kind, command.place, command.both_sides, round(command.gap_mm, 1))
    gags = command.place is ArchPlace.INCISORS or command.gap_mm > GAG_GAP_MM
    if Trait.GAG_REFLEX in state.traits and gags:
        return Step(no_longer_ready(state), (placed, Gagged()))
    spacer = SpacerIn(command.kind, command.place, command.both_sides)
    new = replace(state, person=replace(person, spacer=spacer))
    return _moved(new, command.at_s, setup, (placed,))


def take_spacer_out(state: AppointmentState, command: TakeSpacerOut) -> Step:
    """The spacer comes out and the teeth close."""
    inside_the_room(state)
    person = at_the_unit(state)
    if person.spacer is None:
        raise NotAllowedNow("There is no spacer to take out.")
    new = replace(state, person=replace(person, spacer=None))
    setup = state.setup.with_values({"jaw_gap_mm": 0.0})
    return _moved(new, command.at_s, setup, (SpacerTakenOut(),))


def set_band(state: AppointmentState, command: SetBand) -> Step:
    """A band is closed or opened; closing it turns the head by 1 to 3 degrees."""
    inside_the_room(state)
    at_the_unit(state)
    fits_band(state, command.support)
    if state.room.firmness(command.support) is command.firmness:
        raise NotAllowedNow(f"The {spoken(command.support)} is {command.firmness} already.")
    new = no_longer_ready(state)
    others = tuple(b for b in new.room.bands if b[0] is not command.support)
    room = replace(new.room, bands=(*others, (command.support, command.firmness)))
    new = replace(new, room=room)
    events: tuple[Event, ...] = (BandSet(command.support, command.firmness),)
    if command.firmness is Firmness.LOOSE:
        return Step(new, events)
    by_deg = _nudge(state)
    setup = state.setup.with_values(
        {key: getattr(state.setup, key) + by for key, by in zip(ATTITUDE, by_deg, strict=True)}
    )
    nudged = HeadNudged(command.support, *by_deg)
    return Step(replace(new, setup=setup), (*events, nudged))


def _nudge(state: AppointmentState) -> tuple[float, float, float]:
    """By how much the next band turns pitch, yaw and roll [deg]: one of them, within travel."""
    chance = Chance(state.seed, NUDGES, len(state.times(HeadNudged)))
    size, axis = chance.uniform(*NUDGE_DEG), chance.pick((1.0, 1.0, 1.0))
    now, travel = getattr(state.setup, ATTITUDE[axis]), state.context.unit.travel[ATTITUDE[axis]]
    by = round(size * chance.sign(), 1)
    if not travel.lowest <= now + by <= travel.highest:
        by = -by  # at the end of its travel it can only go back
    turns = [0.0, 0.0, 0.0]
    turns[axis] = by
    return turns[0], turns[1], turns[2]


HANDLERS: Handlers = {
    Adjust: adjust,
    SwitchLights: switch_lights,
    Look: look,
    MeasureWithTape: measure_with_tape,
    PlaceSpacer: place_spacer,
    TakeSpacerOut: take_spacer_out,
    SetBand: set_band,
}
