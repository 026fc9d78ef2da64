"""Where fields start, where the front edge stands, and which lights there are."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.engine.unit_check.finding import Finding, KeyPath
from trainer.models.device import LightAxis, LightPlace, Region, Unit

# Free gap under the upper jaw: 30 mm is common practice, no source; 10 mm more or less is an own
# working value.
UPPER_GAP_MM = (20.0, 40.0)
# The foremost front tooth of the mean man stands so far ahead of his chin contact: own model. The
# line shall stand just before it (common practice, no source); how far at most is a working value.
FRONT_TEETH_MM = 14.0
FRONT_LINE_MM = (FRONT_TEETH_MM, FRONT_TEETH_MM + 10.0)
# Half of what the chin support takes up, seen from above: own working value.
SUPPORT_RADIUS_MM = 30.0

UPPER, LOWER = ("regions", str(Region.UPPER_JAW)), ("regions", str(Region.LOWER_JAW))
FRONT_LINE = ("front_line_mm",)


def place_findings(unit: Unit) -> Iterator[Finding]:
    """Regions, front line, lights and what goes round the support."""
    yield from _starts(unit)
    yield from _front_line(unit)
    yield from _lights(unit)
    yield from _support(unit)


def _starts(unit: Unit) -> Iterator[Finding]:
    upper, lower = unit.regions.get(Region.UPPER_JAW), unit.regions.get(Region.LOWER_JAW)
    if upper is None:
        return
    start = (*UPPER, "start_mm")
    if lower is not None and upper.start_mm <= lower.start_mm:
        yield Finding(
            (start, (*LOWER, "start_mm")),
            f"fields for the upper jaw start at {upper.start_mm:g} mm, not above those for the "
            f"lower jaw ({lower.start_mm:g} mm)",
            is_error=True,
        )
    elif not UPPER_GAP_MM[0] <= upper.start_mm <= UPPER_GAP_MM[1]:
        yield Finding(
            (start,),
            f"the free gap under the upper jaw is {upper.start_mm:g} mm; about 30 mm is common",
        )


def _front_line(unit: Unit) -> Iterator[Finding]:
    if unit.is_panoramic:
        return  # there the groove says where the teeth stand
    line = unit.front_line_mm
    low, high = FRONT_LINE_MM
    if line < low:
        yield Finding(
            (FRONT_LINE,),
            f"the field's front edge stands {line:g} mm ahead of the chin support, behind the "
            f"foremost front tooth of a mean man ({low:g} mm)",
        )
    elif line > high:
        yield Finding(
            (FRONT_LINE,),
            f"the field's front edge stands {line - low:g} mm before the foremost front tooth of a "
            "mean man; just before it is common",
        )
    for number, field in enumerate(unit.fields):
        if line - field.diameter_mm > FRONT_TEETH_MM:
            yield Finding(
                (("fields", number, "diameter_mm"), FRONT_LINE),
                f"field {field.id} ends {line - field.diameter_mm:g} mm ahead of the chin support: "
                "when it is not moved, it holds only air",
                is_error=True,
            )


def _lights(unit: Unit) -> Iterator[Finding]:
    seen: dict[tuple[LightAxis, LightPlace, bool], str] = {}
    for number, light in enumerate(unit.lights):
        mark = (light.axis, light.place, light.arm_turned_only)
        if mark in seen:
            yield Finding(
                (("lights", number, "place"),),
                f"light {light.id} marks the same as light {seen[mark]}",
            )
        seen.setdefault(mark, light.id)
    axes, places = {x.axis for x in unit.lights}, {x.place for x in unit.lights}
    key: tuple[KeyPath, ...] = (("lights",),)
    if LightAxis.SIDEWAYS not in axes:
        yield Finding(key, "no light shows the middle of unit or field, so a turned head is hidden")
    if LightAxis.HEIGHT not in axes:
        yield Finding(key, "no light shows a height, so nobody sees which jaw lies in the field")
    if not places & {LightPlace.FIELD_FRONT, LightPlace.FIELD_CENTRE, LightPlace.GROOVE}:
        yield Finding(key, "no light shows where the field stands from front to back")
    travel = unit.travel
    moves = any(travel[k].highest > travel[k].lowest for k in FIELD_MOVES)
    if moves and not any(str(place).startswith("field-") for place in places):
        yield Finding(key, "the field can be moved, and no light moves with it")


FIELD_MOVES = ("field_sideways_mm", "field_forward_mm")


def _support(unit: Unit) -> Iterator[Finding]:
    """Parts turn about the field's centre; the support must stand inside what they draw."""
    heights = unit.travel["chin_height_mm"]
    for number, part in enumerate(unit.moving_parts):
        if part.top_mm < heights.lowest or part.bottom_mm > heights.highest:
            continue
        for field in unit.fields:
            away = abs(unit.front_line_mm - field.diameter_mm / 2.0) + SUPPORT_RADIUS_MM
            if part.nearest_mm < away:
                yield Finding(
                    (("moving_parts", number, "nearest_mm"),),
                    f"{part.name} turns {part.nearest_mm:g} mm from the axis and hits the chin "
                    f"support, which reaches {away:g} mm with field {field.id}",
                    is_error=True,
                )
                break
