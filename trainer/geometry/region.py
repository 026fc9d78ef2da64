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

Of a panoramic picture the region is the whole cylinder: each place of the layer is seen by a narrow
beam from its own side, at the same distance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.cylinders import FreePlay, TargetCylinder, free_play
from trainer.models.device import Beam, FieldSize, RegionPlace

Array = NDArray[np.float64]

# A source so far away that nothing is lost to the cone.
FAR_MM = 1e9


@dataclass(frozen=True, slots=True)
class RecordedRegion:
    """The recorded region in the field frame [mm].

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


def recorded_region(field: FieldSize, place: RegionPlace, beam: Beam) -> RecordedRegion:
    """The recorded region of a field that starts where the region says."""
    on_axis = beam.source_to_axis_mm / beam.source_to_detector_mm
    return RecordedRegion(
        radius_mm=field.diameter_mm / 2.0,
        half_height_mm=field.height_mm / 2.0,
        ray_mm=place.central_ray_mm - (place.start_mm + field.height_mm / 2.0),
        cone_roof_mm=beam.detector_above_mm * on_axis,
        cone_floor_mm=beam.detector_below_mm * on_axis,
        source_to_axis_mm=beam.source_to_axis_mm if field.layer is None else FAR_MM,
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
    wall = region.radius_mm - r
    closing = 1.0 - r / region.source_to_axis_mm
    up, down = region.cone_roof_mm, region.cone_floor_mm
    cos_up = 1.0 / math.hypot(1.0, up / region.source_to_axis_mm)
    cos_down = 1.0 / math.hypot(1.0, down / region.source_to_axis_mm)
    over = z - region.ray_mm
    roof = np.minimum(region.half_height_mm - z, (up * closing - over) * cos_up)
    floor = np.minimum(region.half_height_mm + z, (down * closing + over) * cos_down)
    return wall, roof, floor


def inside(region: RecordedRegion, points_mm: Array) -> NDArray[np.bool_]:
    """Which of (..., 3) field-frame points lie in the region; its edge counts as inside."""
    wall, roof, floor = edge_distances(region, points_mm)
    return np.asarray((wall >= 0.0) & (roof >= 0.0) & (floor >= 0.0))


def recorded_height_mm(region: RecordedRegion, radius_mm: float) -> float:
    """Height of the recorded region at a distance from the axis [mm]; zero outside."""
    if radius_mm > region.radius_mm:
        return 0.0
    top, bottom = height_limits(region, radius_mm)
    return max(0.0, float(top - bottom))


def region_profile(region: RecordedRegion, rings: int = 24) -> Array:
    """Outline of the region: (n, 2) of radius and height [mm], roof outwards, floor back."""
    radii = np.linspace(0.0, region.radius_mm, rings)
    top, bottom = height_limits(region, radii)
    roof = np.stack([radii, top], axis=1)
    floor = np.stack([radii, bottom], axis=1)
    return np.concatenate([roof, floor[::-1]])


def height_limits(region: RecordedRegion, radius_mm: Array | float) -> tuple[Any, Any]:
    """Height of the region's roof and floor at a distance from the axis [mm]."""
    closing = 1.0 - radius_mm / region.source_to_axis_mm
    roof = region.ray_mm + region.cone_roof_mm * closing
    floor = region.ray_mm - region.cone_floor_mm * closing
    return np.minimum(region.half_height_mm, roof), np.maximum(-region.half_height_mm, floor)


def free_play_in(region: RecordedRegion, target: TargetCylinder, margin_mm: float) -> FreePlay:
    """Play of a target in the region: as `free_play`, with the height left at the target's rim."""
    top, bottom = height_limits(region, target.diameter_mm / 2.0)
    return free_play(
        2.0 * region.radius_mm,
        2.0 * float(min(top, -bottom)),
        target.diameter_mm,
        target.height_mm,
        margin_mm,
    )


def shift_limits(
    region: RecordedRegion, points_mm: Array, needs_mm: Array, axis: int
) -> tuple[Array, Array]:
    """How far groups of points may be shifted along an axis and stay inside.

    Parameters
    ----------
    region : RecordedRegion
        The region.
    points_mm : (k, n, 3)
        k groups of points in the field frame [mm].
    needs_mm : (n,)
        Distance that each point has to keep from the edge [mm].
    axis : int
        0, 1 or 2.

    Returns
    -------
    Two arrays (k,): lowest and highest shift [mm]; lowest above highest when there is none.
    """
    x, y, z = (points_mm[..., i] for i in range(3))
    s, up, down = region.source_to_axis_mm, region.cone_roof_mm, region.cone_floor_mm
    # a distance kept from the cone's side is this much longer along the axis
    keep_up, keep_down = needs_mm * math.hypot(1.0, up / s), needs_mm * math.hypot(1.0, down / s)
    flat = region.half_height_mm - needs_mm
    if axis == 2:
        r = np.sqrt(x * x + y * y)
        closing = 1.0 - r / s
        high = np.minimum(flat, region.ray_mm + up * closing - keep_up) - z
        low = np.maximum(-flat, region.ray_mm - down * closing + keep_down) - z
        never = r > region.radius_mm - needs_mm
    else:
        along, across = (x, y) if axis == 0 else (y, x)
        over = z - region.ray_mm
        # the cone's roof and floor at this height, told as a distance from the axis
        reach = np.minimum(region.radius_mm - needs_mm, s * (1.0 - (over + keep_up) / up))
        reach = np.minimum(reach, s * (1.0 - (keep_down - over) / down))
        half = np.sqrt(np.maximum(reach * reach - across * across, 0.0))
        never = (reach < np.abs(across)) | (np.abs(z) > flat)
        high, low = half - along, -half - along
    high, low = high.min(axis=1), low.max(axis=1)
    return np.where(never.any(axis=1), np.inf, low), high
