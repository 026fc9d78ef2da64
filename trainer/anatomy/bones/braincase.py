"""The braincase: outer and inner vault, brow, temporal base. All points (L, F, U) in mm.

Mean man. Outline: bone breadth 142, length glabella to back 183 (from memory: Howells series),
vertex 5 under the skin's 130 (reference head CT), wall 5 to 7 (same CT: 4.3 to 5.4 at the side).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import (
    Shape,
    ellipsoid,
    smooth_curve,
    tube,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu, star

Array = NDArray[np.float64]

CENTER = (0.0, 0.0, 50.0)
# Thinnest wall between brain and the fossae below it: 2 (common practice, no source).
LEAST_WALL_MM = 2.0
OUTER = [
    # midline, from the nasal root over the top to the front edge of the foramen magnum
    (0, 88, 24), (0, 93.5, 33), (0, 92.5, 44), (0, 90, 58), (0, 83, 80), (0, 66, 101),
    (0, 38, 118), (0, 8, 125), (0, -24, 121.5), (0, -52, 108), (0, -74, 84), (0, -85, 60),
    (0, -88, 38), (0, -84.5, 16), (0, -77, 1), (0, -62, -15), (0, -42, -25), (0, -22, -25),
    (0, -5, -19.5), (0, 14, -6), (0, 40, 0),
    # 20 to 35 off the midline
    (22, 88, 34), (24, 87, 52), (24, 78, 78), (30, 36, 112.5), (32, 3, 118), (32, -33, 110),
    (32, -64, 84), (30, -78, 52), (30, -78, 28), (28, -70, 2), (26, -48, -20), (24, -16, -22),
    (22, 10, -8), (24, 40, 0),
    # forehead's side, temples
    (40, 80, 34), (42, 78, 48), (45, 68, 66), (46, 56, 84), (48, 66, 34), (53, 54, 54),
    (46, 55, 18), (37, 48, 2), (51.5, 44, 26), (46.5, 34, 6), (58, 36, 46), (60, 28, 66),
    (52, 20, 99), (59, 20, 20), (55, 16, 4),
    # side: widest point, parietal eminence
    (66, 10, 36), (67, 0, 60), (70.3, -14, 48), (70.5, -20, 58), (66, -28, 78), (56, -20, 100),
    (67, -10, 24), (60, -8, 6), (52, -8, -10), (64, -42, 46), (54, -58, 62), (56, -40, 84),
    (61, -40, 24), (52, -56, 30), (52, -44, 4), (42, -48, -12), (44, -24, -14), (46, -64, 12),
]  # fmt: skip
INNER = [
    (0, 76, 27), (0, 79, 40), (0, 82.5, 52), (0, 76, 77), (0, 61, 96), (0, 36, 111.5),
    (0, 8, 118.5), (0, -22, 115), (0, -48, 102), (0, -67.5, 80), (0, -78, 58), (0, -80, 38),
    (0, -73, 14), (0, -67, 3), (0, -56, -9), (0, -42, -18), (0, -22, -18), (0, 0, -9),
    (0, 7, 8), (0, 12, 20), (0, 34, 25), (0, 56, 25.5),
    (22, 78, 42), (24, 80, 54), (24, 71, 76), (28, 34, 106.5), (30, 3, 111.5), (30, -31, 104),
    (30, -58, 79), (28, -71, 52), (28, -70, 28), (26, -63, 4), (25, -46, -13), (22, -18, -15),
    (14, 4, -2), (20, 16, 6),
    (34, 72, 42), (38, 70, 50), (41, 62, 66), (42, 52, 80), (40, 58, 38), (47, 50, 54),
    (26, 64, 38), (25, 46, 31), (26, 37, 25), (32, 44.5, 10), (38, 41, 14), (45, 38, 26),
    (34, 34, 3), (40, 24, 2), (52, 32, 46), (54, 26, 66), (47, 19, 93.5), (53, 18, 20), (47, 14, 9),
    (60, 9, 36), (62, 0, 60), (65, -14, 48), (65, -20, 58), (60.5, -27, 76), (51, -19, 94.5),
    (60, -8, 24), (44, -4, 12), (36, 4, 14), (26, 8, 13), (36, -14, 6), (46, -18, 0), (58, -40, 46),
    (49, -53, 60), (51, -37, 80), (55, -37, 24), (47, -51, 28), (46, -42, 6), (38, -44, -6),
    (36, -24, -8), (41, -58, 13),
]  # fmt: skip


def outer_vault() -> Shape:
    """The braincase filled, with its outer surface."""
    return star(CENTER, OUTER, midline=True)


def inner_vault() -> Shape:
    """The space for the brain."""
    return star(CENTER, INNER, midline=True)


def with_brain_space(bone: Shape) -> Shape:
    """The bone with the brain's space taken out, and at least `LEAST_WALL_MM` left round it."""
    space = inner_vault()

    def distance(p: Array) -> Array:
        inside = space.distance(p)
        return np.maximum(np.minimum(bone.distance(p), inside - LEAST_WALL_MM), -inside)

    return Shape(distance, bone.lower_mm, bone.upper_mm)


def brow() -> Shape:
    """Brow ridge with glabella on the left half, for a soft blend with the vault."""
    ridge = lfu([(-9, 89.5, 33.5), (0, 89.3, 32.5), (9, 89.5, 33.5), (20, 88.5, 36.0),
                 (32, 84.5, 37.5), (42.5, 77.0, 35.5), (47.5, 68, 31)])  # fmt: skip
    radii = np.interp(np.linspace(0, 6, 20), range(7), [4.6, 4.9, 4.6, 4.0, 3.2, 2.8, 2.6])
    return tube(smooth_curve(ridge, 20), radii)


def temporal_line() -> Shape:
    """The low crest from the brow's outer end up along the forehead's side."""
    line = lfu([(48, 66.5, 31), (47.6, 67.0, 40), (47.2, 65, 50), (47.5, 58, 61), (49, 47, 72)])
    return tube(smooth_curve(line, 12), np.linspace(2.9, 1.0, 12))


def nuchal_relief() -> Shape:
    """Outer occipital bump and the crest that runs sideways from it."""
    bump = ellipsoid(lfu((0, -77.5, 3)), (7, 5, 4.5))
    line = lfu([(-8, -76.0, 4), (0, -76.2, 3), (8, -76.0, 4), (20, -72, 5), (34, -64.5, 4),
                (46, -50, 1), (52, -36, -2)])  # fmt: skip
    radii = np.interp(np.linspace(0, 6, 18), range(7), [2.4, 2.6, 2.4, 2.4, 2.2, 2.0, 1.6])
    return union(bump, tube(smooth_curve(line, 18), radii), blend_mm=6.0)


MASTOID_CENTER = (51.0, -13.0, -8.0)
MASTOID = [
    (58.5, -14, -5), (57.3, -13, -14), (54, -11, -24), (50.5, -11, -29), (53, -3.2, -8),
    (53, -14, -27), (48, -12, -27), (51.5, -6, -24),
    (52, -3.6, -16), (54, -27, -3), (53, -25, -13), (51, -19, -22), (43.5, -14, -8),
    (45.5, -12, -18), (47.5, -10, -25), (52, -14, 10), (57, -24, 6), (57, -4, 4), (46, -24, -6),
]  # fmt: skip


def mastoid() -> Shape:
    """The left mastoid process behind the ear canal: a flattened cone, its tip 29 below porion."""
    return star(MASTOID_CENTER, MASTOID)


def mastoid_crest() -> Shape:
    """The ridge over the ear canal that runs on from the zygomatic arch."""
    crest = lfu([(60.5, 6, 3.5), (60.5, -6, 6), (60.5, -18, 11), (60, -30, 18)])
    return tube(smooth_curve(crest, 8), np.linspace(3.0, 1.5, 8))
