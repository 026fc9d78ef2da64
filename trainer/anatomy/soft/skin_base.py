"""The large forms of head and neck: two smooth surfaces through rows of sculpting points.

Head: a distance from one inner point for every direction, so that forehead, cheeks, jaw and back of
the head flow into each other without seams. Neck: a radius about a leaning axis for every height.
The rows below are the project's own sculpting, led by the landmarks of `landmarks.py` and the
figures that the tests name (ANSUR II 2012; soft tissue depths). They are no one's measurements.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator, RBFInterpolator
from scipy.ndimage import map_coordinates, spline_filter

from trainer.anatomy.shapes.implicit import Shape

Array = NDArray[np.float64]

# Point inside the head from which every part of the base form is seen, man [mm].
CENTER_MM = np.array([0.0, -12.0, 12.0])
# The cut below the neck, height [mm].
CUT_UP_MM = -190.0
# How far the fit may leave single sculpting points to stay even (`RBFInterpolator` smoothing).
EVENNESS = 1e-3
STEP_DEG = 1.0

# Face and front half, without nose, lips and sockets: height up: (half breadth, forward), ... [mm].
FRONT_ROWS: dict[float, tuple[tuple[float, float], ...]] = {
    45: ((0, 97.6), (15, 96.8), (30, 92.3), (45, 83), (57, 68), (66, 49), (73, 24)),
    31: ((0, 98.0), (12, 97.9), (25, 96), (38, 88.5), (50, 75.5), (58, 63.5), (66, 46), (72, 23)),
    17: ((0, 93), (15, 91.5), (30, 90), (42, 82), (51.5, 71), (59.5, 57), (67, 39), (72, 20)),
    0: ((0, 96), (15, 92), (30, 86), (42, 80), (53.3, 70), (62, 56), (69, 39), (72, 22)),
    -12: ((0, 98), (15, 94.5), (30, 87.5), (42, 81), (53, 70.5), (62, 56.5), (69.3, 40), (71, 22)),
    -25: ((0, 100), (15, 96), (30, 87.5), (42, 79), (52, 68), (60, 54), (66, 38), (69, 18)),
    -40: ((0, 102.5), (15, 99), (28, 89.5), (40, 79.5), (49, 67.5), (56, 53), (61.5, 37), (65, 15)),
    -54: ((0, 100), (15, 97), (26, 89.5), (37, 77.5), (46, 63), (53, 47), (57.5, 30), (58.7, 10)),
    -68: ((0, 97.0), (15, 94.5), (26, 85.5), (36, 74), (44, 59), (49.5, 42), (52.5, 24), (53.2, 9)),
    -82: ((0, 98.4), (10, 97.2), (20, 91), (30, 78.5), (37, 66), (42.5, 51), (46, 38)),
    -93: ((0, 95.5), (10, 93.5), (18, 87), (25, 76), (29.5, 65)),
}
# Under the jaw: (half breadth, forward, up) [mm]. The first row is the skin under the bony chin.
UNDERSIDE = (
    (0, 80.5, -103), (0, 88, -101.3), (10, 82, -102), (10, 88, -99.5), (18, 78, -99.5),
    (0, 70, -102.3), (12, 68, -101), (0, 55, -101.5), (14, 52, -100), (0, 35, -102), (25, 50, -94),
    (34, 40, -88.5), (42, 28, -80), (30, 25, -90), (48, 12, -72), (51, 2, -62), (15, 15, -98),
    (0, 0, -95), (25, -5, -85), (59, -8, -45), (0, -30, -85), (30, -30, -75), (0, -55, -68),
)  # fmt: skip
# Cranium: height up: forward end, backward end, half breadth, where it is broadest (forward).
CRANIUM_ROWS: dict[float, tuple[float, float, float, float]] = {
    125: (44, -27, 34, 8),
    115: (62.5, -50, 51.5, 4),
    100: (78.5, -72, 65, 0),
    85: (87.5, -85.5, 72.3, -5),
    70: (93.2, -94, 76, -9),
    55: (96.5, -98.5, 77.2, -11),
    40: (98, -99.6, 76.8, -11),
    25: (0, -99.2, 75.3, -11),
    10: (0, -96.3, 73.3, -11),
    -5: (0, -91, 71, -11),
    -20: (0, -84, 68.5, -11),
    -38: (0, -75, 65, -11),
}
VERTEX_UP_MM = 130.0
VERTEX_FORWARD_MM = 8.0
SECTION_POWER = 2.48  # 2 is an ellipse, more is squarer
HAS_FRONT_UP_MM = 45.0  # cranium rows above this give the front half as well

# Neck: height up: forward end, backward end, half breadth [mm].
NECK_ROWS: dict[float, tuple[float, float, float]] = {
    -20: (30, -76, 46),
    -60: (36, -73, 50),
    -95: (41, -75.5, 57),
    -115: (43, -79, 60),
    -138: (42.5, -85.5, 62),
    -160: (38, -91, 65.5),
    -178: (33, -95, 72),
    -190: (29, -98, 79),
    -215: (20, -103, 100),
}


@dataclass(frozen=True, slots=True)
class _Table:
    """A smooth function of two coordinates, kept as cubic spline coefficients, and its slope."""

    coefficients: Array
    steepness: Array  # likewise: length of the gradient of (radius - value), at least 1

    def look_up(self, rows: Array, columns: Array) -> tuple[Array, Array]:
        at = np.stack([rows, columns])
        value = map_coordinates(self.coefficients, at, order=3, prefilter=False, mode="mirror")
        slope = map_coordinates(self.steepness, at, order=3, prefilter=False, mode="mirror")
        return value, np.maximum(slope, 1.0)


def _section(front: float, back: float, half: float, widest: float, angles: Array) -> Array:
    """Points (n, 2), half breadth and forward, of an egg-shaped section; angle 0 is forward."""
    c, s = np.cos(angles), np.sin(angles)
    depth = np.where(c >= 0, front - widest, widest - back)
    p = 2.0 / SECTION_POWER
    return np.stack([half * np.abs(s) ** p, widest + depth * np.sign(c) * np.abs(c) ** p], axis=1)


def _sculpting_points() -> Array:
    """Points (n, 3) [mm] of the left half of the head that the base form passes by."""
    points: list[tuple[float, float, float]] = [(0.0, -VERTEX_FORWARD_MM, VERTEX_UP_MM)]
    for up, row in FRONT_ROWS.items():
        points += [(half, -forward, up) for half, forward in row]
    points += [(half, -forward, up) for half, forward, up in UNDERSIDE]
    for up, (front, back, half, widest) in CRANIUM_ROWS.items():
        first = 0.0 if up > HAS_FRONT_UP_MM else np.pi / 2
        around = _section(front, back, half, widest, np.linspace(first, np.pi, 7 if first else 13))
        points += [(x, -f, up) for x, f in around]
    return np.array(points)


@lru_cache(maxsize=1)
def _head_table() -> _Table:
    left = _sculpting_points() - CENTER_MM
    right = left[left[:, 0] > 1e-6] * [-1.0, 1.0, 1.0]
    rays = np.vstack([left, right])
    radius = np.linalg.norm(rays, axis=1)
    fit = RBFInterpolator(rays / radius[:, None], radius, kernel="cubic", smoothing=EVENNESS)
    lift = np.deg2rad(np.arange(-90.0, 90.0 + STEP_DEG / 2, STEP_DEG))
    turn = lift + np.pi / 2
    e, t = np.meshgrid(lift, turn, indexing="ij")
    ray = np.stack([np.cos(e) * np.sin(t), -np.cos(e) * np.cos(t), np.sin(e)], axis=-1)
    table = fit(ray.reshape(-1, 3)).reshape(e.shape)
    step = np.deg2rad(STEP_DEG)
    by_lift, by_turn = np.gradient(table, step)
    by_turn /= np.maximum(np.cos(e), 0.05)
    steepness = np.sqrt(1.0 + (by_lift**2 + by_turn**2) / table**2)
    return _Table(*(spline_filter(t, order=3, mode="mirror") for t in (table, steepness)))


def head_base() -> Shape:
    """The head without neck, nose, lips, eyes and ears."""
    table = _head_table()
    per_rad = 180.0 / np.pi / STEP_DEG

    def distance(p: Array) -> Array:
        q = p - CENTER_MM
        flat = np.hypot(q[:, 0], q[:, 1])
        lift = (np.arctan2(q[:, 2], flat) + np.pi / 2) * per_rad
        turn = np.arctan2(np.abs(q[:, 0]), -q[:, 1]) * per_rad
        radius, steepness = table.look_up(lift, turn)
        near = (np.hypot(flat, q[:, 2]) - radius) / steepness
        # far below the chin the first-order distance is too short: the box is a better bound
        return np.maximum(near, lower[2] - p[:, 2])

    lower, upper = np.array([-80.0, -106.0, -107.0]), np.array([80.0, 103.0, 133.0])
    return Shape(distance, lower, upper)


@lru_cache(maxsize=1)
def _neck_curves() -> Callable[[Array], Array]:
    up = np.array(sorted(NECK_ROWS), float)
    return PchipInterpolator(up, np.array([NECK_ROWS[u] for u in sorted(NECK_ROWS)], float))


def neck_base() -> Shape:
    """The neck's column, reaching up into the head and a little below ``CUT_UP_MM``."""
    curves = _neck_curves()
    end = CUT_UP_MM - 10.0

    def distance(p: Array) -> Array:
        front, back, half = curves(np.clip(p[:, 2], -215.0, -20.0)).T
        y, ry = -(front + back) / 2, (front - back) / 2
        qx, qy = p[:, 0] / half, (p[:, 1] - y) / ry
        norm = np.hypot(qx, qy)
        slope = np.hypot(qx / half, qy / ry) / np.maximum(norm, 1e-9)
        side = (norm - 1.0) / np.maximum(slope, 1.0 / np.maximum(half, ry))
        return np.maximum(side, np.maximum(end - p[:, 2], p[:, 2] + 20.0))

    return Shape(distance, np.array([-92.0, -45.0, end]), np.array([92.0, 104.0, -20.0]))
