"""The part of the field that every view records, and how far points lie inside it.

The recorded region is the cylinder of the field, less the loss at its top and bottom that comes
from the cone: the source is a point, so a detector of limited height sees less near the source.
A point at height z over the central ray and depth ``S + r cos(phi)`` from the source falls on a
flat detector at ``v = z * SDD / (S + r cos(phi))``. Over a whole turn the depth runs from S - r to
S + r, so the point is on the detector in every view when

    -below * (S - r) / SDD  <=  z  <=  above * (S - r) / SDD

(Feldkamp, Davis & Kress, J. Opt. Soc. Am. A 1984, geometry of eq. 28; worked out here for both
signs of z). The region is an intersection of convex sets, so it is convex: a solid lies inside when
the corners of its convex hull do, and its smallest margin is that of a corner.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.models.device import Beam, FieldSize, RegionPlace

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RecordedRegion:
    """The recorded region in the field frame [mm]; ``guard_mm`` is left out at its whole edge.

    ``ray_mm`` is the central ray's height in the field frame; the slopes say how fast roof and
    floor of the cone close in with distance from the axis; ``cone_roof_mm`` and
    ``cone_floor_mm`` are the cone's limits on the axis, counted from the central ray.
    """

    radius_mm: float
    half_height_mm: float
    ray_mm: float
    cone_roof_mm: float
    cone_floor_mm: float
    source_to_axis_mm: float
    guard_mm: float = 0.0


def recorded_region(
    field: FieldSize, place: RegionPlace, beam: Beam, guard_mm: float = 0.0
) -> RecordedRegion:
    """The recorded region of a field that starts where the region says."""
    on_axis = beam.source_to_axis_mm / beam.source_to_detector_mm
    return RecordedRegion(
        radius_mm=field.diameter_mm / 2.0,
        half_height_mm=field.height_mm / 2.0,
        ray_mm=place.central_ray_mm - (place.start_mm + field.height_mm / 2.0),
        cone_roof_mm=beam.detector_above_mm * on_axis,
        cone_floor_mm=beam.detector_below_mm * on_axis,
        source_to_axis_mm=beam.source_to_axis_mm,
        guard_mm=guard_mm,
    )


def edge_distances(
    region: RecordedRegion, points_mm: NDArray[np.floating]
) -> tuple[Array, Array, Array]:
    """Signed distance [mm] of (..., 3) field-frame points to wall, roof and floor.

    Positive inside. The distance to the cone's roof and floor is perpendicular to its side.
    Works in the precision of the points.
    """
    x, y, z = points_mm[..., 0], points_mm[..., 1], points_mm[..., 2]
    r = np.sqrt(x * x + y * y)
    wall = region.radius_mm - r - region.guard_mm
    closing = 1.0 - r / region.source_to_axis_mm
    up, down = region.cone_roof_mm, region.cone_floor_mm
    cos_up = 1.0 / math.hypot(1.0, up / region.source_to_axis_mm)
    cos_down = 1.0 / math.hypot(1.0, down / region.source_to_axis_mm)
    over = z - region.ray_mm
    roof = np.minimum(region.half_height_mm - z, (up * closing - over) * cos_up)
    floor = np.minimum(region.half_height_mm + z, (down * closing + over) * cos_down)
    return wall, roof - region.guard_mm, floor - region.guard_mm


def inside(region: RecordedRegion, points_mm: Array) -> NDArray[np.bool_]:
    """Which of (..., 3) field-frame points lie in the region; its edge counts as inside."""
    wall, roof, floor = edge_distances(region, points_mm)
    return np.asarray((wall >= 0.0) & (roof >= 0.0) & (floor >= 0.0))


def cone_limits(region: RecordedRegion, radius_mm: Array | float) -> tuple[Any, Any]:
    """Height of the cone's roof and floor at a distance from the axis, less the guard [mm]."""
    s = region.source_to_axis_mm
    closing = 1.0 - radius_mm / s
    up, down = region.cone_roof_mm, region.cone_floor_mm
    # the guard is kept perpendicular to the cone's side
    roof = region.ray_mm + up * closing - region.guard_mm * math.hypot(1.0, up / s)
    floor = region.ray_mm - down * closing + region.guard_mm * math.hypot(1.0, down / s)
    return roof, floor


def recorded_height_mm(region: RecordedRegion, radius_mm: float) -> float:
    """Height of the recorded region at a distance from the axis [mm]; zero outside."""
    if radius_mm > region.radius_mm - region.guard_mm:
        return 0.0
    top, bottom = _limits(region, radius_mm)
    return max(0.0, float(top - bottom))


def region_profile(region: RecordedRegion, rings: int = 24) -> Array:
    """Outline of the region: (n, 2) of radius and height [mm], roof outwards, floor back."""
    radii = np.linspace(0.0, region.radius_mm - region.guard_mm, rings)
    top, bottom = _limits(region, radii)
    roof = np.stack([radii, top], axis=1)
    floor = np.stack([radii, bottom], axis=1)
    return np.concatenate([roof, floor[::-1]])


def _limits(region: RecordedRegion, radius_mm: Array | float) -> tuple[Any, Any]:
    """Height of the region's roof and floor at a distance from the axis [mm]."""
    flat = region.half_height_mm - region.guard_mm
    roof, floor = cone_limits(region, radius_mm)
    return np.minimum(flat, roof), np.maximum(-flat, floor)
