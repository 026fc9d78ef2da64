"""Shapes to grids and triangle meshes.

The grid is filled block by block, and blocks that a coarse look shows to be far from the
surface are filled with the coarse value. So the cost goes with the surface, not the volume.
"""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from trainer.anatomy.shapes.implicit import Shape

Array = NDArray[np.float64]

BLOCK, LOOK_EVERY = 16, 3  # grid points along a block's edge, and from one look to the next
# How much first-order distances may overstate the true one before a block is wrongly skipped. A
# sampled field's distances end at 6.35 mm: with 2.4 its blocks can be skipped up to 1 mm spacing.
DISTANCE_TRUST = 2.4
# Grid values are kept this share of the spacing away from the surface.
KEEP_OFF = 0.01
PACES_TRIED = (7, 6, 5, 8)  # of the collapse, in turn
# fast_simplification holds the surface it works on in variables of the whole process and lets other
# threads run meanwhile: two at a time would get each other's triangles.
_ONE_COLLAPSE_AT_A_TIME = Lock()
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


def sample_grid(
    shape: Shape, spacing_mm: float, pad_mm: float = 2.0, exact_to_mm: float = 0.0
) -> Grid:
    """Signed distances of the shape on a cubic grid over its box.

    Values are exact near the surface, at least as far off as ``exact_to_mm``; elsewhere only their
    sign holds.
    """
    lower = np.floor((shape.lower_mm - pad_mm) / spacing_mm) * spacing_mm
    count = np.ceil((shape.upper_mm + pad_mm - lower) / spacing_mm).astype(int) + 1
    blocks = -(-count // BLOCK)
    nx, ny, nz = (int(b) * BLOCK for b in blocks)
    out = np.empty((nz, ny, nx), np.float32)
    # looks from which every point of a block is at most half the diagonal between looks away
    away = max(DISTANCE_TRUST * LOOK_EVERY * spacing_mm * np.sqrt(3.0) / 2.0, exact_to_mm)
    offsets = np.stack(
        np.meshgrid(*(np.arange(BLOCK) * spacing_mm,) * 3, indexing="ij"), axis=-1
    ).transpose(2, 1, 0, 3)  # [z, y, x, xyz]
    flat = offsets.reshape(-1, 3)
    coarse = flat.reshape(BLOCK, BLOCK, BLOCK, 3)[::LOOK_EVERY, ::LOOK_EVERY, ::LOOK_EVERY].reshape(
        -1, 3
    )
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
                far = np.abs(look).min() > away
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

    Sheets that a collapse has pinched together come apart again; where that fails another pace is
    tried. What cannot be reduced keeps its triangles.
    """
    import fast_simplification

    if len(mesh.faces) <= triangles:
        return mesh
    for pace in PACES_TRIED:
        with _ONE_COLLAPSE_AT_A_TIME:
            vertices, faces = fast_simplification.simplify(
                mesh.vertices_mm, mesh.faces, target_count=triangles, agg=pace
            )
        found = pulled_apart(Mesh(np.asarray(vertices, np.float64), np.asarray(faces, np.int32)))
        if is_closed(found):
            return found
    return mesh


def pulled_apart(mesh: Mesh) -> Mesh:
    """The mesh with a corner of its own for every sheet that meets there.

    A collapse can pinch two sheets of thin bone together in an edge, which then joins four
    triangles. Round such an edge each triangle is joined to the next one that faces it across the
    solid, and what is not joined through an edge no longer shares its corners.
    """
    starts = mesh.faces.ravel()  # corner number = 3 * face + place; edge i starts at corner i
    ends = mesh.faces[:, [1, 2, 0]].ravel()
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    key = low.astype(np.int64) * len(mesh.vertices_mm) + high
    order = np.lexsort((starts > ends, key))
    _, first, count = np.unique(key[order], return_index=True, return_counts=True)
    plain = first[count == 2]
    pairs = [np.column_stack([order[plain], order[plain + 1]])]
    for at, n in zip(first[count > 2], count[count > 2], strict=True):
        edges = order[at : at + n]
        ahead = edges[starts[edges] < ends[edges]]
        back = edges[starts[edges] > ends[edges]]
        if len(ahead) != len(back):
            return mesh
        pairs.append(_facing(mesh, ahead, back))
    one, other = np.concatenate(pairs).T
    after = np.arange(len(starts)).reshape(-1, 3)[:, [1, 2, 0]].ravel()
    joined = coo_array(
        (np.ones(2 * len(one)), (np.r_[one, after[one]], np.r_[after[other], other])),
        shape=(len(starts), len(starts)),
    )
    corners, number = connected_components(joined, directed=False)
    vertices = np.empty((corners, 3))
    vertices[number] = mesh.vertices_mm[starts]
    apart = Mesh(vertices, number.reshape(-1, 3).astype(np.int32))
    return _with_middles(apart, np.column_stack([one, other]))


def _with_middles(mesh: Mesh, pairs: NDArray[np.intp]) -> Mesh:
    """The mesh with a corner more in edges that have both ends in common with another edge.

    ``pairs`` (n, 2) are the half edges that face each other. Sheets that come together in an edge
    and meet again on the way round keep its ends in common; a corner in the middle of one tells the
    two edges apart.
    """
    ends = np.sort(mesh.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)[pairs[:, 0]], axis=1)
    _, first = np.unique(ends, axis=0, return_index=True)
    faces, vertices = list(mesh.faces), list(mesh.vertices_mm)
    divided: set[int] = set()
    for pair in np.delete(pairs, first, axis=0):
        if divided & {int(edge) // 3 for edge in pair}:
            continue
        for edge in map(int, pair):
            face, place = edge // 3, edge % 3
            a, b, c = np.roll(mesh.faces[face], -place)
            faces[face] = np.array([a, len(vertices), c], np.int32)
            faces.append(np.array([len(vertices), b, c], np.int32))
            divided.add(face)
        vertices.append((mesh.vertices_mm[a] + mesh.vertices_mm[b]) / 2.0)
    return Mesh(np.array(vertices), np.array(faces))


def _facing(mesh: Mesh, ahead: NDArray[np.intp], back: NDArray[np.intp]) -> NDArray[np.intp]:
    """Pairs (n, 2) of the half edges along and against an edge, each across the solid."""
    a, b = (mesh.vertices_mm[mesh.faces.ravel()[i]] for i in (int(ahead[0]), _next(int(ahead[0]))))
    along = (b - a) / max(float(np.linalg.norm(b - a)), 1e-12)
    across = np.cross(along, np.eye(3)[np.argmin(np.abs(along))])
    upward = np.cross(along, across)

    def turn(edge: np.intp) -> float:
        third = mesh.vertices_mm[mesh.faces.ravel()[_next(_next(int(edge)))]] - a
        return float(np.arctan2(third @ upward, third @ across))

    found, left = [], list(back)
    for edge in ahead:
        # the solid lies behind a triangle that runs along the edge: the way of falling angles
        gaps = [(turn(edge) - turn(other)) % (2.0 * np.pi) for other in left]
        found.append((edge, left.pop(int(np.argmin(gaps)))))
    return np.array(found)


def _next(corner: int) -> int:
    """The corner after this one in its triangle."""
    return corner // 3 * 3 + (corner + 1) % 3


def is_closed(mesh: Mesh) -> bool:
    """Whether every edge joins exactly two triangles."""
    ends = np.sort(mesh.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, count = np.unique(ends, axis=0, return_counts=True)
    return bool((count == 2).all())


def volume_mm3(mesh: Mesh) -> float:
    """Enclosed volume by the divergence theorem [mm^3]; positive when normals point outwards."""
    a, b, c = (mesh.vertices_mm[mesh.faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)
