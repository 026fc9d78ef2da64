"""Steps 11 to 21: programme, placing, holding, scouts, last words."""

from __future__ import annotations

import math

from trainer.engine.appointment.checklist_marks import NOT_NEEDED, Mark, by, unless
from trainer.engine.appointment.conditions import SWALLOW_HOLDS_S, easy_chin_mm
from trainer.engine.appointment.history import came_before, first_radiation_s
from trainer.engine.appointment.outcome import slips_of_appointment
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.engine.appointment.tolerance import tolerance_of
from trainer.engine.appointment.verdict import judged_runs
from trainer.engine.strain import Strain, strain_of
from trainer.engine.wording import amount
from trainer.models.appointment_events import (
    BandSet,
    Bumped,
    CutNamed,
    Instructed,
    Looked,
    PlaceTaken,
    ProgrammeEntered,
    RunStarted,
    ScoutTaken,
    SetupMoved,
    SpacerPlaced,
    TapeRead,
    TargetMarked,
    TrialRunDone,
)
from trainer.models.appointment_words import (
    Done,
    Firmness,
    Instruction,
    ScoutKind,
    Stance,
    Trait,
    View,
)
from trainer.models.device import Region
from trainer.models.slips import SlipCode

# People for whom the moving part may come near something.
NEAR = {
    Trait.WHEELCHAIR,
    Trait.SHORT_NECK,
    Trait.LARGE_SHOULDERS,
    Trait.LONG_HAIR,
    Trait.THICK_CLOTHES,
}


# A mark this far from the target's middle points at something else: own working value, a
# quarter of the smallest field's width.
MARK_OFF_MM = 10.0


def _slips(state: AppointmentState, *codes: SlipCode) -> list[str]:
    return [s.found for _, s in slips_of_appointment(state) if s.code in codes]


def _first_run_s(state: AppointmentState) -> float:
    found = state.first(RunStarted)
    return math.inf if found is None else found


def programme(state: AppointmentState) -> Mark:
    """11: region, field and programme as ordered at every run that counts, in the right file."""
    entered = state.first(ProgrammeEntered)
    if not state.runs:
        return by(math.inf, {"entering the programme": entered})
    wrong = _slips(
        state,
        SlipCode.WRONG_PROTOCOL,
        SlipCode.FIELD_TOO_LARGE,
        SlipCode.FIELD_TOO_SMALL,
        SlipCode.WRONG_NAME,
    )
    ordered = state.true_prescription
    strange = [r for r in judged_runs(state) if r.conditions.setup.region is not ordered.region]
    if strange:
        wrong.insert(0, f"The region was {spoken(strange[0].conditions.setup.region)}.")
    if not wrong:
        return Mark(Done.DONE)
    return Mark(Done.PARTLY if entered is not None else Done.SKIPPED, wrong[0])


def stance(state: AppointmentState) -> Mark:
    """12: stable, shoulders low, back straight, brakes on."""
    told = {
        spoken(what): state.first(Instructed, what=what, heard=True)
        for what in (
            Instruction.BACK_STRAIGHT,
            Instruction.SHOULDERS_LOW,
            Instruction.HANDS_RESTING,
        )
    }
    mark = by(first_radiation_s(state), {"taking place": state.first(PlaceTaken), **told})
    loose = state.times(PlaceTaken, stance=Stance.OWN_WHEELCHAIR, brakes_on=False)
    bumped = [e.event.words for e in state.log if isinstance(e.event, Bumped)]
    return unless(mark, "The brakes were off." if loose else "", *bumped[:1])


def height(state: AppointmentState) -> Mark:
    """13: the unit comes to the person."""
    exposed = [s.conditions for s in state.scouts] + [r.conditions for r in state.runs]
    if not exposed:
        return Mark(Done.SKIPPED, "Nobody was exposed.")
    taken = [e.event for e in state.log if isinstance(e.event, PlaceTaken)]
    easy = easy_chin_mm(state.context, taken[-1].stance)
    for now in exposed:
        off = state.context.placing(now.setup).chin_above_floor_mm - easy
        strain = strain_of(off)
        if strain is not Strain.NONE:
            words = f"The unit stood {amount(off, 'mm')} too {'high' if off > 0.0 else 'low'}"
            return Mark(Done.PARTLY, f"{words}: {strain}.")
    return Mark(Done.DONE)


def bite(state: AppointmentState) -> Mark:
    """14: arches apart on a steady spacer, or together, as ordered."""
    wrong = _slips(state, SlipCode.BITE_NOT_AS_ORDERED, SlipCode.SPACER_UNSTEADY)
    if state.true_prescription.arches_apart is None and not wrong:
        return NOT_NEEDED
    if not state.runs:
        return by(math.inf, {"exposing": None})
    if not wrong:
        return Mark(Done.DONE)
    return Mark(Done.PARTLY if state.times(SpacerPlaced) else Done.SKIPPED, wrong[0])


def looked(state: AppointmentState, view: View) -> Mark:
    """Whether the head was looked at from there with the lines on, however it then stood."""
    seen = state.first(Looked, view=view, lights_on=True)
    return by(first_radiation_s(state), {f"looking from the {view} with the lines on": seen})


def midsagittal(state: AppointmentState) -> Mark:
    """15: checked from the front, straight and upright."""
    slips = _slips(state, SlipCode.HEAD_TURNED, SlipCode.HEAD_LEANING)
    return unless(looked(state, View.FRONT), *slips)


def reference_plane(state: AppointmentState) -> Mark:
    """16: checked from the side, level for the task."""
    slips = _slips(state, SlipCode.CHIN_UP, SlipCode.CHIN_DOWN)
    return unless(looked(state, View.SIDE), *slips)


def centring(state: AppointmentState) -> Mark:
    """17: by the lines, from the front first and then from the side with the arm turned.

    For an upper jaw the free gap is measured with the tape. The line for the groove of a panoramic
    unit is seen without turning the arm.
    """
    if not state.runs:
        return by(math.inf, {"exposing": None})
    codes = (
        SlipCode.TOO_HIGH_OR_LOW,
        SlipCode.OFF_TO_A_SIDE,
        SlipCode.TOO_FAR_FORWARD_OR_BACK,
        SlipCode.WRONG_SIDE_OR_TOOTH,
    )
    moves = [(e.at_s, e.event) for e in state.log if isinstance(e.event, SetupMoved)]
    turned = [t for t, m in moves if "arm_turned" in m.keys and m.setup.arm_turned]
    sideways = [t for t, m in moves if "field_sideways_mm" in m.keys]
    forward = [m for _, m in moves if "field_forward_mm" in m.keys]
    upper = state.true_prescription.region is Region.UPPER_JAW
    return unless(
        Mark(Done.DONE),
        *_slips(state, *codes),
        "The free gap was not measured." if upper and not state.times(TapeRead) else "",
        ""
        if state.context.unit.is_panoramic or (turned and min(turned) < first_radiation_s(state))
        else "The front line was not looked at with the arm turned.",
        "The field was moved forward or back with the front line unseen."
        if any(not m.setup.arm_turned for m in forward)
        else "",
        "The field was set from the side before it was set from the front."
        if turned and sideways and min(sideways) > min(turned)
        else "",
    )


def holding(state: AppointmentState) -> Mark:
    """18: snug bands, and a look after closing them."""
    snug = state.first(BandSet, firmness=Firmness.SNUG)
    mark = by(first_radiation_s(state), {"closing a band": snug})
    return unless(mark, *_slips(state, SlipCode.BANDS_AFTER_ALIGNING, SlipCode.SUPPORT_PRESSES))


def free_path(state: AppointmentState) -> Mark:
    """19: a turn without radiation where something may be near."""
    tried = state.first(TrialRunDone)
    if tried is None and not (state.context.visit.traits & NEAR):
        return NOT_NEEDED
    mark = by(first_radiation_s(state), {"the trial run": tried})
    return unless(mark, *_slips(state, SlipCode.TOUCHED))


def scouts(state: AppointmentState) -> Mark:
    """20: both taken, looked at, the target marked where it is, and no more than needed.

    A panoramic picture has none.
    """
    if state.context.unit.is_panoramic:
        return NOT_NEEDED
    wanted = {f"a {kind} scout": state.first(ScoutTaken, kind=kind) for kind in ScoutKind}
    wanted["marking the target or naming what is cut"] = state.first(TargetMarked, CutNamed)
    return unless(by(_first_run_s(state), wanted), *_marks_off(state), _too_many_scouts(state))


def _marks_off(state: AppointmentState) -> list[str]:
    """What is wrong with the last mark on each kind of scout."""
    last = {e.event.kind: e.event.off_mm for e in state.log if isinstance(e.event, TargetMarked)}
    return [
        f"The mark on the {kind} scout lies {amount(off, 'mm')} from the target's middle."
        for kind, off in last.items()
        if off > MARK_OFF_MM
    ]


def _too_many_scouts(state: AppointmentState) -> str:
    most = 2 * tolerance_of(state).scout_pairs * state.true_prescription.runs
    taken = len(state.scouts)
    return f"{taken} scouts were taken; {most} should do." if taken > most else ""


def last_words(state: AppointmentState) -> Mark:
    """21: swallow once, stay still, shortly before every run."""
    starts = state.times(RunStarted)
    if not starts:
        return by(math.inf, {"exposing": None})
    missing = []
    for what in (Instruction.SWALLOW_ONCE, Instruction.STAY_STILL):
        said = state.times(Instructed, what=what, heard=True)
        for start in starts:
            from_s = max(start - SWALLOW_HOLDS_S, came_before(state, start))
            if not any(from_s <= t <= start for t in said):
                missing.append(spoken(what))
                break
    if not missing:
        return Mark(Done.DONE)
    words = f"Not said shortly before the run: {', '.join(missing)}."
    return Mark(Done.SKIPPED if len(missing) == 2 else Done.PARTLY, words)


MARKERS = {
    11: programme,
    12: stance,
    13: height,
    14: bite,
    15: midsagittal,
    16: reference_plane,
    17: centring,
    18: holding,
    19: free_path,
    20: scouts,
    21: last_words,
}
