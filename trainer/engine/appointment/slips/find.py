"""All slips of one run, and what they do to its image together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from trainer.engine.appointment.slips import moved, placed, prepared
from trainer.engine.appointment.slips.sight import Sight
from trainer.engine.appointment.state import Context
from trainer.models.appointment import Run
from trainer.models.appointment_visit import Prescription
from trainer.models.appointment_words import Shield, Support
from trainer.models.slips import ImageEffect, Slip

FINDERS = (*placed.FINDERS, *prepared.FINDERS, *moved.FINDERS)


def slips_of_run(
    context: Context, ordered: Prescription, run: Run, partners: tuple[Run, ...] = ()
) -> tuple[Slip, ...]:
    """What went wrong in a run (E01 to E24), in the order of the codes.

    ``partners`` are the other runs of an examination that is made of several.
    """
    sight = Sight(context, ordered, run, context.placing(run.conditions.setup), partners)
    found = [slip for finder in FINDERS for slip in finder(sight)]
    if context.unit.is_panoramic:
        found = [replace(slip, panoramic=True) for slip in found]
    return tuple(sorted(found, key=lambda s: s.code.value))


def image_effect(slips: Iterable[Slip]) -> ImageEffect:
    """What the slips do to the image together."""
    effects = [s.effect for s in slips]
    noise = dose = 1.0
    for e in effects:
        noise, dose = noise * e.noise_factor, dose * e.dose_factor
    shields = [e.shield for e in effects if e.shield is not Shield.NONE]
    tilts = [e.tilt_deg for e in effects]
    pressed = {s for e in effects for s in e.pressed_by}
    return ImageEffect(
        cut=tuple(sorted({c for e in effects for c in e.cut})),
        tilt_deg=max(tilts, key=lambda t: max(map(abs, t)), default=(0.0, 0.0, 0.0)),
        plays_motion=any(e.plays_motion for e in effects),
        plays_jaw_drift=any(e.plays_jaw_drift for e in effects),
        in_beam=tuple(sorted({i for e in effects for i in e.in_beam})),
        missing_items=tuple(sorted({i for e in effects for i in e.missing_items})),
        noise_factor=round(noise, 3),
        dose_factor=round(dose, 3),
        arches_touch=any(e.arches_touch for e in effects),
        soft_parts_free=any(e.soft_parts_free for e in effects),
        pressed_by=tuple(s for s in Support if s in pressed),
        recorded_share=min((e.recorded_share for e in effects), default=1.0),
        shield=shields[0] if shields else Shield.NONE,
        filed_as=next((e.filed_as for e in effects if e.filed_as), ""),
    )
