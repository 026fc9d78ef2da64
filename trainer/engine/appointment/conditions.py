"""What an exposure depends on, read off from the state at that moment."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.placing import spacer_grip
from trainer.engine.appointment.state import AppointmentState, Context
from trainer.engine.chance import Chance
from trainer.engine.motion import restless
from trainer.engine.strain import Strain, strain_of
from trainer.models.appointment import Conditions, PersonState
from trainer.models.appointment_events import HeadNudged, Looked, PersonCame, TrialRunDone
from trainer.models.appointment_words import (
    STOPPING_TOUCHES,
    USEFUL_SENTENCES,
    Firmness,
    Instruction,
    RunKind,
    Sentence,
    Stance,
    Support,
    Touch,
    Trait,
    View,
)
from trainer.models.clearance import BodyPlace
from trainer.models.motion import HeadHold, MotionCause

# A seated chin stands this much lower than a standing one: own working value.
SEATED_LOWER_MM = 400.0
# A swallow is asked for in time when it was within this before the run: own working value.
SWALLOW_HOLDS_S = 120.0
# An explanation serves when it holds this many of the five useful sentences: own working value.
SENTENCES_ENOUGH = 4
TOUCHES = 4  # what chance is drawn for
# Shoulders that are let down give way by this much: own working value.
SHOULDERS_GIVE_MM = 25.0
TRUNK = (
    BodyPlace.LEFT_SHOULDER,
    BodyPlace.RIGHT_SHOULDER,
    BodyPlace.UPPER_BACK,
    BodyPlace.CHEST,
)


def touches(state: AppointmentState) -> tuple[Touch, ...]:
    """What the moving part would touch now."""
    person, traits = state.person, state.traits
    if person is None:
        return ()
    shoulders, head = _body_touched(state, person)
    found = {
        Touch.HEAD: head,
        Touch.SHOULDERS: shoulders,
        Touch.CHAIR: person.stance is Stance.OWN_WHEELCHAIR and not person.brakes_on,
        Touch.HAIR: Trait.LONG_HAIR in traits and not person.heard(Instruction.HAIR_BACK),
        Touch.CLOTHES: Trait.THICK_CLOTHES in traits
        and not person.heard(Instruction.CLOTHES_CLEAR),
    }
    return tuple(t for t in Touch if found[t])


def _body_touched(state: AppointmentState, person: PersonState) -> tuple[bool, bool]:
    """Whether shoulders or trunk, and whether the head, stand in the moving part's way.

    By geometry where the placement has looked (`Placement.clearance`); else by the person's build.
    """
    low = person.heard(Instruction.SHOULDERS_LOW)
    clearance = state.context.placing(state.setup).clearance
    if clearance is None:
        broad = bool(state.traits & {Trait.LARGE_SHOULDERS, Trait.SHORT_NECK})
        return broad and not low, False
    if clearance.place not in TRUNK:
        return False, clearance.touches
    return clearance.distance_mm + (SHOULDERS_GIVE_MM if low else 0.0) < 0.0, False


def nudged_since_look(state: AppointmentState) -> tuple[float, float, float]:
    """Pitch, yaw and roll [deg] that bands have added since the operator last looked there.

    The side shows the pitch, the front yaw and roll; in the dark neither shows anything.
    """
    pitch = yaw = roll = 0.0
    for entry in state.log:
        match entry.event:
            case PersonCame():
                pitch = yaw = roll = 0.0
            case Looked(View.SIDE, True):
                pitch = 0.0
            case Looked(View.FRONT, True):
                yaw = roll = 0.0
            case HeadNudged(_, by_pitch, by_yaw, by_roll):
                pitch, yaw, roll = pitch + by_pitch, yaw + by_yaw, roll + by_roll
    return round(pitch, 1), round(yaw, 1), round(roll, 1)


def conditions(state: AppointmentState, person: PersonState) -> Conditions:
    """All that the image of an exposure taken now depends on."""
    companion = state.context.visit.companion
    return Conditions(
        setup=state.setup,
        programme=state.programme,
        person=person.id,
        console_person=state.console_person,
        worn=person.worn,
        shield=person.shield,
        spacer=person.spacer,
        supports=state.room.supports,
        bands=state.room.bands,
        soft_parts_told=person.heard(Instruction.TONGUE_UP)
        and person.heard(Instruction.LIPS_CLOSED),
        nudged_deg=nudged_since_look(state),
        touches=touches(state),
        others_inside=(companion,) if state.room.companion_inside else (),
    )


def head_hold(state: AppointmentState) -> HeadHold:
    """How well chin rest and bands hold the head."""
    chin_rests = {Support.CHIN_REST, Support.TOOTHLESS_CHIN_REST}
    if not chin_rests & set(state.room.supports):
        return HeadHold.FREE
    closed = {s for s, firmness in state.room.bands if firmness is not Firmness.LOOSE}
    if Support.TEMPLE_SUPPORTS in closed:
        return HeadHold.ALL_ROUND
    if Support.HEAD_STRAP in closed:
        return HeadHold.REST_AND_STRAP
    return HeadHold.REST if Support.FOREHEAD_REST in closed else HeadHold.CHIN_ONLY


def easy_chin_mm(context: Context, stance: Stance | None) -> float:
    """Height of the chin above the floor without strain [mm]."""
    standing = context.case.subject.chin_standing_mm
    return standing if stance in (None, Stance.STANDING) else standing - SEATED_LOWER_MM


def strain_mm(state: AppointmentState) -> float:
    """How much higher than easy the chin stands [mm]; negative: the knees and back are bent."""
    stance = state.person.stance if state.person else None
    chin = state.context.placing(state.setup).chin_above_floor_mm
    return chin - easy_chin_mm(state.context, stance)


def looks_restless(state: AppointmentState, at_s: float) -> bool:
    """Whether the person in the room fidgets just now: what an operator who waits can see."""
    return Trait.FIDGETS in state.traits and restless(state.seed, at_s)


def motion_cause(state: AppointmentState, person: PersonState, at_s: float) -> MotionCause:
    """Everything that decides how the person moves in a run that starts now."""
    visit = state.context.visit
    swallowed = [t for what, t in person.told if what is Instruction.SWALLOW_ONCE]
    useful = person.explained & set(USEFUL_SENTENCES)
    came = state.last(PersonCame) or 0.0
    rehearsed = state.last(TrialRunDone)
    pulled = [t for t in touches(state) if t not in STOPPING_TOUCHES]
    full_before = any(r.conditions.programme.run_kind is RunKind.FULL for r in state.runs)
    scripted = visit.scripted_motion if not full_before else None
    if state.programme.run_kind is not RunKind.FULL or person.id != visit.patient:
        scripted = None
    cause = MotionCause(
        age_years=state.context.age_years,
        traits=state.traits,
        seated=person.stance is not Stance.STANDING,
        explained=len(useful) >= SENTENCES_ENOUGH and Sentence.KEEP_STILL_EYES in useful,
        swallowed_first=any(at_s - t <= SWALLOW_HOLDS_S for t in swallowed),
        hold=head_hold(state),
        spacer=spacer_grip(person.spacer, state.traits),
        strained=strain_of(strain_mm(state)) is not Strain.NONE,
        rehearsed=rehearsed is not None and rehearsed >= came,
        restless=looks_restless(state, at_s),
        scripted=scripted,
    )
    if not pulled:
        return cause
    share = Chance(state.seed, TOUCHES, len(state.runs)).uniform(0.2, 0.8)
    return replace(cause, jerk_at_share=share)
