"""What the last image shows, in words: for each point that is checked, and only then.

Observations, not verdicts: whether it answers the question is for the learner to say.
"""

from __future__ import annotations

from trainer.app.appointment import act_words as words
from trainer.app.words import REGION_WORDS
from trainer.engine.appointment.slips.find import image_effect
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.appointment.verdict import judged_slips
from trainer.engine.panoramic.signs import SIGN_WORDS, signs_seen
from trainer.engine.wording import sentence_start, signed_amount
from trainer.models.appointment import Run
from trainer.models.appointment_words import ImagePoint, RunKind, Shield
from trainer.models.motion import MotionSign
from trainer.models.slips import ImageEffect
from trainer.models.structures import Structure

# Own words for own classes (`models.motion.MotionSign`).
SHARPNESS = {
    MotionSign.NONE: "Edges are sharp.",
    MotionSign.STRIPES: "Fine stripes run along the edges.",
    MotionSign.DOUBLE_EDGES: "Edges are double.",
}
PANORAMIC_SHARPNESS = {
    MotionSign.NONE: "The lower border of the jaw runs smoothly.",
    MotionSign.STRIPES: "The lower border of the jaw is slightly wavy.",
    MotionSign.DOUBLE_EDGES: "The lower border of the jaw has a step, and an unsharp band over it.",
}
# Noise against the ordered protocol that the eye notices: own working value.
NOISY = 1.3
# A tilt that the eye notices on slices, and the words for its two ways in pitch, yaw and roll:
# own working value.
OBLIQUE_DEG = 3.0
TILT_WAYS = (
    ("chin up", "chin down"),
    ("face to the patient's left", "face to the patient's right"),
    ("top of the head to the patient's left", "top of the head to the patient's right"),
)


def image_words(state: AppointmentState, run: Run, point: ImagePoint) -> str:
    """What the image of a run shows where that point is looked at."""
    effect = image_effect(judged_slips(state, run))
    return {
        ImagePoint.PERSON: _person,
        ImagePoint.SIDE: _side,
        ImagePoint.COVERAGE: _coverage,
        ImagePoint.MOTION: _motion,
        ImagePoint.METAL: _metal,
    }[point](state, run, effect)


def _person(state: AppointmentState, run: Run, effect: ImageEffect) -> str:
    filed = run.conditions.console_person
    names = {w.id: f"{w.given_name} {w.surname}" for w in state.context.visit.waiting}
    return f"The image is filed under {names.get(filed, 'nobody')}."


def _side(state: AppointmentState, run: Run, effect: ImageEffect) -> str:
    setup, programme = run.conditions.setup, run.conditions.programme
    x = setup.field_sideways_mm - setup.sideways_mm
    where = "on the midline" if abs(x) < 5.0 else f"on the patient's {'left' if x > 0 else 'right'}"
    kind = "A preview in few views: " if programme.run_kind is RunKind.PREVIEW else ""
    return (
        f"{kind}{REGION_WORDS[setup.region].lower()}, the field's middle {where}, "
        f"{setup.field} field, {programme.voxel_um} µm."
    ).capitalize()


def _coverage(state: AppointmentState, run: Run, effect: ImageEffect) -> str:
    placement = state.context.placing(run.conditions.setup)
    structures: dict[str, Structure] = {s.structure.id: s.structure for s in placement.structures}
    cut = [structures[c].name for c in effect.cut if c in structures]
    told = [f"At the edge of the image: {words.listed(cut)}."] if cut else []
    tilt = [
        signed_amount(value, "deg", *ways)
        for value, ways in zip(effect.tilt_deg, TILT_WAYS, strict=True)
        if abs(value) >= OBLIQUE_DEG
    ]
    if placement.layer is not None:
        signs = [SIGN_WORDS[sign] for sign in signs_seen(placement)]
        if signs:
            told.append(f"{sentence_start(words.listed(signs))}.")
    elif tilt:
        told.append(f"The slices lie oblique: {words.listed(tilt)}.")
    if effect.recorded_share < 1.0:
        told.append(f"Only {100 * effect.recorded_share:.0f} % of the views are there.")
    return " ".join(told) or "Around everything that was asked for there is a margin."


def _motion(state: AppointmentState, run: Run, effect: ImageEffect) -> str:
    of_kind = PANORAMIC_SHARPNESS if state.context.unit.is_panoramic else SHARPNESS
    told = [of_kind[run.motion.sign]]
    if effect.noise_factor >= NOISY:
        told.append("It is grainier than this protocol usually is.")
    if effect.plays_jaw_drift:
        told.append("Lower and upper teeth do not match in sharpness.")
    return " ".join(told)


def _metal(state: AppointmentState, run: Run, effect: ImageEffect) -> str:
    items = [state.context.visit.item(i) for i in effect.in_beam]
    is_flat = state.context.unit.is_panoramic
    marks = "Shadow, and its ghost on the other side, of" if is_flat else "Streaks from"
    told = [f"{marks}: {words.listed([i.name for i in items if i])}."] if effect.in_beam else []
    missing = [state.context.visit.item(i) for i in effect.missing_items]
    if effect.missing_items:
        told.append(f"Not in place: {words.listed([i.name for i in missing if i])}.")
    if effect.shield is not Shield.NONE:
        told.append("A broad dark band: something heavy hangs in the beam.")
    if effect.arches_touch:
        told.append("The crowns of both jaws touch.")
    if effect.soft_parts_free:
        told.append(
            "A dark band lies over the upper roots, or a shadow over the crowns in front."
            if is_flat
            else "Tongue or lips lie against the teeth."
        )
    if effect.pressed_by:
        pressed = words.listed([words.SUPPORTS[s] for s in effect.pressed_by])
        told.append(f"The soft tissue is dented by: {pressed}.")
    return " ".join(told) or "No shadows that do not belong there."
