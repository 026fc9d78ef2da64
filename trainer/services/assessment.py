"""The assessment of a setup as plain data and as text."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from trainer.engine.advice import Advice, advise, play_of_controls
from trainer.engine.collisions import body_points, clearance
from trainer.engine.criteria import is_well_placed, judge
from trainer.engine.placement import Placement, StructurePlacement, chain_of, place
from trainer.engine.wording import amount, share, signed_amount, where
from trainer.models.controls import CONTROLS, Control, ControlKind
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.workbench import Workbench


@dataclass(frozen=True, slots=True)
class Assessed:
    """A setup with what was computed for it, to be told as data or as text."""

    bench: Workbench
    setup: Setup
    placement: Placement
    advice: tuple[Advice, ...]


def assess(bench: Workbench, setup: Setup) -> Assessed:
    """Placement of and advice for a setup."""
    head = bench.meshes.head
    placement = place(bench.case, head, bench.points, bench.unit, setup)
    steps = chain_of(head, bench.unit, setup)
    near = clearance(body_points(bench.meshes), bench.unit, steps)
    placement = replace(placement, clearance=near)
    return Assessed(bench, setup, placement, advise(bench.case, head, bench.unit, setup))


def assessment_data(assessed: Assessed) -> dict[str, Any]:
    """Everything computed for a setup, ready for JSON; lengths in mm, angles in degrees."""
    bench, setup, placement = assessed.bench, assessed.setup, assessed.placement
    advice = assessed.advice
    play = play_of_controls(bench.case, bench.meshes.head, bench.unit, setup)
    target, free, near = placement.target, placement.free_play, placement.clearance
    return {
        "caution": SHORT_CAUTION,
        "case": bench.case.id,
        "unit": bench.unit.id,
        "all_required_inside": placement.all_required_inside,
        "well_placed": is_well_placed(bench.case, placement),
        "structures": [_structure(s, bench.case.wanted) for s in placement.structures],
        "field": {
            "id": placement.field.id,
            "diameter_mm": placement.field.diameter_mm,
            "height_mm": placement.field.height_mm,
            "smallest_that_holds": placement.smallest_field and placement.smallest_field.id,
        },
        "target": target
        and {
            "diameter_mm": round(target.diameter_mm, 2),
            "height_mm": round(target.height_mm, 2),
            "offset_left_mm": round(float(target.centre_mm[0]), 2),
            "offset_forward_mm": round(-float(target.centre_mm[1]), 2),
            "offset_up_mm": round(float(target.centre_mm[2]), 2),
        },
        "free_play": free
        and {
            "radial_mm": round(free.radial_mm, 2),
            "vertical_mm": round(free.vertical_mm, 2),
            "controls": {k: list(v) if v else None for k, v in play.items()},
        },
        "attitude": {
            "reference_plane": str(bench.case.attitude.reference_plane),
            "pitch_off_deg": round(placement.attitude.pitch_off_deg, 2),
            "yaw_off_deg": round(placement.attitude.yaw_off_deg, 2),
            "roll_off_deg": round(placement.attitude.roll_off_deg, 2),
        },
        "clearance": near
        and {
            "distance_mm": round(near.distance_mm, 1),
            "touches": near.touches,
            "part": near.part,
            "place": str(near.place),
        },
        "findings": [
            {
                "criterion": f.criterion,
                "met": f.met,
                "weighs": f.weighs,
                "measured": round(f.measured, 3),
                "limit": round(f.limit, 3),
                "unit": f.unit,
                "sentence": f.sentence,
            }
            for f in judge(bench.case, placement)
        ],
        "advice": [_advice(a) for a in advice],
        "setup": setup.as_dict(),
    }


def _structure(s: StructurePlacement, wanted: tuple[str, ...]) -> dict[str, Any]:
    return {
        "id": s.structure.id,
        "name": s.structure.name,
        "inside_share": round(s.inside_share, 4),
        "margin_mm": round(s.margin_mm, 2),
        "direction": str(s.way),
        "margins_mm": {str(k): round(v, 2) for k, v in s.margins_mm.items()},
        "required": s.required_margin_mm is not None,
        "required_margin_mm": s.required_margin_mm,
        "wanted": s.structure.id in wanted,
        "holds": s.holds,
    }


def _advice(a: Advice) -> dict[str, Any]:
    return {
        "sentence": a.sentence,
        "changes": {k: str(v) if isinstance(v, str) else v for k, v in a.changes.items()},
        "reaches_all": a.reaches_all,
        "short_mm": round(a.short_mm, 2),
    }


def assessment_text(assessed: Assessed) -> str:
    """The assessment for reading: request, result, reasons, advice, setup."""
    bench, setup, placement = assessed.bench, assessed.setup, assessed.placement
    advice, case = assessed.advice, bench.case
    lines = [
        case.text(case.title),
        case.text(case.request),
        "",
        headline(case, placement),
        "",
        *(
            f"  [{'ok' if f.met else '!!' if f.weighs else ' i'}] {f.sentence}"
            for f in judge(case, placement)
        ),
    ]
    wanted = [s for s in placement.structures if s.structure.id in case.wanted]
    if wanted:
        lines += ["", "Also wanted, not judged:"]
        lines += [f"  - {where(s)} ({share(s)})." for s in wanted]
    if advice:
        helps = advice[0].reaches_all
        title = (
            "What to change (any one of these):" if helps else "The nearest that can be reached:"
        )
        lines += ["", title, *(f"  - {a.sentence}" for a in advice)]
    lines += ["", "Setup:", *(f"  {c.label}: {_setting(setup, c, bench.unit)}" for c in CONTROLS)]
    return "\n".join([*lines, "", SHORT_CAUTION])


def _setting(setup: Setup, c: Control, unit: Unit) -> str:
    """A control's value in words of the patient."""
    value = setup.as_dict()[c.key]
    if c.kind is ControlKind.SWITCH:
        return "yes" if value else "no"
    if c.kind is ControlKind.CHOICE:
        return str(value).replace("-", " ")
    if unit.travel[c.key].lowest >= 0.0:  # a height or a gap has only one way
        return amount(float(value), c.unit)
    return signed_amount(float(value), c.unit, c.more_word, c.less_word)


def headline(case: Case, placement: Placement) -> str:
    """One sentence on the whole: how many required structures the field holds."""
    of = len(placement.required)
    if placement.held == of and not is_well_placed(case, placement):
        return f"All {of} lie inside the field, but the head does not stand as the layer asks."
    if placement.held == of:
        return f"All {of} required structures lie inside the field."
    return f"{placement.held} of {of} required structures lie inside the field."
