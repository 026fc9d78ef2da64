"""Measuring tools on triangle surfaces: probes, cuts, tapes and breadths."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy.shapes.meshing import Mesh
from trainer.geometry.sections import plane_section

Array = NDArray[np.float64]

# Height step between the cuts that look for a breadth or a profile.
LEVEL_STEP_MM = 1.0
# Meetings this close are one.
SAME_MM = 1e-6


def hits_mm(mesh: Mesh, start_mm: ArrayLike, way: ArrayLike) -> Array:
    """Distances, ascending, at which a straight probe meets the surface ahead of its start [mm].

    ``start_mm`` (3,), ``way`` (3,) of any length; (k,), k = 0 when it misses.
    """
    n = np.asarray(way, float) / np.linalg.norm(way)
    off = mesh.vertices_mm - np.asarray(start_mm, float)
    # seen along the probe, it is a point: which triangles lie over it, and how far away there
    x, y = (off @ side for side in _across(n))
    depth = off @ n
    a, b, c = mesh.faces.T
    of_a, of_b, of_c = (x[i] * y[j] - x[j] * y[i] for i, j in ((b, c), (c, a), (a, b)))
    over = ((of_a >= 0) & (of_b >= 0) & (of_c >= 0)) | ((of_a <= 0) & (of_b <= 0) & (of_c <= 0))
    over &= (of_a + of_b + of_c) != 0.0  # seen edge on
    shares = np.stack([of_a[over], of_b[over], of_c[over]])
    along = (shares * depth[mesh.faces[over].T]).sum(axis=0) / shares.sum(axis=0)
    found = np.sort(along[along > SAME_MM])
    # a probe through an edge meets both of its triangles
    return np.asarray(found[np.diff(found, prepend=-np.inf) > SAME_MM])


def cut_mm(mesh: Mesh, through_mm: ArrayLike, normal: ArrayLike) -> Array:
    """Straight pieces (k, 2, 3) of the curve where a plane cuts the surface [mm]."""
    n = np.asarray(normal, float)
    n = n / np.linalg.norm(n)
    return plane_section(mesh.vertices_mm, mesh.faces, n, float(n @ np.asarray(through_mm, float)))


def tape_mm(points_mm: Array, normal: ArrayLike) -> float:
    """Length of a tight tape around points (n, 3) of a plane with that normal [mm]."""
    return float(ConvexHull(_flat(points_mm, normal)).area)  # in two dimensions: the perimeter


def breadth_mm(mesh: Mesh, forward: tuple[float, float], up: tuple[float, float]) -> float:
    """Greatest left-right extent of one level, between two places forward and two heights [mm]."""
    best = 0.0
    for z in np.arange(up[0], up[1] + 1e-9, LEVEL_STEP_MM):
        points = cut_mm(mesh, (0.0, 0.0, z), (0.0, 0.0, 1.0)).reshape(-1, 3)
        f = -points[:, 1]
        x = points[(f >= forward[0]) & (f <= forward[1]), 0]
        best = max(best, float(np.ptp(x)) if len(x) else 0.0)
    return best


def side_view(mesh: Mesh, x_mm: float = 0.0) -> Array:
    """Pieces (k, 2, 2), forward and up, of the upright fore-and-aft cut at ``x_mm`` [mm]."""
    pieces = cut_mm(mesh, (x_mm, 0.0, 0.0), (1.0, 0.0, 0.0))
    return np.stack([-pieces[..., 1], pieces[..., 2]], axis=-1)


def front_line(pieces_fu: Array, low_mm: float, high_mm: float) -> Array:
    """The foremost points (n, 2), forward and up, of a side view between two heights [mm]."""
    found = []
    for u in np.arange(low_mm, high_mm + 1e-9, LEVEL_STEP_MM / 4.0):
        a, b = pieces_fu[:, 0], pieces_fu[:, 1]
        crossing = (a[:, 1] - u) * (b[:, 1] - u) <= 0.0
        crossing &= a[:, 1] != b[:, 1]
        if crossing.any():
            a, b = a[crossing], b[crossing]
            share = (u - a[:, 1]) / (b[:, 1] - a[:, 1])
            found.append([float((a[:, 0] + share * (b[:, 0] - a[:, 0])).max()), float(u)])
    return np.array(found).reshape(-1, 2)


def angle_deg(one: ArrayLike, other: ArrayLike) -> float:
    """Angle between two ways of any dimension [deg], 0 to 180."""
    a, b = np.asarray(one, float), np.asarray(other, float)
    return float(
        np.degrees(np.arccos(np.clip(a @ b / np.linalg.norm(a) / np.linalg.norm(b), -1, 1)))
    )


def fall_deg(front_mm: ArrayLike, rear_mm: ArrayLike) -> float:
    """Slope of a line to the Frankfort horizontal in side view [deg], front end low positive.

    Points are (3,) in the skull frame [mm].
    """
    d = np.asarray(front_mm, float) - np.asarray(rear_mm, float)
    return float(np.degrees(np.arctan2(-d[2], -d[1])))


def from_side_mm(one_mm: ArrayLike, other_mm: ArrayLike) -> float:
    """Distance of two points (3,) as a side view shows it [mm]."""
    return float(np.linalg.norm((np.asarray(one_mm, float) - np.asarray(other_mm, float))[1:]))


def off_line_mm(point_mm: ArrayLike, on_mm: ArrayLike, other_mm: ArrayLike) -> float:
    """Distance of a point (3,) from a line through two others, in side view [mm]."""
    p, a, b = (np.asarray(x, float)[1:] for x in (point_mm, on_mm, other_mm))
    way, off = b - a, p - a
    return float(abs(way[0] * off[1] - way[1] * off[0]) / np.linalg.norm(way))


def _flat(points_mm: Array, normal: ArrayLike) -> Array:
    n = np.asarray(normal, float)
    return np.stack([points_mm @ side for side in _across(n / np.linalg.norm(n))], axis=1)


def _across(unit: Array) -> tuple[Array, Array]:
    """Two unit ways square to one another and to a unit way."""
    one = np.cross(unit, np.eye(3)[np.argmin(np.abs(unit))])
    one /= np.linalg.norm(one)
    return one, np.cross(unit, one)
