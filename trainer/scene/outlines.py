"""Outlines of surfaces seen flat from the front or the side. Arrays only.

The outline of a closed surface is where a triangle that faces the viewer meets one that does not.
Taken as the rim of the facing triangles these edges have a sense, so they close to loops, and the
loops filled by the "non-zero" rule cover exactly what the surface covers: the winding number at a
point counts the facing layers over it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

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
    """One or more closed surfaces that move as one, ready to be outlined.

    ``edges`` (e, 4): first and second corner as the left triangle runs, then left and right
    triangle. ``right`` is -1 at an open rim. ``starts`` gives the first corner of each part.
    """

    vertices_mm: Array
    faces: Ints
    edges: Ints
    starts: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A surface seen flat, in picture coordinates (across, up) [mm].

    ``loops`` closed lines, each (n, 2), first point not repeated; ``near_lines`` (j, 2, 2) pieces
    of the loops that lie on the surface's nearer half.
    """

    loops: tuple[Array, ...]
    near_lines: Array


def surface(parts: Sequence[tuple[NDArray[np.floating[Any]], NDArray[np.int32]]]) -> Surface:
    """The parts with their edges paired; each is corners (n, 3) [mm] and triangles (m, 3)."""
    starts = np.cumsum([0, *(len(v) for v, _ in parts)])[:-1]
    vertices = np.concatenate([np.asarray(v, float) for v, _ in parts])
    tri = np.concatenate([f.astype(np.int64) + s for (_, f), s in zip(parts, starts, strict=True)])
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
    return Surface(vertices, tri, np.concatenate([paired, single]), starts)


def outlines(shape: Surface, rotation: Array, view: Flat) -> list[Outline]:
    """The outline of every part in a view, after turning about the frame's origin.

    A shift only moves an outline, so one is good for every setup with the same rotation.
    """
    at = shape.vertices_mm @ rotation.T
    flat = at @ AXES[view].T
    facing = _facing(flat, shape.faces)
    left = facing[shape.edges[:, 2]]
    right = np.where(shape.edges[:, 3] >= 0, facing[shape.edges[:, 3]], False)
    rim = shape.edges[left != right]
    forward = left[left != right]
    start = np.where(forward, rim[:, 0], rim[:, 1])
    end = np.where(forward, rim[:, 1], rim[:, 0])
    depth = at @ TOWARDS_VIEWER[view]
    middle = (depth.min() + depth.max()) / 2.0
    near = depth[start] > middle
    near_lines = np.stack([flat[start], flat[end]], axis=1)
    part_of = np.searchsorted(shape.starts, start, side="right") - 1
    loops: list[list[Array]] = [[] for _ in shape.starts]
    for loop in closed_loops(start, end):
        loops[part_of[loop[0]]].append(flat[start[loop]])
    return [
        Outline(tuple(found), near_lines[near & (part_of == number)])
        for number, found in enumerate(loops)
    ]


def facing_triangles(shape: Surface, rotation: Array, view: Flat) -> list[Array]:
    """The triangles of every part that face the viewer, turned as in `outlines`: (k, 3, 2) [mm]."""
    flat = shape.vertices_mm @ rotation.T @ AXES[view].T
    seen = shape.faces[_facing(flat, shape.faces)]
    part_of = np.searchsorted(shape.starts, seen[:, 0], side="right") - 1
    return [flat[seen[part_of == number]] for number in range(len(shape.starts))]


def closed_loops(start: Ints, end: Ints) -> list[Ints]:
    """Edges with a sense joined to closed loops: arrays of edge numbers in walking order.

    As many edges leave every corner as reach it. So the edges sorted by their end and by their
    start visit the same corners in the same order, and pairing the two lists gives each edge one
    that follows it. Loops are then walked all at once, in strides that double.
    """
    n = len(start)
    if n == 0:
        return []
    follows = np.empty(n, np.int64)
    follows[np.argsort(end, kind="stable")] = np.argsort(start, kind="stable")
    head, jump = np.arange(n), follows.copy()
    doublings = int(np.ceil(np.log2(n))) + 1
    for _ in range(doublings):  # the smallest edge number of each loop is its head
        head = np.minimum(head, head[jump])
        jump = jump[jump]
    is_last = follows == head
    jump = np.where(is_last, np.arange(n), follows)
    to_end = np.where(is_last, 0, 1)
    for _ in range(doublings):
        to_end = to_end + to_end[jump]
        jump = jump[jump]
    order = np.lexsort((-to_end, head))
    ends = (np.flatnonzero(np.diff(head[order])) + 1).tolist()
    return [order[a:b] for a, b in zip([0, *ends], [*ends, n], strict=True)]


def _facing(flat: Array, faces: Ints) -> NDArray[np.bool_]:
    """Which triangles run anticlockwise on the picture, that is, face the viewer."""
    a, b, c = (flat[faces[:, i]] for i in range(3))
    one, two = b - a, c - a
    return np.asarray(one[:, 0] * two[:, 1] > one[:, 1] * two[:, 0])
