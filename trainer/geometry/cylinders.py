"""Cylinders round a target, and the play a field leaves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Point = tuple[float, float]

# A point this close to the circle counts as on it.
TOUCHING_MM = 1e-9


@dataclass(frozen=True, slots=True)
class TargetCylinder:
    """The smallest upright cylinder that holds a target: centre (3,), diameter and height [mm]."""

    centre_mm: Array
    diameter_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class FreePlay:
    """How far target and field centre may stand apart [mm]; negative: does not fit."""

    radial_mm: float
    vertical_mm: float


def target_cylinder(points_mm: Array) -> TargetCylinder:
    """The smallest upright cylinder that holds (n, 3) points [mm]."""
    centre, radius = smallest_circle(points_mm[:, :2])
    low, high = points_mm[:, 2].min(), points_mm[:, 2].max()
    return TargetCylinder(np.array([*centre, (low + high) / 2.0]), 2.0 * radius, float(high - low))


def free_play(
    field_diameter_mm: float,
    field_height_mm: float,
    target_diameter_mm: float,
    target_height_mm: float,
    margin_mm: float,
) -> FreePlay:
    """Play of a cylindrical target in a cylindrical field: half the difference, less the margin."""
    return FreePlay(
        field_diameter_mm / 2.0 - target_diameter_mm / 2.0 - margin_mm,
        field_height_mm / 2.0 - target_height_mm / 2.0 - margin_mm,
    )


def smallest_circle(points_mm: Array) -> tuple[Array, float]:
    """Centre (2,) and radius of the smallest circle that holds (n, 2) points.

    The circle of a few points is found exactly (Welzl, "Smallest enclosing disks", 1991); the
    point that sticks out farthest joins them until none does. The radius grows with each, so it
    ends, and the last circle is the smallest for all.
    """
    pts = np.asarray(points_mm, float)
    x, y = pts[:, 0], pts[:, 1]
    few: list[tuple[float, float]] = []
    centre, radius = (float(x[0]), float(y[0])), 0.0
    while True:
        away = (x - centre[0]) ** 2 + (y - centre[1]) ** 2
        worst = int(np.argmax(away))
        if math.sqrt(away[worst]) <= radius + TOUCHING_MM:
            return np.array(centre), radius
        few.append((float(x[worst]), float(y[worst])))
        centre, radius = _circle_of_few(few)


def _circle_of_few(points: list[Point]) -> tuple[Point, float]:
    """Smallest circle of a few points, by taking each point left out onto the rim."""
    centre, radius = points[0], 0.0
    for i, p in enumerate(points):
        if math.dist(p, centre) <= radius + TOUCHING_MM:
            continue
        centre, radius = p, 0.0
        for j, q in enumerate(points[:i]):
            if math.dist(q, centre) <= radius + TOUCHING_MM:
                continue
            centre, radius = _circle_across(p, q)
            for r in points[:j]:
                if math.dist(r, centre) > radius + TOUCHING_MM:
                    centre, radius = _circle_through(p, q, r)
    return centre, radius


def _circle_across(a: Point, b: Point) -> tuple[Point, float]:
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0), math.dist(a, b) / 2.0


def _circle_through(a: Point, b: Point, c: Point) -> tuple[Point, float]:
    bx, by, cx, cy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    d = 2.0 * (bx * cy - by * cx)
    if abs(d) < 1e-12:  # on one line: the outer two make the circle
        return max((_circle_across(*pair) for pair in ((a, b), (a, c), (b, c))), key=lambda k: k[1])
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    ux, uy = (cy * b2 - by * c2) / d, (bx * c2 - cx * b2) / d
    return (a[0] + ux, a[1] + uy), math.hypot(ux, uy)
