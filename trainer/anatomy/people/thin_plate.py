"""Thin-plate splines in space, with their slopes, on plain matrix products.

Bookstein, IEEE PAMI 1989, with the kernel r2 log r: f(p) = a + A p + sum of w_j k(|p - c_j|),
through given values at the anchors c_j. Written here, and not taken from a library, because heads
send some ten thousand points through it at once and need its slope to turn it round.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Points worked on at once: distances to all anchors then stay in the processor's cache.
BLOCK = 1024
# Lengths are counted in this unit inside, so that matrices are even [mm].
UNIT_MM = 100.0
# Keeps log(0) away; at an anchor the kernel is 0.
TINY = 1e-30
# Newton's way back: good enough, longest step, most rounds.
CLOSE_MM, LONGEST_STEP_MM, ROUNDS = 1e-7, 15.0, 30


@dataclass(frozen=True, slots=True)
class ThinPlate:
    """A smooth map of space. ``anchors`` (m, 3) in `UNIT_MM`, ``weights`` (m, 3), ``even`` (4, 3).

    What it gives is the move of a point, which is added to the point.
    """

    anchors: Array
    weights: Array
    even: Array

    def __call__(self, points_mm: Array) -> Array:
        """Where points (n, 3) go [mm]."""
        return self._blocks(points_mm, slopes=False)[0]

    def with_slope(self, points_mm: Array) -> tuple[Array, Array]:
        """Where points (n, 3) go [mm], and the map's slopes (n, 3, 3): row = which coordinate."""
        return self._blocks(points_mm, slopes=True)

    def _blocks(self, points_mm: Array, slopes: bool) -> tuple[Array, Array]:
        p = np.asarray(points_mm, np.float64).reshape(-1, 3)
        there = np.empty_like(p)
        slope = np.empty((len(p) if slopes else 0, 3, 3))
        squares = (self.anchors**2).sum(axis=1)
        # weights times anchors, for the slopes: (m, 9)
        spread = (self.weights[:, :, None] * self.anchors[:, None, :]).reshape(-1, 9)
        for first in range(0, len(p), BLOCK):
            here = slice(first, first + BLOCK)
            q = p[here] / UNIT_MM
            r2 = q @ (-2.0 * self.anchors.T)
            r2 += (q**2).sum(axis=1)[:, None]
            r2 += squares
            np.maximum(r2, TINY, out=r2)
            log = np.log(r2)
            move = (r2 * log) @ (0.5 * self.weights)
            move += self.even[0] + q @ self.even[1:]
            there[here] = p[here] + UNIT_MM * move
            if slopes:
                log += 1.0
                rate = log @ self.weights
                turn = rate[:, :, None] * q[:, None, :] - (log @ spread).reshape(-1, 3, 3)
                slope[here] = turn + self.even[1:].T + np.eye(3)
        return there, slope


def thin_plate(from_mm: Array, to_mm: Array) -> ThinPlate:
    """The spline that leads the points (m, 3) exactly to the other ones (m, 3) [mm]."""
    anchors = np.asarray(from_mm, float) / UNIT_MM
    moves = np.asarray(to_mm, float) / UNIT_MM - anchors
    count = len(anchors)
    r2 = ((anchors[:, None] - anchors[None]) ** 2).sum(axis=-1)
    system = np.zeros((count + 4, count + 4))
    system[:count, :count] = 0.5 * r2 * np.log(np.maximum(r2, TINY))
    system[:count, count] = system[count, :count] = 1.0
    system[:count, count + 1 :] = anchors
    system[count + 1 :, :count] = anchors.T
    solved: Array = np.linalg.solve(system, np.vstack([moves, np.zeros((4, 3))])).astype(float)
    return ThinPlate(anchors, solved[:count], solved[count:])


def turned_round(spline: ThinPlate, guess_mm: Array, target_mm: Array) -> Array:
    """Points (n, 3) that the spline leads to ``target_mm`` (n, 3), by Newton's way [mm].

    ``guess_mm`` is where to start. Ends below 1e-7 mm, or with what 30 rounds give.
    """
    p = np.array(guess_mm, float)
    open_ = np.arange(len(p))
    for _ in range(ROUNDS):
        there, slope = spline.with_slope(p[open_])
        off = np.asarray(target_mm[open_] - there)
        far = np.abs(off).max(axis=1, initial=0.0) > CLOSE_MM
        open_, off, slope = open_[far], off[far], slope[far]
        if not len(open_):
            break
        step = np.linalg.solve(slope, off[:, :, None])[:, :, 0]
        length = np.linalg.norm(step, axis=1, keepdims=True)
        p[open_] += step * np.minimum(1.0, LONGEST_STEP_MM / np.maximum(length, TINY))
    return p
