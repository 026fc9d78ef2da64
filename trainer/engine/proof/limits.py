"""What unit and person allow: how far every control goes, and how high the chin may stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from trainer.engine.appointment.conditions import SEATED_LOWER_MM
from trainer.engine.appointment.placing import GAG_GAP_MM
from trainer.engine.appointment.slips.prepared import APART_MM, CLOSED_MM
from trainer.engine.strain import Strain, strain_of
from trainer.models.appointment_visit import Prescription
from trainer.models.appointment_words import Trait
from trainer.models.controls import CONTROLS, ControlKind
from trainer.models.device import Region, Unit
from trainer.models.scenario import Case
from trainer.models.setup import Setup


@dataclass(frozen=True, slots=True)
class Limits:
    """Lowest and highest value of every number control, with what stops it there.

    ``ranges``: by key, within the unit's travel and the person's neck. ``stops``: by key, "the
    unit's travel" or "the person's neck" below and above.
    """

    ranges: Mapping[str, tuple[float, float]]
    stops: Mapping[str, tuple[str, str]]


TRAVEL, NECK, GAG = "the unit's travel", "the person's neck", "the person's gag reflex"


def ordered(case: Case) -> Prescription | None:
    """What the practitioner means; ``None`` for a case without a visit."""
    if case.visit is None:
        return None
    return case.visit.answers.clears or case.visit.card.prescription


def limits_of(case: Case, unit: Unit) -> Limits:
    """How far the controls go on this unit with this person."""
    ranges, stops = {}, {}
    for c in CONTROLS:
        if c.kind is not ControlKind.NUMBER or c.key not in unit.travel:
            continue
        low, high = unit.travel[c.key].lowest, unit.travel[c.key].highest
        below = above = TRAVEL
        if case.visit is not None:
            if (neck := getattr(case.visit.neck, c.key, None)) is not None:
                low, below = (neck[0], NECK) if neck[0] > low else (low, below)
                high, above = (neck[1], NECK) if neck[1] < high else (high, above)
            if (
                c.key == "jaw_gap_mm"
                and Trait.GAG_REFLEX in case.visit.traits
                and high > GAG_GAP_MM
            ):
                high, above = GAG_GAP_MM, GAG
        ranges[c.key], stops[c.key] = (low, high), (below, above)
    return Limits(ranges, stops)


def ordered_setup(case: Case, limits: Limits) -> Setup:
    """The start with region, field and jaw gap as they were ordered.

    The start's jaw gap where the order allows it, else the nearest that it does.
    """
    order, setup = ordered(case), case.start
    if order is None:
        return setup
    gap = setup.jaw_gap_mm
    if order.arches_apart is True:
        gap = max(gap, APART_MM)
    elif order.arches_apart is False:
        gap = min(gap, CLOSED_MM)
    low, high = limits.ranges["jaw_gap_mm"]
    return setup.with_values(
        {
            "region": Region(order.region),
            "field": order.field,
            "jaw_gap_mm": min(max(gap, low), high),
        }
    )


def gap_is_as_ordered(case: Case, setup: Setup) -> bool:
    """Whether the arches are apart, or together, as the order has it."""
    order = ordered(case)
    if order is None or order.arches_apart is None:
        return True
    gap = setup.jaw_gap_mm
    return gap >= APART_MM if order.arches_apart else gap <= CLOSED_MM


def easy_heights_mm(case: Case) -> tuple[float, ...]:
    """Heights of the chin above the floor without strain [mm]: standing, and seated."""
    standing = case.subject.chin_standing_mm
    seated = standing - SEATED_LOWER_MM
    in_chair = case.visit is not None and Trait.WHEELCHAIR in case.visit.traits
    return (seated,) if in_chair else (standing, seated)


def at_ease(case: Case, setup: Setup, limits: Limits) -> tuple[Setup, Strain]:
    """The setup with the unit's height nearest to what is easy for the person, and their strain.

    Standing if the unit reaches that high or low, else seated.
    """
    low, high = limits.ranges["unit_height_mm"]
    found = []
    for easy in easy_heights_mm(case):
        height = min(max(round(easy - setup.chin_height_mm), low), high)
        off = height + setup.chin_height_mm - easy
        found.append((abs(off), float(height), strain_of(off)))
    _, height, strain = min(found, key=lambda f: f[0])
    return setup.with_values({"unit_height_mm": height}), strain
