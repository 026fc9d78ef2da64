"""Finding places on a person's skin, for what is worn on it."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.people.warp import HeadWarp, head_warp
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.soft.skin import skin
from trainer.models.subject import Person

Array = NDArray[np.float64]

SLOPE_STEP_MM = 0.1
STEPS, CLOSE_ENOUGH_MM = 14, 0.01
CORNERS = np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]], float)


class Skin:
    """The skin of one person, in the skull frame with the teeth together [mm]."""

    def __init__(self, person: Person) -> None:
        self.warp: HeadWarp = head_warp(person)
        self.shape: Shape = self.warp.shape(skin())

    def of_man(self, points_mm: ArrayLike) -> Array:
        """Where the mean man's points (n, 3) lie in this person."""
        return self.warp.to_subject(np.asarray(points_mm, float).reshape(-1, 3))

    def away_mm(self, points_mm: Array) -> tuple[Array, Array]:
        """Distance (n,), made true by the slope, and the directions (n, 3) straight out."""
        n = len(points_mm)
        around = points_mm[None] + SLOPE_STEP_MM * CORNERS[:, None]
        values = self.shape(around.reshape(-1, 3)).reshape(4, n)
        # four corners of a cube in a tetrahedron: their mean is the value, to second order
        slope = 0.25 * values.T @ CORNERS / SLOPE_STEP_MM
        steep = np.maximum(np.linalg.norm(slope, axis=1), 0.3)
        return values.mean(axis=0) / steep, slope / steep[:, None]

    def laid(self, points_mm: Array, off_mm: float, only_out: bool = False) -> Array:
        """The points moved straight in or out until they are ``off_mm`` off the skin.

        ``only_out`` moves none that are farther off already.
        """
        p = np.array(points_mm, float)
        for _ in range(STEPS):
            away, out = self.away_mm(p)
            step = np.clip(off_mm - away, -4.0, 4.0)
            if only_out:
                step = np.maximum(step, 0.0)
            p += 0.9 * step[:, None] * out
            if np.abs(step).max() < CLOSE_ENOUGH_MM:
                break
        return p

    def along(self, start_mm: ArrayLike, way: ArrayLike, reach_mm: float = 60.0) -> Array:
        """Where a ray from outside first meets the skin (3,)."""
        start, unit = np.asarray(start_mm, float), np.asarray(way, float)
        unit = unit / np.linalg.norm(unit)
        t = np.arange(0.0, reach_mm, 0.05)
        inside = self.shape(start + t[:, None] * unit) < 0.0
        return np.asarray(start + t[np.argmax(inside)] * unit)


@lru_cache(maxsize=4)
def skin_of(person: Person) -> Skin:
    """The skin of a person, kept."""
    return Skin(person)
