"""What a placement is judged by. One function per criterion, one line in `CRITERIA`.

A finding carries its reason: what was measured, against which limit, in one sentence.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trainer.engine.panoramic.layer import FRONT_TEETH
from trainer.engine.placement import TOUCHING_MM, Placement
from trainer.engine.strain import EASY_HEIGHT_MM, Strain, strain_of
from trainer.engine.wording import amount, sentence_start, share, signed_amount, where
from trainer.models.scenario import Case

# What turns should stay this far away: people breathe, hair and cloth stand out. Common practice,
# no source; a working value.
FREE_PATH_MM = 10.0


@dataclass(frozen=True, slots=True)
class Finding:
    """One judgement. ``weighs``: whether it decides over pass; else it is only told."""

    criterion: str
    met: bool
    weighs: bool
    measured: float
    limit: float
    unit: str
    sentence: str


def is_within(value: float, limit: float) -> bool:
    """Whether a value of either sign keeps to a limit; noise of the last digits is none of it."""
    return abs(value) - limit <= TOUCHING_MM


def required_inside(case: Case, placement: Placement) -> list[Finding]:
    """Every required structure keeps its margin; one finding each, the worst first."""
    found = []
    for s in sorted(placement.required, key=lambda s: -s.lack_mm):
        text = f"{where(s)} ({share(s)})."
        found.append(
            Finding(
                "required-inside",
                s.holds,
                True,
                s.margin_mm,
                s.required_margin_mm or 0.0,
                "mm",
                sentence_start(text),
            )
        )
    return found


def attitude(case: Case, placement: Placement) -> list[Finding]:
    """The head's attitude against the task's plane.

    Told and not failed in a volume, which can be resliced; a panoramic picture cannot.
    """
    limits, a = case.attitude, placement.attitude
    plane = limits.reference_plane.replace("-", " ").replace("frankfort", "Frankfort")
    rows = (
        (
            "pitch",
            a.pitch_off_deg,
            limits.pitch_deg,
            f"The {plane} plane is tipped",
            "front up",
            "front down",
        ),
        ("yaw", a.yaw_off_deg, limits.yaw_deg, "The face is turned", "to the left", "to the right"),
        ("roll", a.roll_off_deg, limits.roll_deg, "The head leans", "to the left", "to the right"),
    )
    return [
        Finding(
            f"attitude-{key}",
            is_within(value, limit),
            placement.layer is not None,
            value,
            limit,
            "deg",
            f"{start} {signed_amount(value, 'deg', more, less)} (up to {limit:g}°).",
        )
        for key, value, limit, start, more, less in rows
    ]


def sharp_layer(case: Case, placement: Placement) -> list[Finding]:
    """Whether the front teeth stand in the groove, in the midline; for a panoramic picture only."""
    stands, limit = placement.layer, case.groove_off_mm
    if stands is None or limit is None:
        return []
    ratio = stands.mean_ratio(FRONT_TEETH)
    look = "" if ratio is None else f" They are shown {100.0 * ratio:.0f} % as wide as they are."
    rows = (
        ("groove", stands.ahead_mm, "The front teeth stand", "ahead of the groove",
         "behind the groove", look),
        ("midline", stands.left_mm, "The front teeth stand", "left of the midline",
         "right of the midline", ""),
    )  # fmt: skip
    return [
        Finding(
            f"layer-{key}",
            is_within(value, limit),
            True,
            value,
            limit,
            "mm",
            f"{start} {signed_amount(value, 'mm', more, less)} (up to {limit:g} mm).{after}",
        )
        for key, value, start, more, less, after in rows
    ]


def field_size(case: Case, placement: Placement) -> list[Finding]:
    """Whether a smaller field would do, with target and field centre as far apart as now."""
    best, used = placement.smallest_field, placement.field
    centred = "With the target this far from the field's centre,"
    if best is None:
        text = f"{centred} no field of this unit would hold it."
        return [Finding("field-size", False, False, used.volume_mm3, 0.0, "mm3", text)]
    if not placement.all_required_inside and best.volume_mm3 > used.volume_mm3:
        text = f"{centred} it would take the field {best.id}; centre it first."
    elif best.volume_mm3 < used.volume_mm3:
        text = f"{centred} the smaller field {best.id} would hold it too."
    else:
        text = f"{centred} no smaller field than {used.id} would hold it."
    small_enough = best.volume_mm3 == used.volume_mm3
    return [
        Finding("field-size", small_enough, False, used.volume_mm3, best.volume_mm3, "mm3", text)
    ]


def standing(case: Case, placement: Placement) -> list[Finding]:
    """The unit comes to the patient: the chin stands about where it does when upright."""
    off = placement.chin_above_floor_mm - case.subject.chin_standing_mm
    strain = strain_of(off)
    easy = strain is Strain.NONE
    if easy:
        text = "The unit's height suits the patient."
    else:
        way = "high" if off > 0 else "low"
        text = f"For a person who stands, the unit is {amount(off, 'mm')} too {way}: {strain}."
    return [Finding("standing", easy, False, off, EASY_HEIGHT_MM, "mm", text)]


def free_path(case: Case, placement: Placement) -> list[Finding]:
    """What turns must not hit the person; nothing if that was not looked at."""
    found = placement.clearance
    if found is None:
        return []
    off, part = found.distance_mm, sentence_start(found.part)
    if found.touches:
        text = f"{part} would hit the {found.place} ({amount(off, 'mm')} deep)."
    else:
        text = f"{part} clears the {found.place} by {amount(off, 'mm')}."
    return [Finding("free-path", off >= FREE_PATH_MM, found.touches, off, FREE_PATH_MM, "mm", text)]


CRITERIA: tuple[Callable[[Case, Placement], list[Finding]], ...] = (
    required_inside,
    attitude,
    sharp_layer,
    field_size,
    standing,
    free_path,
)


def judge(case: Case, placement: Placement) -> tuple[Finding, ...]:
    """All findings on a placement, in the order of `CRITERIA`."""
    return tuple(f for criterion in CRITERIA for f in criterion(case, placement))


def is_well_placed(case: Case, placement: Placement) -> bool:
    """Whether everything required is inside and, in a sharp layer, the head stands as asked."""
    found = [*attitude(case, placement), *sharp_layer(case, placement)]
    return placement.all_required_inside and all(f.met for f in found if f.weighs)
