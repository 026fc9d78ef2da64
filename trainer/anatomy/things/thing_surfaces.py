"""Closed meshes of rods and boxes, made from their paths and not found on a grid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.shapes.meshing import Mesh, volume_mm3

Array = NDArray[np.float64]

BOX_CORNERS = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
BOX_FACES = np.array(
    [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6],
     [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]], np.int32,
)  # fmt: skip


def outward(mesh: Mesh) -> Mesh:
    """The mesh with its faces turned so that it encloses a positive volume."""
    if volume_mm3(mesh) > 0.0:
        return mesh
    return Mesh(mesh.vertices_mm, np.ascontiguousarray(mesh.faces[:, ::-1]))


def box_mesh(center_mm: ArrayLike, half_mm: ArrayLike, rotation: ArrayLike) -> Mesh:
    """Twelve triangles round a box."""
    corners = (BOX_CORNERS * np.asarray(half_mm, float)) @ np.asarray(rotation, float).T
    return outward(Mesh(corners + np.asarray(center_mm, float), BOX_FACES))


def rod_mesh(points_mm: Array, radii_mm: Array, sides: int, closed: bool = False) -> Mesh:
    """A closed tube of ``sides`` faces round the corners (n, 3) with radii (n,) [mm].

    An open rod ends in flat caps, a closed one runs back into its beginning.
    """
    n = len(points_mm)
    after = np.roll(points_mm, -1, axis=0) if closed else np.vstack([points_mm[1:], points_mm[-1:]])
    before = np.roll(points_mm, 1, axis=0) if closed else np.vstack([points_mm[:1], points_mm[:-1]])
    ways = after - before
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    # carry one direction along the rod, so that it does not twist
    across = np.empty((n, 3))
    side = np.eye(3)[np.argmin(np.abs(ways[0]))]
    for i in range(n):
        side = side - (side @ ways[i]) * ways[i]
        side /= np.linalg.norm(side)
        across[i] = side
    other = np.cross(ways, across)
    turn = 2.0 * np.pi * np.arange(sides) / sides
    ring = (
        np.cos(turn)[None, :, None] * across[:, None, :]
        + np.sin(turn)[None, :, None] * other[:, None, :]
    )
    corners = points_mm[:, None, :] + radii_mm[:, None, None] * ring
    index = np.arange(n * sides).reshape(n, sides)
    here, there = index[:-1], index[1:]
    if closed:
        # the last ring meets the first where they fit best
        gaps = [
            np.linalg.norm(corners[-1] - np.roll(corners[0], -k, axis=0), axis=1).sum()
            for k in range(sides)
        ]
        here = index
        there = np.vstack([index[1:], np.roll(index[0], -int(np.argmin(gaps)))])
    near, far = np.roll(here, -1, axis=1), np.roll(there, -1, axis=1)
    faces = [np.stack([here, near, far], -1), np.stack([here, far, there], -1)]
    flat = [f.reshape(-1, 3) for f in faces]
    vertices = corners.reshape(-1, 3)
    if not closed:
        first, last = index[0], index[-1]
        ends = len(vertices) + np.arange(2)
        vertices = np.vstack([vertices, points_mm[:1], points_mm[-1:]])
        flat.append(np.column_stack([np.full(sides, ends[0]), np.roll(first, -1), first]))
        flat.append(np.column_stack([np.full(sides, ends[1]), last, np.roll(last, -1)]))
    return outward(Mesh(vertices, np.concatenate(flat).astype(np.int32)))


def joined(meshes: Sequence[Mesh]) -> Mesh:
    """Several surfaces as one list of corners and faces."""
    starts = np.cumsum([0, *(len(m.vertices_mm) for m in meshes)])[:-1]
    faces = [m.faces + s for m, s in zip(meshes, starts, strict=True)]
    return Mesh(
        np.concatenate([m.vertices_mm for m in meshes]), np.concatenate(faces).astype(np.int32)
    )
