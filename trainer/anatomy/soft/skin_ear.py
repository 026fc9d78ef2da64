"""The left outer ear.

Built in a frame of its own: u backwards in the plane of the auricle, v up along it, w outwards,
origin at the front root beside the tragus. Size: auricle 64 long, 36 broad, standing 23 off the
head (ANSUR II 2012, man's means, rounded).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import (
    Shape,
    cut,
    ellipsoid,
    placed,
    smooth_curve,
    sphere,
    tube,
    union,
)

Array = NDArray[np.float64]

ROOT_MM = np.array([71.5, -3.0, 0.0])
LEAN_BACK_DEG = 14.0
STAND_OFF_DEG = 33.0


def ear_frame() -> Array:
    """3x3 matrix whose columns are the directions u, v, w of the left ear."""
    lean, off = np.deg2rad(LEAN_BACK_DEG), np.deg2rad(STAND_OFF_DEG)
    v = np.array([0.0, np.sin(lean), np.cos(lean)])
    back = np.array([0.0, np.cos(lean), -np.sin(lean)])
    u = np.cos(off) * back + np.sin(off) * np.array([1.0, 0.0, 0.0])
    return np.stack([u, v, np.cross(u, v)], axis=1)


def _curve(rows: Sequence[tuple[float, float, float]], count: int) -> Array:
    return smooth_curve(np.array(rows, float), count)


def ear() -> Shape:
    """The auricle with rim, inner fold, bowl, tragus and lobe, ready to blend with the head."""
    plate = union(
        ellipsoid((18, 8, -0.5), (16.5, 24, 2.4), power=2.3),
        ellipsoid((12, -20, -0.8), (8.5, 13, 2.6)),
        blend_mm=6,
    )
    # the bowl's back wall carries the plate on the head
    root = union(
        ellipsoid((10, 1, -8.5), (10.5, 19, 9)),
        ellipsoid((11.5, -3, -9), (12, 15, 9.5)),
        blend_mm=4,
    )
    helix = [(9, 1.5, -4), (3.5, 5, -1.5), (2, 13, 0.2), (5.5, 23, 1.6), (13, 29.5, 2.6),
             (23, 28.5, 2.4), (30.5, 21, 2.2), (33, 10, 1.6), (31, -2, 1), (25, -14, 0.4),
             (18, -23, 0)]  # fmt: skip
    rim = tube(
        _curve(helix, 26),
        np.r_[np.linspace(1.8, 2.7, 8), np.linspace(2.8, 2.4, 10), np.linspace(2.3, 1.9, 8)],
    )
    inner = [(9.5, -15.5, 1), (17, -13, 1.8), (22.5, -5, 2.4), (23, 5, 2.4), (19.5, 14, 1.8),
             (14, 21, 1)]  # fmt: skip
    fold = tube(_curve(inner, 16), np.r_[np.linspace(2.6, 2.9, 8), np.linspace(2.8, 2.0, 8)])
    branch = tube(_curve([(22, 8, 2.0), (16, 12, 1.4), (8, 15.5, 0.6)], 6), 1.8)
    lobe = union(
        ellipsoid((11, -24.5, 0.3), (8.0, 9, 3.2)),
        ellipsoid((9, -16, -4.5), (5.5, 8, 5)),
        blend_mm=4,
    )
    body = union(plate, root, lobe, blend_mm=5)
    body = union(body, rim, fold, branch, blend_mm=2.5)
    bowl = ellipsoid((11.0, -3.5, 1.5), (9.5, 10.5, 8.5))
    upper_bowl = ellipsoid((12, 7.5, 1.0), (9, 4.2, 4.5))
    hollowed = cut(body, bowl, upper_bowl, blend_mm=2.5)
    crus = tube(_curve([(14, 1.5, -4.5), (8, 2.5, -2), (2.5, 6, 0)], 6), 2.1)
    tragus = ellipsoid((1.4, -4.0, 0.8), (3.6, 7.0, 4.2))
    opposite = sphere((9.5, -15.0, 1.6), 3.0)
    whole = union(hollowed, crus, tragus, opposite, blend_mm=2.5)
    return placed(whole, ear_frame(), ROOT_MM)


def ear_bowl() -> Shape:
    """What the ear's bowl takes away from head and ear together: the way to the ear canal."""
    return placed(ellipsoid((8.0, -3.0, -1.0), (5.5, 6.5, 6.5)), ear_frame(), ROOT_MM)
