"""Slips of place: head, field and target (E01 to E10, E24)."""

from __future__ import annotations

import math
from collections.abc import Iterator

from trainer.engine.appointment.slips.sight import Sight, slip
from trainer.engine.appointment.state import spoken
from trainer.engine.criteria import is_within, sharp_layer
from trainer.engine.placement import StructurePlacement, Way, worst
from trainer.engine.wording import amount, sentence_start, signed_amount, where
from trainer.models.appointment_words import RetakeCause
from trainer.models.slips import ImageEffect, Slip, SlipCode

# Target and field centre this close count as centred: own working value.
CENTRED_MM = 2.0
# A turn by a band that matters: the least that a band does (own working value).
NUDGE_MATTERS_DEG = 1.0


def wrong_place(sight: Sight) -> Iterator[Slip]:
    """Another side, tooth or jaw stands in the field than was ordered (E08)."""
    setup = sight.run.conditions.setup
    words = ""
    if setup.region is not sight.ordered.region:
        entered, ordered = spoken(setup.region), spoken(sight.ordered.region)
        words = f"The region entered is {entered}, ordered is {ordered}."
    elif misses(sight):
        words = f"The target's middle lies {amount(_away_mm(sight), 'mm')} from the field's axis."
        if sight.ordered.runs > 1:
            words = "Nothing of the target is in the field."
    if words:
        effect = ImageEffect(cut=tuple(s.structure.id for s in sight.lacking))
        yield Slip(SlipCode.WRONG_SIDE_OR_TOOTH, words, effect, RetakeCause.PLACE_OR_PERSON)


def misses(sight: Sight) -> bool:
    """Whether the middle of the target is not even in the field.

    Of an examination in several runs: whether nothing of it is.
    """
    placement = sight.placement
    if sight.ordered.runs > 1:
        return bool(placement.required) and all(s.inside_share == 0.0 for s in placement.required)
    return _away_mm(sight) > placement.region.radius_mm


def _away_mm(sight: Sight) -> float:
    """Distance of the target's middle from the field's axis [mm]; 0 without a target."""
    target = sight.placement.target
    return math.hypot(*(float(v) for v in target.centre_mm[:2])) if target is not None else 0.0


def off_centre(sight: Sight) -> Iterator[Slip]:
    """The target reaches over an edge of the field (E01 height, E02 side, E03 front and back)."""
    target, play = sight.placement.target, sight.placement.free_play
    if target is None or play is None:
        return
    x, y, z = (abs(float(v)) for v in target.centre_mm)
    rows = (
        (SlipCode.TOO_HIGH_OR_LOW, (Way.UP, Way.DOWN), z, play.vertical_mm),
        (SlipCode.OFF_TO_A_SIDE, (Way.LEFT, Way.RIGHT), x, play.radial_mm),
        (SlipCode.TOO_FAR_FORWARD_OR_BACK, (Way.FORWARD, Way.BACK), y, play.radial_mm),
    )
    out = sight.lacking
    for code, ways, off_mm, play_mm in rows:
        here = [s for s in out if s.way in ways]
        if play_mm < 0.0 and off_mm <= CENTRED_MM:
            continue  # centred as well as can be: the field is too small
        if code is not SlipCode.TOO_HIGH_OR_LOW and misses(sight):
            continue  # another place altogether: told as such
        if here:
            yield _cut(code, here)


def _cut(code: SlipCode, structures: list[StructurePlacement]) -> Slip:
    """A slip that cuts structures; it spoils the image when one really sticks out."""
    spoils = RetakeCause.COVERAGE if any(s.margin_mm < 0.0 for s in structures) else None
    effect = ImageEffect(cut=tuple(s.structure.id for s in structures))
    return Slip(code, sentence_start(f"{where(worst(structures))}."), effect, spoils)


def attitude(sight: Sight) -> Iterator[Slip]:
    """The head stands oblique to the task's plane (E04 to E07).

    A volume can be resliced; a panoramic picture is spoilt.
    """
    limits, off = sight.context.case.attitude, sight.placement.attitude
    tilt = (round(off.pitch_off_deg, 1), round(off.yaw_off_deg, 1), round(off.roll_off_deg, 1))
    rows = (
        (SlipCode.CHIN_UP, off.pitch_off_deg, limits.pitch_deg, "up", "down"),
        (SlipCode.CHIN_DOWN, -off.pitch_off_deg, limits.pitch_deg, "down", "up"),
        (SlipCode.HEAD_TURNED, abs(off.yaw_off_deg), limits.yaw_deg, "turned", ""),
        (SlipCode.HEAD_LEANING, abs(off.roll_off_deg), limits.roll_deg, "leaning", ""),
    )
    for code, value, limit, more, less in rows:
        if value > 0.0 and not is_within(value, limit):
            words = f"The task's plane is off by {signed_amount(value, 'deg', more, less)}"
            spoils = RetakeCause.HEAD_POSITION if sight.placement.layer is not None else None
            effect = ImageEffect(tilt_deg=tilt)
            yield Slip(code, f"{words} (up to {limit:g}°).", effect, spoils)


def beside_the_layer(sight: Sight) -> Iterator[Slip]:
    """The front teeth of a panoramic picture are not in the groove (E02 side, E03 front, back)."""
    rows = {
        "layer-groove": SlipCode.TOO_FAR_FORWARD_OR_BACK,
        "layer-midline": SlipCode.OFF_TO_A_SIDE,
    }
    for found in sharp_layer(sight.context.case, sight.placement):
        if not found.met:
            code = rows[found.criterion]
            yield Slip(code, found.sentence, ImageEffect(), RetakeCause.HEAD_POSITION)


def field_size(sight: Sight) -> Iterator[Slip]:
    """The field cannot hold the target even when centred (E09), or is larger than ordered (E10)."""
    placement = sight.placement
    play, used = placement.free_play, placement.field
    alone = sight.ordered.runs == 1
    tight = play is not None and min(play.radial_mm, play.vertical_mm) < 0.0
    # free play counts the largest margin for all: where nothing lacks, the field was large enough
    if alone and tight and sight.lacking and play is not None:
        lack = amount(min(play.radial_mm, play.vertical_mm), "mm")
        words = f"The field {used.id} lacks {lack} on each side of the target, however centred."
        cut = [s for s in placement.required if not s.holds]
        spoils = RetakeCause.COVERAGE if any(s.margin_mm < 0.0 for s in cut) else None
        effect = ImageEffect(cut=tuple(s.structure.id for s in cut))
        yield Slip(SlipCode.FIELD_TOO_SMALL, words, effect, spoils)
    ordered = {f.id: f for f in sight.context.unit.fields}.get(sight.ordered.field)
    if ordered is not None and used.volume_mm3 > ordered.volume_mm3:
        area = used.diameter_mm * used.height_mm / (ordered.diameter_mm * ordered.height_mm)
        words = f"The field {used.id} is larger than the ordered {ordered.id}."
        effect = ImageEffect(dose_factor=round(area, 3))
        yield slip(SlipCode.FIELD_TOO_LARGE, words, effect)


def nudged(sight: Sight) -> Iterator[Slip]:
    """Bands were closed after the last look and have turned the head (E24)."""
    nudge = sight.run.conditions.nudged_deg
    size = max(abs(n) for n in nudge)
    if size >= NUDGE_MATTERS_DEG:
        words = f"Closing the bands turned the head by {amount(size, 'deg')} after the last look."
        yield slip(SlipCode.BANDS_AFTER_ALIGNING, words, ImageEffect(tilt_deg=nudge))


FINDERS = (wrong_place, off_centre, attitude, beside_the_layer, field_size, nudged)
