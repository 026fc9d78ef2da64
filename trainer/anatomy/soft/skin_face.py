"""Nose, eyes, lips and the larger relief of the face, for the left half of the mean man's head.

Every part is given for x >= 0 (midline parts reach over it); `skin.py` mirrors the whole. Places
are forward/up/half breadth figures in the skull frame, sculpted by eye around the landmarks.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import (
    Shape,
    capsule,
    cut,
    ellipsoid,
    smooth_curve,
    sphere,
    tube,
    union,
)

Array = NDArray[np.float64]

# Lip line: 2.5 mm above the upper incisor edge (section 2.6 of the anatomy reference; derived).
LIP_LINE_UP_MM = -53.5
MOUTH_HALF_WIDTH_MM = 25.0
MOUTH_GAP_MM = 1.55  # thin, yet wider than the display grid in the smallest adult too
MOUTH_DEPTH_MM = 12.0
MOUTH_SLOPE = 0.3  # the gap sinks inwards, so that from the front it reads as one dark line
# Centre of the balls that bear the lids: the globe's (F 70, U 17, L 32), a little lower and deeper.
LIDS_MM = np.array([32.0, -69.5, 16.6])


def at(half_breadth: float, forward: float, up: float) -> Array:
    """The point [mm] in the skull frame of these table figures."""
    return np.array([half_breadth, -forward, up])


def _path(rows: Sequence[tuple[float, float, float]], count: int) -> Array:
    """A smooth curve through (half breadth, forward, up) rows."""
    return smooth_curve(np.array([at(*r) for r in rows]), count)


def turn(about_x_deg: float = 0.0, about_y_deg: float = 0.0, about_z_deg: float = 0.0) -> Array:
    """Rotation matrix, x first, then y, then z."""
    from scipy.spatial.transform import Rotation

    m = Rotation.from_euler("xyz", [about_x_deg, about_y_deg, about_z_deg], degrees=True)
    return np.asarray(m.as_matrix())


def _draped(head: Shape, rows: Sequence[tuple[float, float]], off_mm: float, count: int) -> Array:
    """A smooth curve lying on the front of ``head``, or ``off_mm`` before it.

    ``rows`` are (half breadth, up); the places forward are found on the surface.
    """
    x, up = smooth_curve(np.array([(r[0], r[1], 0.0) for r in rows]), count).T[:2]
    y = np.full(count, -130.0)
    for _ in range(60):  # the distance is a safe step, never past the surface by much
        y += 0.7 * head(np.stack([x, y, up], axis=1))
    return np.stack([x, y - off_mm, up], axis=1)


# --- eyes --------------------------------------------------------------------------------------


def with_eyes(head: Shape) -> Shape:
    """The head with sockets, closed lids and brow ridges."""
    ridge = [(8, 91.3, 30.5), (17, 90.6, 33), (28, 87.2, 34.8), (40, 77.8, 33), (50, 63.5, 25.5),
             (55, 50, 18)]  # fmt: skip
    brow = tube(_path(ridge, 12), np.linspace(4.7, 3.0, 12))  # its ends are sunk
    browed = union(head, brow, blend_mm=13)
    socket = ellipsoid(at(32, 97, 15.5), (17.9, 17.2, 13), turn(about_z_deg=18))
    inner = sphere(at(14.5, 100, 16), 6.8)
    hollowed = cut(browed, socket, inner, blend_mm=13)
    ball = sphere(LIDS_MM, 14.2)
    tear_duct = ellipsoid(at(18.2, 80.8, 15.2), (4, 3, 2.2))
    lidded = union(hollowed, ball, tear_duct, blend_mm=5.5)
    # the upper lid lies on the lower one along the lashes
    lashes = [(17, 15.6), (20, 13.6), (24, 11.7), (29, 10.5), (34, 10.4), (39, 11.6), (43.5, 13.8),
              (46.5, 16)]  # fmt: skip
    upper = [(20, 19), (24, 22.2), (29, 24), (34, 24.2), (39, 22.8), (44, 19.2)]
    thin_ends = np.sin(np.linspace(0.25, np.pi - 0.25, 14)) ** 0.5
    edge = tube(_draped(lidded, [(x, up + 1.5) for x, up in lashes], -0.55, 14), 1.2 * thin_ends)
    folded = union(lidded, edge, blend_mm=2.5)
    line = tube(_draped(lidded, lashes, 0.25, 14), 1.0 * thin_ends)
    crease = tube(_draped(lidded, upper, 0.5, 12), 0.9 * thin_ends[1:-1])
    return cut(cut(folded, crease, blend_mm=2.5), line, blend_mm=1.2)


# --- nose --------------------------------------------------------------------------------------


def with_nose(head: Shape) -> Shape:
    """The head with bridge, tip, wings and nostrils."""
    dorsum = [(0, 87, 27), (0, 88.3, 18), (0, 95.8, 6), (0, 104.5, -7), (0, 114.2, -19.6)]
    bridge = tube(_path(dorsum, 12), np.r_[np.linspace(6.0, 6.6, 8), np.linspace(6.9, 8.6, 4)])
    side = [(4.0, 85, 18), (5.4, 90, 4), (7.8, 98.5, -10), (8.5, 103.5, -20)]
    wall = tube(_path(side, 8), np.linspace(4.8, 7.2, 8))
    base = union(head, bridge, wall, blend_mm=13)
    dome = sphere(at(4.6, 112.8, -21.0), 6.6)
    wing = ellipsoid(at(11.6, 103.2, -25.6), (6.2, 9.4, 6.8), turn(about_z_deg=-14))
    column = capsule(at(0, 112.5, -27.0), at(0, 102, -30.5), 3.2, 4.4)
    full = union(union(base, dome, blend_mm=8), wing, column, blend_mm=3.5)
    hollow = [(5.4, 111.5, -29.0), (7.4, 108.5, -30.6), (9.2, 104.5, -32.4)]
    nostril = tube(_path(hollow, 6), np.linspace(2.4, 1.2, 6))
    return cut(full, nostril, blend_mm=2.0)


# --- mouth -------------------------------------------------------------------------------------


def lip_line(half_breadth_mm: Array | float) -> tuple[Array, Array]:
    """Forward and up [mm] of the closed mouth's line at these half breadths (0 in the middle)."""
    x = np.minimum(np.abs(np.asarray(half_breadth_mm, float)) / MOUTH_HALF_WIDTH_MM, 1.6)
    forward = 104.0 - 11.5 * x**2
    up = LIP_LINE_UP_MM + 0.35 * np.cos(np.pi * np.clip(x / 0.8, 0, 1)) - 0.35 - 0.8 * x**3
    return forward, up


def mouth_height(half_breadth_mm: Array, forward_mm: Array) -> Array:
    """Height up [mm] of the surface between the lips: it sinks inwards from the lip line."""
    forward, up = lip_line(half_breadth_mm)
    return up - MOUTH_SLOPE * (forward - forward_mm)


def with_mouth(head: Shape) -> Shape:
    """The head with the groove under the nose, closed lips with a slit, chin and its fold."""
    ridge = capsule(at(4.2, 101.2, -34), at(5.0, 101.8, -45), 1.8, 2.2)
    groove = capsule(at(0, 107.6, -35), at(0, 108.0, -46), 3.6, 4.2)
    lifted = cut(union(head, ridge, blend_mm=8), groove, blend_mm=6)
    bow = [(0, 101.2, -50), (5, 101.6, -49.3), (11, 99.6, -50.2), (18, 94.2, -52.4),
           (25, 86, -54.4)]  # fmt: skip
    upper = tube(_path(bow, 12), np.r_[np.linspace(4.7, 5.0, 4), np.linspace(4.9, 1.2, 8)])
    swell = [(0, 99.8, -58.6), (6, 99.4, -58.6), (13, 96.4, -58), (19, 91.6, -56.9),
             (25, 86, -55.2)]  # fmt: skip
    lower = tube(_path(swell, 12), np.r_[np.linspace(5.6, 5.6, 5), np.linspace(5.4, 1.2, 7)])
    lips = union(lifted, union(upper, lower, blend_mm=6), blend_mm=3)
    fold = ellipsoid(at(0, 104.8, -71), (17, 7.5, 4.5))
    chin = ellipsoid(at(0, 87, -83.5), (15, 9.2, 9.5))
    chinned = union(cut(lips, fold, blend_mm=9), chin, blend_mm=8)
    return cut(chinned, mouth_slit(), blend_mm=1.6)


def mouth_slit() -> Shape:
    """The thin gap between the lips, from before them to MOUTH_DEPTH_MM behind their front."""
    lip_front_mm = 2.5  # lips stand this far before the lip line
    steepness = np.hypot(1.0, MOUTH_SLOPE)

    def distance(p: Array) -> Array:
        x, forward = np.abs(p[:, 0]), -p[:, 1]
        gap = (np.abs(p[:, 2] - mouth_height(x, forward)) - MOUTH_GAP_MM / 2) / steepness
        taper = np.clip(2.2 * (1.0 - x / MOUTH_HALF_WIDTH_MM), 0.4, 1.0)
        depth = (MOUTH_DEPTH_MM - lip_front_mm) * taper
        behind = (lip_line(x)[0] - depth - forward) * 0.8
        return np.maximum(gap, np.maximum(behind, x - MOUTH_HALF_WIDTH_MM))

    wide = MOUTH_HALF_WIDTH_MM + 1.0
    return Shape(distance, at(-wide, 112.0, -60.0), at(wide, 84.0, -51.0))


# --- larger relief -----------------------------------------------------------------------------


def with_relief(head: Shape) -> Shape:
    """The head with the fold beside nose and mouth."""
    beside = [(20, 97, -24), (25.5, 95.5, -35), (31, 90.5, -46), (34, 86, -56)]
    fold = tube(_path(beside, 8), np.linspace(2.5, 1.5, 8))
    return cut(head, fold, blend_mm=9)


def with_neck_relief(neck: Shape) -> Shape:
    """The neck with the larynx' prominence and the slanting neck muscles."""
    larynx = ellipsoid(at(0, 31.5, -128), (11, 13.5, 14), turn(about_x_deg=12))
    slant = [(55, -18, -30), (52, -8, -70), (44, 11, -115), (29, 24, -155), (14, 24, -192)]
    muscle = tube(_path(slant, 10), np.r_[np.linspace(7, 8, 5), np.linspace(8, 6, 5)])
    return union(neck, larynx, muscle, blend_mm=14)
