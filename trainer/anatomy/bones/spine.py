"""The cervical column from C1 to C4 and the hyoid, in the mean man's skull frame.

Heights: the dens tip stands 3 behind and 21.5 below the ear line (measured on one adult head CT,
to 2-3 mm), the levels follow 17-19 mm apart (from memory). Depth: the hyoid stands about 32 in
front of C3 (31.8 (2.9): Bibby & Preston, Am. J. Orthod. 1981). The single vertebra's sizes are
from memory of osteology texts: bodies 17-18 wide, 15-16 deep, 14-15 high, canal 15 deep, C1 78
across its transverse processes, C2 to C4 about 56.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import (
    Shape,
    both_sides,
    capsule,
    cut,
    ellipsoid,
    placed,
    smooth_curve,
    sphere,
    sweep,
    tube,
    union,
)
from trainer.models.subject import MEAN_MAN

Array = NDArray[np.float64]

DENS_TIP_MM = np.array([0.0, 3.0, -21.5])
# Middle of the vertebral bodies and how far their upper ends lean forward: C3, C4.
C3_MIDDLE_MM, C3_LEAN_DEG = np.array([0.0, -2.6, -72.6]), 4.0
C4_MIDDLE_MM, C4_LEAN_DEG = np.array([0.0, -3.6, -90.8]), 1.0
UP = np.array([0.0, 0.0, 1.0])
# The hyoid's landmark lies on the body's front face, this far above its middle: the point that is
# measured to on a film is the foremost and highest one (Bibby & Preston 1981).
HYOID_MARK_UP_MM = 1.5


def cervical_column() -> Shape:
    """The first four cervical vertebrae, separate bones with the discs left out [mm]."""
    return union(
        _atlas(),
        _axis(),
        placed(_vertebra(spine_mm=27.0), _lean(C3_LEAN_DEG), C3_MIDDLE_MM),
        placed(_vertebra(spine_mm=28.0), _lean(C4_LEAN_DEG), C4_MIDDLE_MM),
    )


def hyoid() -> Shape:
    """The hyoid: body in the midline, greater horns back and up, lesser horns on top [mm]."""
    x, y, z = starter_landmarks(MEAN_MAN)["hyoid"] - HYOID_MARK_UP_MM * UP
    bow = smooth_curve([[-13, 8.5, 1], [-8, 4.0, 0], [0, 2.6, 0], [8, 4.0, 0], [13, 8.5, 1]], 13)
    across = np.abs(bow[:, 0])
    body = sweep(
        bow + [x, y, z], np.full(13, 2.4), np.interp(across, [0, 8, 13], [5.4, 5.0, 3.4]),
        [0.0, 0.35, 1.0], power=2.4,
    )  # fmt: skip
    horn = smooth_curve([[12, 7.5, 1], [16.5, 14, 1.6], [19.5, 23, 4], [20.5, 31, 7.5]], 12)
    greater = sweep(
        horn + [x, y, z], np.linspace(2.0, 1.5, 12), np.linspace(3.3, 1.9, 12), [0.3, 0.2, 1.0]
    )
    knob = sphere(horn[-1] + [x, y, z], 2.4)
    lesser = capsule([x + 11.5, y + 7.0, z + 2.5], [x + 13.0, y + 10.5, z + 8.5], 2.0, 0.9)
    horns = both_sides(union(greater, knob, lesser, blend_mm=2.0))
    return union(body, horns, blend_mm=2.5)


def _lean(forward_deg: float) -> Array:
    """Turn about +x that brings what is above to the front."""
    c, s = np.cos(np.radians(forward_deg)), np.sin(np.radians(forward_deg))
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


def _body() -> Shape:
    """A vertebral body about its own middle: waisted, with a raised rim left and right on top."""
    middle = ellipsoid([0, 0, 0], [7.9, 6.9, 7.2], power=3.5)
    upper = ellipsoid([0, 0, 4.9], [8.7, 7.6, 2.2], power=2.8)
    lower = ellipsoid([0, -0.3, -5.0], [8.9, 7.9, 2.2], power=2.8)
    rim = both_sides(ellipsoid([8.3, 1.0, 6.6], [1.7, 5.2, 2.8]))
    return union(middle, upper, lower, rim, blend_mm=2.0)


def _arch(spine_mm: float, drop_mm: float, thick_mm: float) -> Shape:
    """Pillars, laminae and forked spinous process of a lower vertebra, left half and midline."""
    pillar = sweep(
        [[20.5, 11.3, 3.4], [20.5, 13.2, -3.6]], [5.4, 5.4], [5.2, 5.2], [0.0, 1.0, 0.25], 2.6
    )
    pedicle = capsule([8.0, 5.0, 1.5], [18.0, 11.0, 0.5], 2.9, 3.3)
    corners = np.array([[19, 12.5, 0], [14, 18, -1], [7, 22.7, -2], [0, 25.6, -3]])
    run = smooth_curve(corners, 7)
    lamina = sweep(run, 2.2, np.linspace(6.0, 5.0, 7), [0.0, -0.35, 1.0])
    end = np.array([0.0, 27.0 + spine_mm - 10.0, -3.0 - drop_mm])
    root = np.array([0.0, 24.2, -3.0])
    spine = sweep(
        np.array([root, (root + end) / 2, end]),
        np.full(3, thick_mm), np.array([5.0, 3.8, 3.2]), UP, 2.4,
    )  # fmt: skip
    fork = capsule(end, end + [3.6, 4.0, -1.8], 2.4, 1.9)
    return both_sides(union(pillar, pedicle, lamina, spine, fork, blend_mm=3.0))


def _wings(reach_mm: float, low_mm: float) -> Shape:
    """Transverse processes with their foramen, about the middle of the body."""
    front = smooth_curve([[7.5, -1.5, 1.0], [14.0, -2.5, 0.0], [reach_mm - 3, 1.0, low_mm]], 6)
    rear = smooth_curve([[17.0, 9.0, -1.0], [20.0, 6.5, -1.5], [reach_mm - 3, 4.5, low_mm]], 6)
    wing = union(tube(front, 2.1), tube(rear, 2.2), blend_mm=2.0)
    tip = sphere([reach_mm - 2.6, 2.6, low_mm], 2.6)
    return both_sides(union(wing, tip, blend_mm=2.0))


def _transverse_foramen(x_mm: float, y_mm: float, z_mm: float) -> Shape:
    return both_sides(capsule([x_mm, y_mm, z_mm - 7], [x_mm, y_mm, z_mm + 7], 2.8))


def _vertebra(spine_mm: float) -> Shape:
    """A vertebra of the C3 and C4 kind about the middle of its body."""
    bone = union(_body(), _arch(spine_mm, 6.0, 2.1), _wings(27.5, -2.0), blend_mm=2.5)
    return cut(bone, _transverse_foramen(14.8, 2.6, 0.0), blend_mm=1.0)


def _axis() -> Shape:
    """C2 with the dens."""
    tip = DENS_TIP_MM
    run = np.array(
        [tip - [0, 0.2, 5.0], [0, 2.6, -29.5], [0, 1.9, -35.5], [0, 0.9, -43.0], [0, 0.0, -52.0]]
    )
    dens = sweep(run, [4.3, 5.1, 4.6, 6.6, 7.6], [5.0, 5.7, 5.3, 6.6, 7.2], [0.0, 1.0, 0.0])
    # the sweep rounds its ends by its smaller half axis: bring the tip to its height
    peak = ellipsoid(tip - [0, 0, 4.3], [3.2, 3.9, 3.6])
    lower = ellipsoid([0, -1.2, -57.6], [8.6, 7.9, 3.8], power=3.0)
    shoulder = both_sides(ellipsoid([15.8, 3.5, -44.0], [8.4, 8.8, 4.4], _roll(24.0), power=2.4))
    arch = placed(_arch(31.0, 5.0, 3.0), np.eye(3), np.array([0.0, 0.5, -53.0]))
    wings = placed(_wings(28.0, -4.0), np.eye(3), np.array([0.0, 1.0, -50.0]))
    bone = union(dens, peak, lower, shoulder, arch, wings, blend_mm=3.0)
    return cut(bone, _transverse_foramen(15.5, 4.0, -52.0), blend_mm=1.0)


def _atlas() -> Shape:
    """C1: two masses joined by a front and a rear arch."""
    mass = ellipsoid([20.0, 2.5, -31.0], [7.4, 8.8, 7.2], _roll(18.0), power=2.8)
    front = np.array([[0, -7.0, -30.5], [7, -6.2, -30.5], [13, -2.5, -31], [18, 2, -31]])
    rear = np.array(
        [[22, 9, -31], [22.5, 17, -32], [18, 26, -32.5], [9.5, 32.5, -32.5], [0, 35, -32]]
    )
    arches = union(
        sweep(smooth_curve(front, 7), np.linspace(2.9, 3.2, 7), np.linspace(5.4, 4.6, 7), UP, 2.4),
        sweep(smooth_curve(rear, 10), 2.9, np.linspace(4.6, 4.0, 10), UP),
        sphere([0, -8.2, -30.5], 2.2),
        sphere([0, 36.5, -32.0], 3.2),
        blend_mm=2.5,
    )
    wing = union(
        tube(np.array([[24, -1, -32], [31, 0.5, -33], [36, 4, -33.5]]), 2.9),
        tube(np.array([[24, 11, -32], [31, 9.5, -33], [36, 5, -33.5]]), 2.9),
        sphere([35.6, 4.5, -33.5], 3.5),
        blend_mm=2.0,
    )
    # facets for the skull above and for C2 below, both sloping down to the outside or inside
    facet = ellipsoid([19.5, 1.5, -18.2], [6.2, 10.0, 7.0], _roll(-24.0))
    ring = union(mass, arches, wing, blend_mm=3.0)
    ring = cut(ring, facet, capsule([29.0, 4.8, -44], [29.0, 4.8, -22], 3.1), blend_mm=1.5)
    return both_sides(ring)


def _roll(outside_down_deg: float) -> Array:
    """Axes of a left part whose outer end hangs down by the angle."""
    c, s = np.cos(np.radians(outside_down_deg)), np.sin(np.radians(outside_down_deg))
    return np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
