"""What a visit's script says that case and unit cannot do: the second pass over a case file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Protocol

from trainer.errors import Fault
from trainer.models.appointment_visit import Prescription, Programme, Visit
from trainer.models.appointment_words import BANDS, Support
from trainer.models.device import Unit
from trainer.models.scenario import Case

CHIN_RESTS = (Support.CHIN_REST, Support.TOOTHLESS_CHIN_REST)


class Script(Protocol):
    """What is looked at: the part of a `Context` that is there before anything is placed."""

    @property
    def case(self) -> Case:
        """Of which the start counts."""
        ...

    @property
    def visit(self) -> Visit:
        """The script."""
        ...

    @property
    def unit(self) -> Unit:
        """What it is played on."""
        ...

    @property
    def run_s(self) -> Callable[[Programme], float]:
        """Length of a run."""
        ...

    @property
    def protocols(self) -> tuple[str, ...]:
        """Presets of the unit; empty: any name is taken."""
        ...


def visit_faults(context: Script, path: str = "visit", line: int = 0) -> list[Fault]:
    """Everything in the visit that cannot be; empty when all is well."""
    visit = context.visit
    found = [*_order_faults(context, visit.card.prescription, "card.prescription")]
    if visit.answers.clears is not None:
        found += _order_faults(context, visit.answers.clears, "answers.clears")
    found += _people_faults(context)
    found += _motion_faults(context)
    return [Fault(path, line, key, text) for key, text in found]


def _order_faults(context: Script, order: Prescription, at: str) -> Iterator[tuple[str, str]]:
    unit = context.unit
    fields = {f.id: f for f in unit.fields}
    if order.region not in unit.regions:
        have = ", ".join(unit.regions)
        yield f"{at}.region", f"unit {unit.id} has no {order.region}; it has {have}"
    field = fields.get(order.field)
    if field is None:
        yield f"{at}.field", f"unit {unit.id} has no {order.field!r}; it has {', '.join(fields)}"
        return
    if order.region not in field.regions:
        serves = ", ".join(field.regions)
        yield f"{at}.field", f"{field.id} serves {serves}, not {order.region}"
    programme = order.programme
    if programme.voxel_um not in field.voxels_um:
        have = ", ".join(str(v) for v in field.voxels_um)
        text = f"field {field.id} offers {have}, got {programme.voxel_um}"
        yield f"{at}.programme.voxel_um", text
    if context.protocols and programme.protocol not in context.protocols:
        have = ", ".join(context.protocols)
        text = f"must be one of {have}, got {programme.protocol!r}"
        yield f"{at}.programme.protocol", text


def _people_faults(context: Script) -> Iterator[tuple[str, str]]:
    visit = context.visit
    ids = [w.id for w in visit.waiting]
    if visit.console_left_over and visit.console_left_over not in ids:
        text = f"{visit.console_left_over!r} is not among {', '.join(ids)}"
        yield "console_left_over", text
    if not set(CHIN_RESTS) & set(visit.supports_wanted):
        yield "supports_wanted", f"needs one of {', '.join(CHIN_RESTS)}"
    if not set(BANDS) & set(visit.supports_wanted):
        yield "supports_wanted", f"needs one of {', '.join(BANDS)}"
    for key in ("pitch_deg", "yaw_deg", "roll_deg"):
        low, high = getattr(visit.neck, key)
        travel = context.unit.travel[key]
        if low > high:
            yield f"neck.{key}", f"lowest {low:g} is above highest {high:g}"
        elif high < travel.lowest or low > travel.highest:
            text = f"{low:g} to {high:g} is outside the unit's {travel.lowest:g} to "
            yield f"neck.{key}", f"{text}{travel.highest:g}"
        elif not low <= (start := getattr(context.case.start, key)) <= high:
            yield f"neck.{key}", f"the start {start:g} is outside {low:g} to {high:g}"


def _motion_faults(context: Script) -> Iterator[tuple[str, str]]:
    planned_s = context.run_s(context.visit.card.prescription.programme)
    for i, m in enumerate(context.visit.scripted_motion or ()):
        at = f"scripted_motion[{i}]"
        if not 0.0 <= m.start_s < planned_s:
            yield f"{at}.start_s", f"must lie in the run of {planned_s:g} s, got {m.start_s:g}"
        if m.moving_s <= 0.0 or m.size_mm <= 0.0:
            yield at, "moving_s and size_mm must be above 0"
        length = sum(x * x for x in m.direction) ** 0.5
        if abs(length - 1.0) > 1e-6:
            yield f"{at}.direction", f"must have the length 1, has {length:g}"
