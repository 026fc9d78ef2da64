"""Shapes to grids and triangle meshes.

The grid is filled block by block, and blocks that a coarse look shows to be far from the
surface are filled with the coarse value. So the cost goes with the surface, not the volume.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.implicit import Shape

Array = NDArray[np.float64]

BLOCK = 16  # grid points along a block's edge
# How much first-order distances may overstate the true one before a block is wrongly skipped.
DISTANCE_TRUST = 2.5
# Grid values are kept this share of the spacing away from the surface.
KEEP_OFF = 0.01
# What `simplified` tries in turn: shares of the count asked for, and paces of the collapse.
COUNTS_TRIED = (1.0, 0.98, 0.96, 0.93, 0.9, 0.85, 0.8, 1.2, 1.5, 2.0)
PACES_TRIED = (7, 6, 5, 8)
# Half the distance over which a shape's slope is taken.
SLOPE_STEP_MM = 0.02


@dataclass(frozen=True, slots=True)
class Mesh:
    """A triangle surface: ``vertices_mm`` (n, 3), ``faces`` (m, 3) int32, outward normals."""

    vertices_mm: Array
    faces: NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Grid:
    """Signed distances ``values_mm`` [z, y, x]; ``origin_mm`` is the first point's x, y, z."""

    values_mm: NDArray[np.float32]
    origin_mm: Array
    spacing_mm: float


def sample_grid(shape: Shape, spacing_mm: float, pad_mm: float = 2.0) -> Grid:
    """Signed distances of the shape on a cubic grid over its box.

    Values are exact near the surface; elsewhere only their sign holds.
    """
    lower = np.floor((shape.lower_mm - pad_mm) / spacing_mm) * spacing_mm
    count = np.ceil((shape.upper_mm + pad_mm - lower) / spacing_mm).astype(int) + 1
    blocks = -(-count // BLOCK)
    nx, ny, nz = (int(b) * BLOCK for b in blocks)
    out = np.empty((nz, ny, nx), np.float32)
    # the half diagonal of a block, a little enlarged, tells which blocks hold surface
    half = spacing_mm * BLOCK * 0.5 * np.sqrt(3.0)
    offsets = np.stack(
        np.meshgrid(*(np.arange(BLOCK) * spacing_mm,) * 3, indexing="ij"), axis=-1
    ).transpose(2, 1, 0, 3)  # [z, y, x, xyz]
    flat = offsets.reshape(-1, 3)
    coarse = flat.reshape(BLOCK, BLOCK, BLOCK, 3)[::5, ::5, ::5].reshape(-1, 3)
    for bz in range(nz // BLOCK):
        for by in range(ny // BLOCK):
            for bx in range(nx // BLOCK):
                start = lower + np.array([bx, by, bz]) * BLOCK * spacing_mm
                where = np.s_[
                    bz * BLOCK : (bz + 1) * BLOCK,
                    by * BLOCK : (by + 1) * BLOCK,
                    bx * BLOCK : (bx + 1) * BLOCK,
                ]
                look = shape.distance(coarse + start)
                far = np.abs(look).min() > DISTANCE_TRUST * half / 3.0
                if far and (np.all(look > 0) or np.all(look < 0)):
                    out[where] = look[0]
                else:
                    out[where] = shape.distance(flat + start).reshape(BLOCK, BLOCK, BLOCK)
    return Grid(out, lower, spacing_mm)


def surface_of_grid(grid: Grid, level_mm: float = 0.0) -> Mesh:
    """The closed surface where the grid's value is ``level_mm`` (marching cubes, Lewiner 2003)."""
    from skimage.measure import marching_cubes

    s = grid.spacing_mm
    volume = np.pad(grid.values_mm - np.float32(level_mm), 1, constant_values=np.float32(10 * s))
    # a grid point exactly on the surface would give triangles without area and holes after merging
    volume[np.abs(volume) < KEEP_OFF * s] = np.float32(KEEP_OFF * s)
    zyx, faces, _, _ = marching_cubes(volume, level=0.0, gradient_direction="ascent")
    vertices = (zyx[:, ::-1].astype(np.float64) - 1.0) * s + grid.origin_mm
    mesh = Mesh(vertices, np.ascontiguousarray(faces.astype(np.int32)))
    return mesh if volume_mm3(mesh) > 0 else Mesh(mesh.vertices_mm, mesh.faces[:, ::-1].copy())


def surface(shape: Shape, spacing_mm: float) -> Mesh:
    """The shape's closed surface as triangles about ``spacing_mm`` long."""
    return surface_of_grid(sample_grid(shape, spacing_mm))


def snapped(mesh: Mesh, shape: Shape, most_mm: float) -> Mesh:
    """The mesh with its corners moved onto the shape's surface, each by at most ``most_mm``.

    Marching cubes puts corners right only where the distance runs straight; two Newton steps along
    the corners' normals bring a small surface from about a tenth of its spacing to a hundredth.
    """
    moved, limit = mesh.vertices_mm.copy(), most_mm
    for _ in range(2):
        way = corner_normals(Mesh(moved, mesh.faces))
        ahead, behind = shape(moved + SLOPE_STEP_MM * way), shape(moved - SLOPE_STEP_MM * way)
        slope = np.maximum((ahead - behind) / (2.0 * SLOPE_STEP_MM), 0.3)
        step = np.clip((ahead + behind) / 2.0 / slope, -limit, limit)
        moved -= step[:, None] * way
        limit /= 2.0
    return Mesh(moved, mesh.faces)


def corner_normals(mesh: Mesh) -> Array:
    """Unit normals (n, 3) at the corners: the mean of the faces round each, weighted by area."""
    a, b, c = (mesh.vertices_mm[mesh.faces[:, i]] for i in range(3))
    of_face = np.cross(b - a, c - a)
    total = np.zeros_like(mesh.vertices_mm)
    for i in range(3):
        for axis in range(3):
            total[:, axis] += np.bincount(mesh.faces[:, i], of_face[:, axis], len(total))
    return np.asarray(total / np.maximum(np.linalg.norm(total, axis=1), 1e-12)[:, None])


def simplified(mesh: Mesh, triangles: int) -> Mesh:
    """The mesh with about ``triangles`` triangles, still closed (quadric edge collapse).

    A collapse can pinch two sheets of thin bone together in an edge; another pace or a slightly
    different count collapses elsewhere, so these are tried until the surface is closed. What
    cannot be reduced keeps its triangles.
    """
    import fast_simplification

    if len(mesh.faces) <= triangles:
        return mesh
    for share in COUNTS_TRIED:
        for pace in PACES_TRIED:
            vertices, faces = fast_simplification.simplify(
                mesh.vertices_mm, mesh.faces, target_count=int(triangles * share), agg=pace
            )
            found = Mesh(np.asarray(vertices, np.float64), np.asarray(faces, np.int32))
            if is_closed(found):
                return found
    return mesh


def is_closed(mesh: Mesh) -> bool:
    """Whether every edge joins exactly two triangles."""
    ends = np.sort(mesh.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, count = np.unique(ends, axis=0, return_counts=True)
    return bool((count == 2).all())


def volume_mm3(mesh: Mesh) -> float:
    """Enclosed volume by the divergence theorem [mm^3]; positive when normals point outwards."""
    a, b, c = (mesh.vertices_mm[mesh.faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)
