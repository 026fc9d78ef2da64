"""Source, detector and turn against the fields."""

from __future__ import annotations

import math
from collections.abc import Iterator

from trainer.engine.unit_check.finding import Finding, KeyPath
from trainer.geometry.region import recorded_region
from trainer.models.device import FieldSize, Unit

# In use: 350-500 mm, 500-750 mm, 1.3-1.6 (from memory: technical reviews 2013-2021, pooled). The
# magnification is told a little outside of that: own working values.
SOURCE_TO_AXIS_MM = (350.0, 500.0)
SOURCE_TO_DETECTOR_MM = (500.0, 750.0)
MAGNIFICATION = (1.2, 1.8)
# Pixels in use are 0.10-0.20 mm (from memory). Finer voxels than the finest pixel, seen at the
# axis, hold no more than coarser ones.
FINEST_PIXEL_MM = 0.10
# More of a field's height lost at its rim is told: own working value.
MOST_LOST_SHARE = 0.1
WHOLE_TURN_DEG = 360.0

AXIS, DETECTOR = ("beam", "source_to_axis_mm"), ("beam", "source_to_detector_mm")
WIDTH, OFFSET = ("beam", "detector_width_mm"), ("beam", "detector_offset_mm")


def beam_findings(unit: Unit) -> Iterator[Finding]:
    """Distances, and what detector and turn do to each field."""
    beam = unit.beam
    if beam.source_to_detector_mm <= beam.source_to_axis_mm:
        yield Finding(
            (DETECTOR, AXIS),
            f"the detector stands {beam.source_to_detector_mm:g} mm from the source, not behind "
            f"the axis at {beam.source_to_axis_mm:g} mm",
            is_error=True,
        )
        return
    yield from _distances(unit)
    yield from _width(unit)
    for number, field in enumerate(unit.fields):
        yield from _lost_to_the_cone(unit, number, field)
        yield from _voxels(unit, number, field)
    yield from _rays(unit)
    yield from _turns(unit)


def _distances(unit: Unit) -> Iterator[Finding]:
    beam = unit.beam
    for key, value, (low, high) in (
        (AXIS, beam.source_to_axis_mm, SOURCE_TO_AXIS_MM),
        (DETECTOR, beam.source_to_detector_mm, SOURCE_TO_DETECTOR_MM),
    ):
        if not low <= value <= high:
            yield Finding((key,), f"{value:g} mm; {low:g} to {high:g} mm are in use")
    times = beam.source_to_detector_mm / beam.source_to_axis_mm
    low, high = MAGNIFICATION
    if not low <= times <= high:
        yield Finding(
            (DETECTOR, AXIS),
            f"the detector shows the axis {times:.2f} times as large; {low:g} to {high:g} times "
            "is usual",
        )


def covered_radius_mm(unit: Unit, side_mm: float) -> float:
    """Radius about the axis that a detector reaching so far to one side sees: SID sin(atan(w/SDD)).

    The farthest ray touches the circle, so its distance from the axis is the radius.
    """
    beam = unit.beam
    return beam.source_to_axis_mm * math.sin(math.atan2(side_mm, beam.source_to_detector_mm))


def _width(unit: Unit) -> Iterator[Finding]:
    """Nothing is said of a unit whose file leaves the detector's width out."""
    beam = unit.beam
    if beam.detector_width_mm is None:
        return
    half, offset = beam.detector_width_mm / 2.0, abs(beam.detector_offset_mm)
    if offset >= half:
        yield Finding(
            (OFFSET, WIDTH),
            f"moved sideways by {offset:g} mm, the detector of {beam.detector_width_mm:g} mm no "
            "longer sees the axis",
            is_error=True,
        )
        return
    every_view = covered_radius_mm(unit, half - offset)
    whole_turn = covered_radius_mm(unit, half + offset)
    for number, field in enumerate(unit.fields):
        radius = field.diameter_mm / 2.0
        key: KeyPath = ("fields", number, "diameter_mm")
        if radius > whole_turn + 1e-9:
            yield Finding(
                (key, WIDTH),
                f"the detector covers {2.0 * whole_turn:.0f} mm about the axis, field {field.id} "
                f"needs {field.diameter_mm:g}",
                is_error=True,
            )
        elif radius > every_view + 1e-9 and unit.turn.sweep_deg < WHOLE_TURN_DEG:
            yield Finding(
                (("turn", "sweep_deg"), key, OFFSET),
                f"a detector moved sideways sees one side of field {field.id} at a time, which "
                f"needs a whole turn; this arm turns {unit.turn.sweep_deg:g} deg",
                is_error=True,
            )


def _lost_to_the_cone(unit: Unit, number: int, field: FieldSize) -> Iterator[Finding]:
    for region in field.regions:
        place = unit.regions.get(region)
        if place is None:
            continue
        recorded = recorded_region(field, place, unit.beam)
        nearer = 1.0 - recorded.radius_mm / recorded.source_to_axis_mm
        half, ray = recorded.half_height_mm, recorded.ray_mm
        lost = max(0.0, half - ray - recorded.cone_roof_mm * nearer)
        lost += max(0.0, half + ray - recorded.cone_floor_mm * nearer)
        if lost > MOST_LOST_SHARE * field.height_mm:
            yield Finding(
                (("fields", number, "height_mm"), ("regions", str(region), "central_ray_mm")),
                f"at the rim of field {field.id} the cone takes {lost:.1f} of {field.height_mm:g} "
                f"mm for the {region} region",
            )


def _voxels(unit: Unit, number: int, field: FieldSize) -> Iterator[Finding]:
    """Edge of the finest pixel at the axis: p SID / SDD."""
    beam = unit.beam
    finest_um = 1000.0 * FINEST_PIXEL_MM * beam.source_to_axis_mm / beam.source_to_detector_mm
    for n, voxel in enumerate(field.voxels_um):
        if voxel < finest_um:
            yield Finding(
                (("fields", number, "voxels_um", n),),
                f"the finest pixels in use ({FINEST_PIXEL_MM:g} mm) are {finest_um:.0f} µm at the "
                f"axis; voxels of {voxel} µm show no more than that",
            )


def _rays(unit: Unit) -> Iterator[Finding]:
    for region, place in unit.regions.items():
        tallest = max((f.height_mm for f in unit.fields if region in f.regions), default=None)
        if tallest is None:
            continue
        top = place.start_mm + tallest
        if not place.start_mm <= place.central_ray_mm <= top:
            yield Finding(
                (("regions", str(region), "central_ray_mm"),),
                f"the central ray runs at {place.central_ray_mm:g} mm, outside every {region} "
                f"field ({place.start_mm:g} to {top:g} mm): it is seen aslant only",
            )


def _turns(unit: Unit) -> Iterator[Finding]:
    """A short turn needs 180 deg and the whole fan (Parker, Medical Physics 9:254, 1982).

    Not so a panoramic picture, which shows each place from one side.
    """
    if unit.is_panoramic:
        return
    widest = max(unit.fields, key=lambda f: f.diameter_mm)
    share = widest.diameter_mm / 2.0 / unit.beam.source_to_axis_mm
    if share >= 1.0:
        return
    needed = 180.0 + 2.0 * math.degrees(math.asin(share))
    turns: list[tuple[KeyPath, float]] = [(("turn", "sweep_deg"), unit.turn.sweep_deg)]
    protocols = unit.tube.protocols if unit.tube is not None else ()
    turns += [
        (("tube", "protocols", n, "rotation_deg"), p.rotation_deg) for n, p in enumerate(protocols)
    ]
    for key, turned in turns:
        if turned < needed - 1e-9:
            yield Finding(
                (key, ("beam", "source_to_axis_mm")),
                f"{turned:g} deg; field {widest.id} needs {needed:.0f} (half a turn and the fan), "
                "else its rim is seen from too few sides",
            )
