"""Cylinders round a target, and the play a field leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

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
    """How far the target's centre may stand from the field's centre [mm]; negative: does not fit."""

    radial_mm: float
    vertical_mm: float


def target_cylinder(points_mm: Array) -> TargetCylinder:
    """The smallest upright cylinder that holds (n, 3) points [mm]."""
    centre, radius = smallest_circle(points_mm[:, :2])
    low, high = points_mm[:, 2].min(), points_mm[:, 2].max()
    return TargetCylinder(
        np.array([*centre, (low + high) / 2.0]), 2.0 * radius, float(high - low)
    )


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

    Welzl, "Smallest enclosing disks" (1991), in its iterative form; the order is fixed by a seed,
    so the answer is the same on every run.
    """
    pts = np.unique(np.asarray(points_mm, float), axis=0)
    pts = pts[np.random.default_rng(0).permutation(len(pts))]
    centre, radius = pts[0], 0.0

    def outside(upto: int) -> int | None:
        """First point before ``upto`` that is not in the circle."""
        away = np.linalg.norm(pts[:upto] - centre, axis=1) > radius + TOUCHING_MM
        return int(np.argmax(away)) if away.any() else None

    # Each pass puts the first point left out on the rim; the radius grows, so it ends.
    while (i := outside(len(pts))) is not None:
        centre, radius = pts[i], 0.0
        while (j := outside(i)) is not None:
            centre, radius = (pts[i] + pts[j]) / 2.0, float(np.linalg.norm(pts[i] - pts[j]) / 2.0)
            while (k := outside(j)) is not None:
                centre, radius = _circle_through(pts[i], pts[j], pts[k])
    return centre, radius


def _circle_through(a: Array, b: Array, c: Array) -> tuple[Array, float]:
    ab, ac = b - a, c - a
    d = 2.0 * (ab[0] * ac[1] - ab[1] * ac[0])
    if abs(d) < 1e-12:  # on one line: the outer two make the circle
        ends = max(((a, b), (a, c), (b, c)), key=lambda e: float(np.linalg.norm(e[0] - e[1])))
        return (ends[0] + ends[1]) / 2.0, float(np.linalg.norm(ends[0] - ends[1]) / 2.0)
    u = np.array(
        [ac[1] * (ab @ ab) - ab[1] * (ac @ ac), ab[0] * (ac @ ac) - ac[0] * (ab @ ab)]
    ) / d
    return a + u, float(np.linalg.norm(u))
