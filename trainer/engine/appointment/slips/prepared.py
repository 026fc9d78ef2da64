"""Slips of preparation: protocol, metal, teeth, supports, shield, name (E11, E14-E16, E18-E23)."""

from __future__ import annotations

import math
from collections.abc import Iterator

from trainer.engine.appointment.slips.sight import SHIELD_TOP_MM, SPREAD_MM, Sight, slip
from trainer.engine.appointment.state import spoken
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import (
    Firmness,
    RetakeCause,
    RunKind,
    Shield,
    Support,
    WornPlace,
)
from trainer.models.device import Region
from trainer.models.slips import ImageEffect, Slip, SlipCode

# Dose of a low-dose run and of a preview against a full one: own working values; the unit's own
# data, where it has them, decide over the dose that is shown.
LOW_DOSE, PREVIEW_DOSE = 0.5, 0.25
# Noise above which the canal is hidden: own working value.
NOISE_HIDES = 1.5
# Least separation of the arches that is one: training reference, case of a lower-jaw implant.
APART_MM, CLOSED_MM = 3.0, 0.5
TEETH = (WornPlace.UPPER_TEETH, WornPlace.LOWER_TEETH)
# Supports of other examinations that push at the face.
PUSHING = (Support.NOSE_REST, Support.EAR_RODS)


def _dose(programme: Programme) -> float:
    low = LOW_DOSE if programme.low_dose else 1.0
    return low * (PREVIEW_DOSE if programme.run_kind is RunKind.PREVIEW else 1.0)


def noise_factor(used: Programme, ordered: Programme) -> float:
    """Noise against the ordered programme: as dose**-1/2 and voxel volume**-1/2.

    The ideal of quantum noise; from memory, textbooks of CT.
    """
    volume = (ordered.voxel_um / used.voxel_um) ** 3
    return math.sqrt(volume * _dose(ordered) / _dose(used))


def protocol(sight: Sight) -> Iterator[Slip]:
    """The programme is not the ordered one (E11)."""
    used, ordered = sight.run.conditions.programme, sight.ordered.programme
    rows = [
        (name, getattr(used, name), getattr(ordered, name))
        for name in ("protocol", "voxel_um", "low_dose", "metal_level", "run_kind")
    ]
    wrong = [f"{spoken(n)} {u}, ordered {o}" for n, u, o in rows if u != o]
    if not wrong:
        return
    noise = noise_factor(used, ordered)
    coarse = used.voxel_um >= 1.5 * ordered.voxel_um
    preview = used.run_kind is RunKind.PREVIEW and ordered.run_kind is RunKind.FULL
    spoils = RetakeCause.PROTOCOL if noise > NOISE_HIDES or coarse or preview else None
    effect = ImageEffect(
        noise_factor=round(noise, 3), dose_factor=round(_dose(used) / _dose(ordered), 3)
    )
    words = f"Entered: {'; '.join(wrong)}."
    yield Slip(SlipCode.WRONG_PROTOCOL, words, effect, spoils)


def metal(sight: Sight) -> Iterator[Slip]:
    """Metal that could have been taken off is still worn (E14)."""
    left = [i for i in sight.worn() if i.metal and not i.prescribed_in and i.place not in TEETH]
    if left:
        in_beam = tuple(i.id for i in left if sight.in_beam(i))
        spoils = RetakeCause.METAL if any(sight.beside_target(i) for i in left) else None
        names = ", ".join(i.name for i in left)
        words = f"Still worn: {names}{'' if in_beam else ' (not in the beam)'}."
        yield Slip(SlipCode.METAL_LEFT, words, ImageEffect(in_beam=in_beam), spoils)


def dentures(sight: Sight) -> Iterator[Slip]:
    """A denture is in that should be out, or a guide is out that should be in (E15)."""
    worn = sight.run.conditions.worn
    in_mouth = [i for i in sight.context.visit.items if i.place in TEETH]
    left = [i for i in in_mouth if i.id in worn and not i.prescribed_in]
    missing = [i for i in in_mouth if i.id not in worn and i.prescribed_in]
    if sight.run.conditions.person != sight.context.visit.patient:
        missing = []
    if not left and not missing:
        return
    parts = [f"{i.name} is still in" for i in left] + [f"{i.name} is not in" for i in missing]
    effect = ImageEffect(
        in_beam=tuple(i.id for i in left if sight.in_beam(i)),
        missing_items=tuple(i.id for i in missing),
    )
    spoilt = bool(missing) or any(i.metal and sight.beside_target(i) for i in left)
    words = f"{'; '.join(parts)}, against the order."
    spoils = RetakeCause.METAL if spoilt else None
    yield Slip(SlipCode.DENTURE_OR_GUIDE, words[0].upper() + words[1:], effect, spoils)


def bite(sight: Sight) -> Iterator[Slip]:
    """The arches are not apart, or not together, as ordered (E16)."""
    gap, apart = sight.run.conditions.setup.jaw_gap_mm, sight.ordered.arches_apart
    if apart is True and gap < APART_MM:
        words = f"The arches stand {gap:g} mm apart, at least {APART_MM:g} mm are needed."
        yield slip(SlipCode.BITE_NOT_AS_ORDERED, words, ImageEffect(arches_touch=True))
    elif apart is False and gap > CLOSED_MM:
        words = f"The teeth should be together; they stand {gap:g} mm apart."
        joints = sight.ordered.region is Region.JOINTS
        spoils = RetakeCause.PROTOCOL if joints else None
        yield Slip(SlipCode.BITE_NOT_AS_ORDERED, words, ImageEffect(), spoils)


def soft_parts(sight: Sight) -> Iterator[Slip]:
    """Nobody said where tongue and lips belong (E18)."""
    if not sight.run.conditions.soft_parts_told:
        words = "The person was not asked to put the tongue up and close the lips."
        yield slip(SlipCode.TONGUE_OR_LIPS, words, ImageEffect(soft_parts_free=True))


def pressing(sight: Sight) -> Iterator[Slip]:
    """A support presses on the face (E19)."""
    now, wanted = sight.run.conditions, sight.context.visit.supports_wanted
    hard = [s for s, firmness in now.bands if firmness is Firmness.HARD]
    strange = [s for s in now.supports if s in PUSHING and s not in wanted]
    pressed = tuple(s for s in Support if s in hard or s in strange)
    if pressed:
        words = f"Pressing on the face: {', '.join(map(spoken, pressed))}."
        yield slip(SlipCode.SUPPORT_PRESSES, words, ImageEffect(pressed_by=pressed))


def shield(sight: Sight) -> Iterator[Slip]:
    """The shield stands in the beam (E22)."""
    worn = sight.run.conditions.shield
    if worn is Shield.NONE:
        return
    into_mm = SHIELD_TOP_MM[worn] - (sight.field_floor_mm - SPREAD_MM)
    if into_mm > 0.0:
        words = f"The {spoken(worn)} reaches {into_mm:.0f} mm into the beam."
        spoils = RetakeCause.METAL if into_mm > SPREAD_MM else None
        yield Slip(SlipCode.SHIELD_IN_BEAM, words, ImageEffect(shield=worn), spoils)


def name(sight: Sight) -> Iterator[Slip]:
    """Another person was exposed, or the image is filed under another name (E23)."""
    now, patient = sight.run.conditions, sight.context.visit.patient
    if now.person != patient:
        words = f"The request is for {patient}; {now.person} was exposed."
        effect = ImageEffect(filed_as=now.console_person or "nobody")
        yield Slip(SlipCode.WRONG_NAME, words, effect, RetakeCause.PLACE_OR_PERSON)
    elif now.console_person != now.person:
        shown = now.console_person or "nobody"
        words = f"The image of {now.person} is filed under {shown}."
        yield slip(SlipCode.WRONG_NAME, words, ImageEffect(filed_as=shown))


FINDERS = (protocol, metal, dentures, bite, soft_parts, pressing, shield, name)
