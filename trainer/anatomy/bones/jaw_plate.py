"""The bent plate that the lower jaw is made of, in the mean man.

Body, angle, ramus, coronoid process and condylar neck are one sheet of bone, bent along a
horseshoe and cut to an outline. A point's place on the sheet is (s, u, z): ``s`` along the
horseshoe from the midline, ``u`` outwards from it, ``z`` up. Two tables tell how far the outer
and the inner face lie from the horseshoe; a closed line in (s, z) is the border.

The tables follow the landmark set and the general look of the bone (from memory, no source); the
tests measure what comes out against published sizes and angles.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from trainer.anatomy.shapes.implicit import Shape

Array = NDArray[np.float64]

BORDER_ROUND_MM = 4.5  # how softly the faces run into the border
CURVE_STEP_MM = 0.25  # between points of the horseshoe
TABLE_STEP_MM = 0.5  # between the values of the look-up tables

# Horseshoe in plan view: lateral, forward [mm], from the midline to behind the ramus.
HORSESHOE = np.array(
    [[0, 81.5], [7, 80.9], [14.5, 78.4], [20.9, 73.0], [25.6, 64.6], [29.4, 54.7], [33.8, 44.4],
     [38.8, 33.3], [43.3, 23], [46.5, 13], [48.5, 3], [49.5, -6]], float
)  # fmt: skip
# Lower border as a straight line in side view through the landmarks gonion and menton: heights in
# the face tables count from it.
GONION_FU = (12.0, -62.5)
MENTON_FU = (80.5, -95.5)

# Heights above the lower border line [mm] of the columns below.
FACE_HEIGHTS = np.array([-4, 0, 4, 8, 13, 18, 24, 32, 44, 58, 72], float)
# One row for each point of the horseshoe: outwards from it to the outer face [mm].
OUTER_FACE = np.array(
    [[0.5, 2.0, 4.6, 5.9, 6.1, 4.2, 2.8, 4.5, 6, 6, 6],  # midline: chin point, hollow above
     [1.0, 2.8, 5.4, 5.7, 4.5, 3.3, 3.6, 5.0, 6, 6, 6],  # mental tubercle
     [1.7, 3.2, 4.6, 4.6, 4.5, 4.7, 5.3, 6.0, 6, 6, 6],  # canine
     [1.5, 2.7, 4.5, 5.4, 5.8, 5.9, 5.8, 5.4, 6, 6, 6],  # premolars
     [1.8, 3.2, 5.0, 6.1, 6.8, 7.2, 6.8, 6.0, 6, 6, 6],  # first molar
     [2.3, 3.8, 5.5, 6.5, 7.2, 7.8, 7.4, 6.0, 6, 6, 6],  # second molar: oblique line
     [2.5, 4.2, 5.8, 6.7, 7.4, 8.1, 8.6, 8.8, 8.6, 8, 8],  # third molar, front of the ramus
     [2.7, 4.4, 5.8, 6.5, 6.9, 7.1, 7.2, 7.3, 7.8, 8.6, 9],  # ramus, coronoid process
     [3.3, 4.6, 5.4, 5.5, 5.4, 5.2, 5.0, 5.0, 5.6, 7, 8],
     [3.6, 4.5, 4.7, 4.4, 4.2, 4.0, 4.0, 4.6, 6.4, 8, 8],  # gonion; neck above
     [3.0, 3.4, 3.4, 3.2, 3.0, 3.0, 3.4, 4.6, 6.6, 8, 8],
     [3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.4, 4.6, 6.6, 8, 8]], float
)  # fmt: skip
# The same to the inner face.
INNER_FACE = np.array(
    [[-3.0, -4.4, -6.0, -6.8, -7.0, -6.4, -5.2, -3, 0, 0, 0],
     [-3.0, -4.2, -5.6, -6.5, -6.6, -6.0, -5.2, -4, 0, 0, 0],
     [-2.8, -4.2, -5.4, -6.0, -6.2, -6.1, -5.6, -5, 0, 0, 0],
     [-2.8, -4.2, -5.4, -6.0, -6.3, -6.5, -6.4, -6, 0, 0, 0],
     [-2.6, -4.0, -4.9, -5.2, -5.8, -6.8, -7.2, -6, 0, 0, 0],
     [-2.3, -3.3, -4.0, -4.0, -4.8, -7.0, -8.0, -7, 0, 0, 0],  # hollow below the mylohyoid line
     [-2.1, -2.7, -3.2, -3.9, -5.9, -7.6, -8.4, -6.8, -1, 2, 3],
     [-2.2, -2.6, -2.8, -3.2, -4.0, -4.6, -4.6, -3.6, 0.6, 3.8, 5],
     [-2.4, -2.8, -3.0, -3.0, -2.8, -2.6, -2.4, -2.2, -1, 2, 3],
     [-2.8, -3.2, -3.4, -3.4, -3.4, -3.2, -3.0, -2.6, -1.6, 0, 0],
     [-3.0, -3.4, -3.6, -3.6, -3.6, -3.4, -3.2, -2.6, -1.8, 0, 0],
     [-3.0, -3.4, -3.6, -3.6, -3.6, -3.4, -3.2, -2.6, -1.8, 0, 0]], float
)  # fmt: skip

# Lower border: along the horseshoe, above the straight line [mm]; chin, then the shallow notch in
# front of the angle. Upper edge of the body, hidden in the rim: along the horseshoe, up [mm].
LOWER_BORDER_MM = np.array(
    [[0, 0.4], [6, -0.2], [12, -0.3], [20, 0.1], [31, 0.2], [42, 0.2], [54, 0.5], [65, 1.4]], float
)
UPPER_EDGE_SU = np.array([[33, -64.0], [22, -67], [10, -69.5], [0, -70]], float)
# Angle, rear border, condylar neck, notch, coronoid process, front border, oblique line:
# forward, up [mm] in side view.
NOTCH_FORWARD_MM = 24.0  # lowest point of the notch
RAMUS_FU = np.array(
    [[23, -67.6], [17.5, -65.6], [13.0, -61.6], [10.3, -55], [9.2, -46], [8.0, -34], [6.4, -22],
     [5.0, -14], [5.6, -9], [8.5, -6], [13.5, -6], [14.6, -9], [15.8, -13.5], [19, -18.6],
     [24, -20.8], [29, -18.6], [32.6, -13.4], [35.2, -9.0], [37.2, -7.4], [39.0, -9.2], [40.2, -17],
     [39.6, -27], [39.8, -35], [41.6, -43], [45.2, -51], [50.5, -57.5], [57, -61.5]], float
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Table:
    """A quantity on a flat grid, read with straight interpolation; held fast beyond its edges."""

    values: Array
    start: tuple[float, float]

    def __call__(self, a_mm: Array, b_mm: Array) -> Array:
        where = np.array([a_mm - self.start[0], b_mm - self.start[1]]) / TABLE_STEP_MM
        found = map_coordinates(self.values, where, order=1, mode="nearest")
        return np.asarray(found, np.float64)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The bent plate of the mean man's lower jaw, left half."""

    along: _Table  # (x, y) -> s
    out: _Table  # (x, y) -> u
    outer: _Table  # (s, height above the lower border line) -> u
    inner: _Table
    border: _Table  # (s, z) -> signed distance to the outline
    curve_mm: Array  # (n, 2) x, y of the horseshoe, CURVE_STEP_MM apart
    normal: Array  # (n, 2) outwards

    def locate(self, points_mm: Array) -> tuple[Array, Array, Array]:
        """s, u [mm] and height above the lower border line [mm] of (n, 3) points, side dropped."""
        x, y, z = np.abs(points_mm[:, 0]), points_mm[:, 1], points_mm[:, 2]
        return self.along(x, y), self.out(x, y), z - border_line(-y)

    def point(self, s_mm: ArrayLike, u_mm: ArrayLike, z_mm: ArrayLike) -> Array:
        """(n, 3) points [mm] on the left side for places on the sheet."""
        i = np.clip(np.asarray(s_mm, float) / CURVE_STEP_MM, 0, len(self.curve_mm) - 1)
        k = np.arange(len(self.curve_mm))
        xy = np.stack(
            [
                np.interp(i, k, self.curve_mm[:, j])
                + np.asarray(u_mm, float) * np.interp(i, k, self.normal[:, j])
                for j in (0, 1)
            ],
            axis=-1,
        )
        z = np.broadcast_to(np.asarray(z_mm, float), xy.shape[:-1])
        return np.concatenate([xy, z[..., None]], axis=-1)

    def faces(self, s_mm: ArrayLike, z_mm: ArrayLike) -> tuple[Array, Array]:
        """u [mm] of the inner and the outer face at places on the sheet."""
        s = np.atleast_1d(np.asarray(s_mm, float))
        height = np.asarray(z_mm, float) - border_line(-self.point(s, 0.0, 0.0)[:, 1])
        return self.inner(s, height), self.outer(s, height)


def border_line(forward_mm: ArrayLike) -> Array:
    """Height [mm] of the straight line through gonion and menton, mean man in side view."""
    (f0, u0), (f1, u1) = GONION_FU, MENTON_FU
    return u0 + (u1 - u0) / (f1 - f0) * (np.asarray(forward_mm, float) - f0)


def _face_table(rows: Array, stations_mm: Array) -> _Table:
    """The face rows, made smooth without overshoot (Fritsch & Carlson 1980) and even at s = 0."""
    s = np.r_[-stations_mm[:0:-1], stations_mm]
    full = np.vstack([rows[:0:-1], rows])
    fine_s = np.arange(0.0, stations_mm[-1], TABLE_STEP_MM)
    fine_h = np.arange(FACE_HEIGHTS[0], FACE_HEIGHTS[-1], TABLE_STEP_MM)
    along = PchipInterpolator(s, full, axis=0)(fine_s)
    return _Table(PchipInterpolator(FACE_HEIGHTS, along, axis=1)(fine_h), (0.0, fine_h[0]))


def _border_table(loop_mm: Array) -> _Table:
    """Signed distance [mm] to the closed line ``loop_mm`` (n, 2), negative inside."""
    s, z = np.arange(-10.0, 115.0, TABLE_STEP_MM), np.arange(-110.0, 12.0, TABLE_STEP_MM)
    best, inside = np.full((len(s), len(z)), np.inf), np.zeros((len(s), len(z)), bool)
    for a, b in zip(loop_mm, np.roll(loop_mm, -1, axis=0), strict=True):
        along, up = b - a
        ds, dz = (s - a[0])[:, None], (z - a[1])[None, :]
        t = np.clip((ds * along + dz * up) / max(along**2 + up**2, 1e-12), 0.0, 1.0)
        best = np.minimum(best, (ds - t * along) ** 2 + (dz - t * up) ** 2)
        level = (a[1] > z) != (b[1] > z)
        if level.any():
            crossed_at = a[0] + (z[level] - a[1]) / up * along
            inside[:, level] ^= s[:, None] < crossed_at
    best = np.sqrt(best)
    return _Table(np.where(inside, -best, best), (s[0], z[0]))


@lru_cache(maxsize=1)
def sheet() -> Sheet:
    """The mean man's jaw plate, ready to be asked."""
    plan = HORSESHOE * np.array([1.0, -1.0])
    curve, tangent = _course(plan)
    normal = np.stack([tangent[:, 1], -tangent[:, 0]], axis=-1)
    s = np.arange(len(curve), dtype=np.float64) * CURVE_STEP_MM
    nearest = cKDTree(curve)
    stations = s[nearest.query(plan)[1]]

    x, y = np.arange(0.0, 76.0, TABLE_STEP_MM), np.arange(-104.0, 20.0, TABLE_STEP_MM)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    near = nearest.query(grid)[1]
    off = grid - curve[near]
    return Sheet(
        along=_Table(s[near] + np.sum(off * tangent[near], axis=-1), (x[0], y[0])),
        out=_Table(np.sum(off * normal[near], axis=-1), (x[0], y[0])),
        outer=_face_table(OUTER_FACE, stations),
        inner=_face_table(INNER_FACE, stations),
        border=_border_table(_outline(curve, s)),
        curve_mm=curve,
        normal=normal,
    )


def _course(plan_mm: Array) -> tuple[Array, Array]:
    """Points [mm] `CURVE_STEP_MM` apart on the horseshoe, and the unit direction at each."""
    knots = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(plan_mm, axis=0), axis=1))]
    # leaves the midline square to it, so that both halves meet without a crease
    spline = CubicSpline(knots, plan_mm, bc_type=((1, np.array([1.0, 0.0])), (2, np.zeros(2))))
    fine = spline(np.linspace(0.0, knots[-1], 2000))
    run = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(fine, axis=0), axis=1))]
    s = np.arange(0.0, run[-1], CURVE_STEP_MM)
    curve = np.stack([np.interp(s, run, fine[:, j]) for j in (0, 1)], axis=-1)
    tangent = np.gradient(curve, CURVE_STEP_MM, axis=0)
    tangent[0] = (1.0, 0.0)
    return curve, tangent / np.linalg.norm(tangent, axis=1)[:, None]


def _outline(curve_mm: Array, s_mm: Array) -> Array:
    """The plate's border as a closed line of places (s, z) [mm], drawn on across the midline."""
    lower = LOWER_BORDER_MM.copy()
    lower[:, 1] += border_line(-np.interp(lower[:, 0], s_mm, curve_mm[:, 1]))
    ramus = RAMUS_FU.copy()
    ramus[:, 0] = np.interp(-RAMUS_FU[:, 0], curve_mm[:, 1], s_mm)
    half = np.vstack([lower, ramus, UPPER_EDGE_SU])
    chord = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(half, axis=0), axis=1))]
    smooth = PchipInterpolator(chord, half)(np.linspace(0.0, chord[-1], 240))
    return np.vstack([smooth, [[-20.0, smooth[-1, 1]], [-20.0, smooth[0, 1]]]])


def _smooth_max(a: Array, b: Array, k: float) -> Array:
    h = np.maximum(k - np.abs(a - b), 0.0) / k
    return np.maximum(a, b) + h * h * k * 0.25


def plate() -> Shape:
    """The bent plate, both sides, as a solid [mm]."""
    bent = sheet()

    def distance(p: Array) -> Array:
        s, u, height = bent.locate(p)
        face = np.maximum(u - bent.outer(s, height), bent.inner(s, height) - u)
        return _smooth_max(face, bent.border(s, p[:, 2]), BORDER_ROUND_MM)

    return Shape(distance, np.array([-60.0, -91.0, -99.0]), np.array([60.0, 0.0, 0.0]))
