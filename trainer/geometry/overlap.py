"""How much two recorded regions share."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from trainer.geometry.region import RecordedRegion, edge_distances
from trainer.geometry.transforms import apply, inverse
from trainer.models.frames import RigidTransform

Array = NDArray[np.float64]

# A distance from the axis is told as if measured from this far beside it [mm], which leaves no
# corner there for the search to hang on and changes no distance by more.
_BESIDE_MM = 1e-3


def depth_in(region: RecordedRegion, points_mm: Array) -> Array:
    """Signed distance of (..., 3) field-frame points to the region's edge [mm], positive inside."""
    wall, roof, floor = edge_distances(region, points_mm)
    return np.asarray(np.minimum(np.minimum(wall, roof), floor))


def shared_mm(
    first: RecordedRegion, second: RecordedRegion, first_to_second: RigidTransform
) -> float:
    """Diameter of the largest ball that lies in both regions [mm].

    For fields one above the other or side by side this is the height or the width that they share.
    Below zero: how far they are apart, as their nearest faces tell. ``first_to_second`` leads from
    the first region's field frame to the second's.

    Both regions are convex, so the lesser of the two depths has one highest value only, and a
    search uphill finds it.
    """
    turn = first_to_second.rotation
    centre = inverse(first_to_second).translation_mm

    def room(at: Array) -> Array:
        here, _ = _faces(first, at[:3])
        there, _ = _faces(second, apply(first_to_second, at[:3]))
        return np.concatenate([here, there]) - at[3]

    def slopes(at: Array) -> Array:
        _, here = _faces(first, at[:3])
        _, there = _faces(second, apply(first_to_second, at[:3]))
        return np.column_stack([np.concatenate([here, there @ turn]), -np.ones(10)])

    start = centre / 2.0
    found = minimize(
        lambda at: -at[3],
        [*start, room(np.array([*start, 0.0])).min()],
        jac=lambda _: np.array([0.0, 0.0, 0.0, -1.0]),
        constraints={"type": "ineq", "fun": room, "jac": slopes},
        method="SLSQP",
        options={"ftol": 1e-7, "maxiter": 200},
    )
    point = found.x[:3]
    return 2.0 * min(
        float(depth_in(first, point)), float(depth_in(second, apply(first_to_second, point)))
    )


def _faces(region: RecordedRegion, point_mm: Array) -> tuple[Array, Array]:
    """Distances (5,) of a point to wall, flat and cone-shaped roof and floor, and slopes (5, 3)."""
    x, y, z = point_mm
    r = math.sqrt(x * x + y * y + _BESIDE_MM**2)
    s, up, down = region.source_to_axis_mm, region.cone_roof_mm, region.cone_floor_mm
    cos_up, cos_down = 1.0 / math.hypot(1.0, up / s), 1.0 / math.hypot(1.0, down / s)
    over, closing = z - region.ray_mm, 1.0 - r / s
    out = np.array([x / r, y / r, 0.0])
    high = np.array([0.0, 0.0, 1.0])
    distances = np.array(
        [
            region.radius_mm - r,
            region.half_height_mm - z,
            region.half_height_mm + z,
            (up * closing - over) * cos_up,
            (down * closing + over) * cos_down,
        ]
    )
    slopes = np.stack(
        [
            -out,
            -high,
            high,
            (-up / s * out - high) * cos_up,
            (-down / s * out + high) * cos_down,
        ]
    )
    return distances, slopes
