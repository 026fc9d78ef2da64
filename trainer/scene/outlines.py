"""Outlines of surfaces seen flat from the front or the side. Arrays only.

The outline of a closed surface is where a triangle that faces the viewer meets one that does not.
Taken as the rim of the facing triangles these edges have a sense, so they close to loops, and the
loops filled by the "non-zero" rule cover exactly what the surface covers: the winding number at a
point counts the facing layers over it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


class Flat(StrEnum):
    """The two flat views: from the front, and from the patient's right side."""

    FRONT = "front"
    SIDE = "side"


# From the surface towards the viewer; rows below give (across, up) on the picture. From the front
# the patient's left is on the right; from the patient's right side the front is on the right.
TOWARDS_VIEWER = {Flat.FRONT: np.array([0.0, -1.0, 0.0]), Flat.SIDE: np.array([-1.0, 0.0, 0.0])}
AXES = {
    Flat.FRONT: np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]),
    Flat.SIDE: np.array([[0.0, -1.0, 0.0], [0.0, 0.0, 1.0]]),
}


@dataclass(frozen=True, slots=True)
class Surface:
    """A closed surface ready to be outlined.

    ``edges`` (e, 4): first and second corner as the left triangle runs, then left and right
    triangle. ``right`` is -1 at an open rim.
    """

    vertices_mm: Array
    faces: Ints
    edges: Ints


@dataclass(frozen=True, slots=True)
class Outline:
    """A surface seen flat, in picture coordinates (across, up) [mm].

    ``loops`` closed lines, each (n, 2), first point not repeated; ``triangles`` (k, 3, 2) those
    that face the viewer; ``near_lines`` (j, 2, 2) pieces of the loops that lie on the surface's
    nearer half.
    """

    loops: tuple[Array, ...]
    triangles: Array
    near_lines: Array


def surface(vertices_mm: Array, faces: NDArray[np.int32]) -> Surface:
    """The surface with its edges paired, from corners (n, 3) [mm] and triangles (m, 3)."""
    tri = np.asarray(faces, np.int64)
    ends = np.concatenate([tri[:, [0, 1]], tri[:, [1, 2]], tri[:, [2, 0]]])
    owner = np.tile(np.arange(len(tri)), 3)
    low, high = ends.min(axis=1), ends.max(axis=1)
    order = np.lexsort((ends[:, 0] > ends[:, 1], high, low))
    ends, owner = ends[order], owner[order]
    key = low[order] * (int(tri.max()) + 1) + high[order]
    # the same two corners twice in a row, once each way, are one edge
    pair = np.flatnonzero((key[1:] == key[:-1]) & (ends[1:, 0] == ends[:-1, 1]))
    pair = pair[np.r_[True, np.diff(pair) > 1]] if len(pair) else pair
    alone = np.ones(len(key), bool)
    alone[pair] = alone[pair + 1] = False
    paired = np.column_stack([ends[pair], owner[pair], owner[pair + 1]])
    single = np.column_stack([ends[alone], owner[alone], np.full(alone.sum(), -1)])
    return Surface(np.asarray(vertices_mm, float), tri, np.concatenate([paired, single]))


def outline(shape: Surface, rotation: Array, translation_mm: Array, view: Flat) -> Outline:
    """The surface's outline in a view, after turning and moving it to the gantry frame."""
    at = shape.vertices_mm @ rotation.T + translation_mm
    flat = at @ AXES[view].T
    # twice the signed area on the picture: positive where the triangle faces the viewer
    a, b, c = (flat[shape.faces[:, i]] for i in range(3))
    facing = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) > (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    left = facing[shape.edges[:, 2]]
    right = np.where(shape.edges[:, 3] >= 0, facing[shape.edges[:, 3]], False)
    rim = shape.edges[left != right]
    forward = left[left != right]
    start = np.where(forward, rim[:, 0], rim[:, 1])
    end = np.where(forward, rim[:, 1], rim[:, 0])
    depth = at @ TOWARDS_VIEWER[view]
    middle = (depth.min() + depth.max()) / 2.0
    near = depth[start] > middle
    return Outline(
        tuple(flat[loop] for loop in closed_loops(start, end)),
        np.stack([a[facing], b[facing], c[facing]], axis=1),
        np.stack([flat[start[near]], flat[end[near]]], axis=1),
    )


def closed_loops(start: Ints, end: Ints) -> list[list[int]]:
    """Edges with a sense joined to closed loops of corner numbers.

    As many edges leave every corner as reach it, so every walk ends where it began.
    """
    onward: dict[int, list[int]] = {}
    for s, e in zip(start.tolist(), end.tolist(), strict=True):
        onward.setdefault(s, []).append(e)
    loops = []
    for first in list(onward):
        while onward[first]:
            loop = [first]
            here = onward[first].pop()
            while here != first and onward.get(here):
                loop.append(here)
                here = onward[here].pop()
            loops.append(loop)
    return loops


def covered_area_mm2(seen: Outline) -> float:
    """Sum of the loops' signed areas: the covered area, layers over each other counted each."""
    total = 0.0
    for loop in seen.loops:
        x, y = loop[:, 0], loop[:, 1]
        total += float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0
    return total
