"""What keeps a case from being a fair exercise, in sentences: each is empty when all is well."""

from __future__ import annotations

import math
from collections.abc import Sequence

from trainer.engine.appointment.conditions import SHOULDERS_GIVE_MM, TRUNK
from trainer.engine.criteria import FREE_PATH_MM
from trainer.engine.placement import TOUCHING_MM
from trainer.engine.proof.best import FieldFit, best_setup
from trainer.engine.proof.limits import Limits, gap_is_as_ordered
from trainer.engine.proof.target import Target
from trainer.engine.strain import Strain
from trainer.engine.wording import amount, sentence_start
from trainer.models.clearance import Clearance
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.models.setup import Setup, setup_faults

LEAST_TOLD_MM = 0.05  # a smaller lack would read as 0


def order_faults(meant: Setup, unit: Unit) -> tuple[str, ...]:
    """Why the ordered region and field cannot be entered on the unit."""
    faults = setup_faults(meant, unit)
    return tuple(
        f"The order cannot be entered: {f.key} {f.text}."
        for f in faults
        if f.key in ("region", "field")
    )


def start_fault(slack_mm: float) -> str:
    """Whether the start passes already."""
    if slack_mm < -TOUCHING_MM:
        return ""
    return (
        "The start holds everything required already: there is nothing to do. Move a control of "
        "the start, or ask for more."
    )


def arches_fault(case: Case, meant: Setup, limits: Limits) -> str:
    """Whether the arches cannot stand as ordered."""
    if gap_is_as_ordered(case, meant):
        return ""
    gap, stop = amount(meant.jaw_gap_mm, "mm"), limits.stops["jaw_gap_mm"][1]
    return f"The arches cannot stand as ordered: the jaw gap ends at {gap}, by {stop}."


def strain_fault(strain: Strain) -> str:
    """Whether the unit does not reach the person."""
    if strain is Strain.NONE:
        return ""
    return (
        f"With the unit as near as it comes, {strain}. Change the person's height, or let another "
        "unit stand there."
    )


def too_near(near: Clearance | None) -> bool:
    """Whether what turns comes nearer than is asked of a free path, with the shoulders let down."""
    return near is not None and _away_mm(near) < FREE_PATH_MM


def hit_fault(near: Clearance | None) -> str:
    """Whether something that turns would hit the person in the best setup."""
    if near is None or _away_mm(near) >= 0.0:
        return ""
    deep = amount(near.distance_mm, "mm")
    return (
        f"{sentence_start(near.part)} would hit the {near.place} in the best setup ({deep} deep)."
    )


def _away_mm(near: Clearance) -> float:
    """Distance of what turns, with the shoulders let down [mm]."""
    return near.distance_mm + (SHOULDERS_GIVE_MM if near.place in TRUNK else 0.0)


def hold_fault(
    case: Case,
    slack_mm: float,
    outlines: Sequence[Target],
    meant: Setup,
    limits: Limits,
    fits: Sequence[FieldFit],
) -> str:
    """Whether not everything can be held: by the field's size, or by travel and neck."""
    if slack_mm >= -TOUCHING_MM:
        return ""
    lack = amount(max(LEAST_TOLD_MM, -slack_mm), "mm")
    no_end = Limits(dict.fromkeys(limits.ranges, (-math.inf, math.inf)), limits.stops)
    if all(best_setup(case, t, meant, no_end).holds for t in outlines):
        return (
            f"The required structures fit the field {meant.field}, but the unit's travel and the "
            f"person's neck do not let it get there: {lack} are lacking."
        )
    small = next((fit for fit in fits if fit.best.holds), None)
    rest = (
        f"The smallest that would hold them is {small.field.id}, region {small.region}."
        if small
        else "No field of this unit would hold them."
    )
    return (
        f"The required structures do not fit the field {meant.field} ({lack} are lacking). {rest}"
    )
