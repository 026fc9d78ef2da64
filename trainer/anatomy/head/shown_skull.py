"""The skull as it is looked at: its triangles go where eyes go.

A skull has as much surface inside as outside, and most of the outside is smooth braincase. For the
screen the braincase is filled down to the rear fossa, closed cells and sinuses are left out, and
what is far from the face is simplified as if it were smaller.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape, common, grow, half_space, union
from trainer.anatomy.shapes.meshing import Mesh, simplified
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Over the lower end of the braincase it stays hollow, so that the great opening below shows [mm].
HOLLOW_MM = 26.0
OVER_MM = 1.0  # the filling reaches so far into the bone around
# The face's middle from the front nasal spine [mm]. Within the first distance from it things count
# in full, beyond the second by the share; between them ever less.
MIDDLE_FROM_SPINE = np.array([0.0, 35.0, 20.0])
NEAR_MM, FAR_MM, FAR_SHARE = 72.0, 112.0, 0.35
ALL_MM, TABLE_STEP_MM = 400.0, 0.1


def filled(skull: Shape, brain_space: Shape) -> Shape:
    """The skull with all but the lowest part of its braincase filled."""
    floor = brain_space.lower_mm[2] + HOLLOW_MM
    filling = common(grow(brain_space, OVER_MM), half_space((0, 0, floor), (0, 0, -1)))
    lower = np.maximum(filling.lower_mm, [-np.inf, -np.inf, floor])
    return union(skull, Shape(filling.distance, lower, filling.upper_mm))


def outer(mesh: Mesh) -> Mesh:
    """The mesh without the surfaces of closed cavities, which face inwards."""
    ends = (mesh.faces.ravel(), mesh.faces[:, [1, 2, 0]].ravel())
    links = coo_array((np.ones(mesh.faces.size), ends), shape=(len(mesh.vertices_mm),) * 2)
    _, piece = connected_components(links, directed=False)
    a, b, c = (mesh.vertices_mm[mesh.faces[:, i]] for i in range(3))
    of_face = piece[mesh.faces[:, 0]]
    volume = np.bincount(of_face, np.einsum("ij,ij->i", a, np.cross(b, c)))
    used, number = np.unique(mesh.faces[volume[of_face] > 0.0], return_inverse=True)
    return Mesh(mesh.vertices_mm[used], number.reshape(-1, 3).astype(np.int32))


def simplified_to_look_at(mesh: Mesh, triangles: int, person: Person) -> Mesh:
    """The mesh with about so many triangles, most of them in the face; still closed."""
    middle = starter_landmarks(person)["anterior-nasal-spine"] + MIDDLE_FROM_SPINE
    true = np.arange(0.0, ALL_MM, TABLE_STEP_MM)
    share = np.interp(true, [NEAR_MM, FAR_MM], [1.0, FAR_SHARE])
    shown = np.cumsum(share) * TABLE_STEP_MM

    def drawn(points_mm: Array, one: Array, other: Array) -> Array:
        off = points_mm - middle
        away = np.linalg.norm(off, axis=1, keepdims=True)
        return np.asarray(middle + off * np.interp(away, one, other) / np.maximum(away, 1e-9))

    small = simplified(Mesh(drawn(mesh.vertices_mm, true, shown), mesh.faces), triangles)
    return Mesh(drawn(small.vertices_mm, shown, true), small.faces)
