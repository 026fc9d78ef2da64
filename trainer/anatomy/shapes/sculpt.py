"""Free forms for bones: star-shaped solids through given surface points, and lofted sections.

Points are given as (L, F, U): to the left, forward, up from the skull frame's origin, the way
anatomists tabulate them; `lfu` turns them into the frame's x (left), y (back), z (up).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.shapes.implicit import Shape

Array = NDArray[np.float64]

# Angular step of a star's radius table; bones here bend little within it.
STAR_STEP_DEG = 3.0


def lfu(points_mm: ArrayLike) -> Array:
    """Skull-frame coordinates [mm] of points given as left, forward, up [mm]; any leading shape."""
    return np.asarray(points_mm, float) * np.array([1.0, -1.0, 1.0])


def star(center_lfu: ArrayLike, points_lfu: ArrayLike, midline: bool = False) -> Shape:
    """A solid whose smooth surface passes through the given points, seen from its centre.

    The radius over direction is a thin-plate spline through the points, tabulated once.
    ``midline`` adds every point's mirror image; then the centre must lie at L = 0. First order
    distance: right at the surface, approximate away from it.
    """
    from scipy.interpolate import RBFInterpolator
    from scipy.ndimage import map_coordinates, spline_filter

    c = lfu(center_lfu)
    v = lfu(points_lfu) - c
    if midline:
        v = np.concatenate([v, v[np.abs(v[:, 0]) > 1e-9] * [-1.0, 1.0, 1.0]])
    reach = np.linalg.norm(v, axis=1)
    spline = RBFInterpolator(v / reach[:, None], reach, kernel="thin_plate_spline")
    step = np.deg2rad(STAR_STEP_DEG)
    margin = 4  # table rows beyond each pole, and columns beyond each end of the circle
    polar = np.arange(-margin, round(np.pi / step) + margin + 1) * step
    around = np.arange(-margin, round(2 * np.pi / step) + margin + 1) * step
    t, f = np.meshgrid(polar, around, indexing="ij")
    unit = np.stack([np.sin(t) * np.cos(f), np.sin(t) * np.sin(f), np.cos(t)], axis=-1)
    radius = spline(unit.reshape(-1, 3)).reshape(t.shape)
    by_polar, by_around = np.gradient(np.log(radius), step)
    slope = np.sqrt(1.0 + by_polar**2 + (by_around / np.maximum(np.abs(np.sin(t)), 0.2)) ** 2)
    smooth = spline_filter(radius, order=3)

    def distance(p: Array) -> Array:
        q = p - c
        rho = np.maximum(np.sqrt(np.einsum("ij,ij->i", q, q)), 1e-9)
        rows = np.arccos(np.clip(q[:, 2] / rho, -1.0, 1.0)) / step + margin
        columns = np.mod(np.arctan2(q[:, 1], q[:, 0]), 2 * np.pi) / step + margin
        where = np.stack([rows, columns])
        r = map_coordinates(smooth, where, order=3, prefilter=False)
        return np.asarray((rho - r) / map_coordinates(slope, where, order=1))

    on = unit * radius[..., None]
    lower, upper = on.min(axis=(0, 1)), on.max(axis=(0, 1))
    return Shape(distance, c + lower - 0.5, c + upper + 0.5)


def loft(
    start_lfu: ArrayLike,
    end_lfu: ArrayLike,
    half_widths_mm: ArrayLike,
    half_heights_mm: ArrayLike,
    up_lfu: ArrayLike,
    lift_mm: ArrayLike | None = None,
    power: float = 2.0,
) -> Shape:
    """Superelliptic sections along a straight axis, cut flat at both ends.

    Half widths, half heights and ``lift_mm`` (the section's middle above the axis) are given at
    even steps from start to end and run smoothly between. ``up_lfu`` is made perpendicular to the
    axis.
    """
    from scipy.interpolate import PchipInterpolator

    a, b = lfu(start_lfu), lfu(end_lfu)
    length = float(np.linalg.norm(b - a))
    along = (b - a) / length
    up = lfu(up_lfu)
    up = up - (up @ along) * along
    up /= np.linalg.norm(up)
    side = np.cross(along, up)
    fine = np.linspace(0.0, 1.0, 65)

    def run(values: ArrayLike) -> Array:
        given = np.asarray(values, float)
        return np.asarray(PchipInterpolator(np.linspace(0, 1, len(given)), given)(fine))

    w, h = run(half_widths_mm), run(half_heights_mm)
    lift = run(lift_mm) if lift_mm is not None else np.zeros(65)

    def distance(p: Array) -> Array:
        q = p - a
        s = q @ along
        t = np.clip(s / length, 0.0, 1.0)
        rw, rh = np.interp(t, fine, w), np.interp(t, fine, h)
        x = np.abs(q @ side) / rw
        y = np.abs(q @ up - np.interp(t, fine, lift)) / rh
        total = x**power + y**power
        norm = total ** (1.0 / power)
        gx, gy = x ** (power - 1.0) / rw, y ** (power - 1.0) / rh
        slope = np.sqrt(gx * gx + gy * gy) * np.maximum(total, 1e-12) ** (1.0 / power - 1.0)
        d = (norm - 1.0) / np.maximum(slope, 1.0 / np.maximum(rw, rh))
        d = np.maximum(d, -np.minimum(rw, rh))
        return np.maximum(d, np.maximum(-s, s - length))

    corners = []
    for i in range(65):
        middle = a + fine[i] * (b - a) + lift[i] * up
        reach = np.abs(side) * w[i] + np.abs(up) * h[i]
        corners += [middle - reach, middle + reach]
    return Shape(distance, np.min(corners, axis=0), np.max(corners, axis=0))
