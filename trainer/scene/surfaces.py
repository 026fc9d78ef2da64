"""Triangle arrays as VTK surfaces and actors."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

from trainer.models.meshes import DisplayPart
from trainer.scene.palette import Rgb, unit_rgb

Array = NDArray[np.float64]

# Depth units by which a mark or line is drawn nearer to the viewer than it is: just so much that a
# line on the skin is not swallowed by it; or so far that nothing covers it.
JUST_OVER, OVER_ALL = -100.0, -1.0e7
# The skin's edges are sharp from here on: those of the lips' slit and of the nostrils.
SHARP_RAD = np.radians(50.0)


def joined(parts: Sequence[DisplayPart]) -> tuple[NDArray[np.float32], NDArray[np.int64]]:
    """Several surfaces as one: corners (n, 3) [mm] and triangles (m, 3)."""
    starts = np.cumsum([0, *(len(p.vertices_mm) for p in parts)])[:-1]
    faces = [p.faces.astype(np.int64) + s for p, s in zip(parts, starts, strict=True)]
    return np.concatenate([p.vertices_mm for p in parts]), np.concatenate(faces)


def corner_normals(vertices_mm: Array, faces: NDArray[np.int64]) -> NDArray[np.float32]:
    """Outward unit normals at the corners, the triangles weighing by their area: (n, 3)."""
    a, b, c = (vertices_mm[faces[:, i]] for i in range(3))
    of_face = np.cross(b - a, c - a)
    flat = faces.ravel()
    out = np.empty((len(vertices_mm), 3))
    for axis in range(3):
        weights = np.repeat(of_face[:, axis], 3)
        out[:, axis] = np.bincount(flat, weights, minlength=len(vertices_mm))
    length = np.linalg.norm(out, axis=1, keepdims=True)
    return np.asarray(out / np.where(length > 0, length, 1.0), np.float32)


def parted_at_edges(
    vertices_mm: Array, faces: NDArray[np.int64], sharp_rad: float = SHARP_RAD
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Which corners (k,) a surface needs, some of them twice or more, and its triangles (m, 3).

    Where triangles meet in an edge that turns by more than ``sharp_rad`` each gets a corner of its
    own, so that normals do not run round the edge: the lips' line stays dark.
    """
    a, b, c = (vertices_mm[faces[:, i]] for i in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    starts, ends = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    key = np.minimum(starts, ends) * len(vertices_mm) + np.maximum(starts, ends)
    order = np.argsort(key, kind="stable")
    _, first, count = np.unique(key[order], return_index=True, return_counts=True)
    one, other = order[first[count == 2]], order[first[count == 2] + 1]
    smooth = np.einsum("ij,ij->i", normal[one // 3], normal[other // 3]) > np.cos(sharp_rad)
    one, other = one[smooth], other[smooth]
    after = np.arange(len(starts)).reshape(-1, 3)[:, [1, 2, 0]].ravel()
    links = coo_array(
        (np.ones(2 * len(one)), (np.r_[one, after[one]], np.r_[after[other], other])),
        shape=(len(starts), len(starts)),
    )
    corners, number = connected_components(links, directed=False)
    source = np.empty(corners, np.int64)
    source[number] = starts
    return source, number.reshape(-1, 3).astype(np.int64)


def surface_data(vertices_mm: Array, faces: NDArray[np.int64]) -> Any:
    """The surface with smooth normals for VTK."""
    data = pyvista.PolyData.from_regular_faces(np.asarray(vertices_mm, np.float32), faces)
    data.point_data.active_normals = corner_normals(vertices_mm, faces)
    return data


def line_data(pieces_mm: Array) -> Any:
    """Straight pieces (k, 2, 3) [mm] for VTK."""
    data = pyvista.PolyData()
    points = np.asarray(pieces_mm, np.float32).reshape(-1, 3)
    data.points = points
    k = len(points) // 2
    data.lines = np.column_stack([np.full(k, 2), np.arange(2 * k).reshape(k, 2)]).ravel()
    return data


def actor_for(data: Any, colour: Rgb | None = None, nearer: float = 0.0) -> Any:
    """An actor of the data; ``nearer`` is `JUST_OVER` or `OVER_ALL` for marks and lines."""
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(data)
    mapper.SetScalarVisibility(colour is None)
    if nearer:
        mapper.SetResolveCoincidentTopologyToPolygonOffset()
        mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, nearer)
        mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, nearer)
    actor = vtkActor()
    actor.SetMapper(mapper)
    shine = actor.GetProperty()
    shine.SetAmbient(0.28)
    shine.SetDiffuse(0.78)
    shine.SetSpecular(0.0)
    if colour is not None:
        shine.SetColor(*unit_rgb(colour))
    return actor


def line_actor(colour: Rgb, width_px: float, nearer: float = JUST_OVER) -> Any:
    """An actor for lines, empty at first, drawn in plain colour."""
    actor = actor_for(line_data(np.zeros((0, 2, 3))), colour, nearer)
    shine = actor.GetProperty()
    shine.SetLineWidth(width_px)
    shine.SetAmbient(1.0)
    shine.SetDiffuse(0.0)
    shine.LightingOff()
    return actor


def set_matrix(actor: Any, matrix: Array) -> None:
    """Place an actor by a (4, 4) matrix."""
    from vtkmodules.vtkCommonMath import vtkMatrix4x4

    held = vtkMatrix4x4()
    held.DeepCopy(matrix.ravel().tolist())
    actor.SetUserMatrix(held)
