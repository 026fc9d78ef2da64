"""Where a plane of light meets the skin."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def plane_section(
    vertices_mm: Array, faces: NDArray[np.int32], normal: Array, offset_mm: float
) -> Array:
    """Straight pieces of the curve where a surface meets the plane ``normal · p = offset_mm``.

    Parameters
    ----------
    vertices_mm : (n, 3)
        Corners [mm].
    faces : (m, 3)
        Corner numbers of each triangle.
    normal : (3,)
        Unit normal of the plane.
    offset_mm : float
        Distance of the plane from the origin along the normal [mm].

    Returns
    -------
    (k, 2, 3) : start and end of each piece [mm]; k = 0 where the plane misses the surface.
    """
    height = vertices_mm @ normal - offset_mm
    above = height > 0.0
    corner = above[faces]
    count = corner[:, 0].astype(np.int8) + corner[:, 1] + corner[:, 2]
    crossed = (count == 1) | (count == 2)
    tri = faces[crossed]
    flags = corner[crossed]
    # the corner that stands alone on its side; the two edges from it are the crossed ones
    lone_is_above = count[crossed] == 1
    lone = np.argmax(flags == lone_is_above[:, None], axis=1)
    rows = np.arange(len(tri))
    a, b, c = tri[rows, lone], tri[rows, (lone + 1) % 3], tri[rows, (lone + 2) % 3]
    ha, hb, hc = height[a], height[b], height[c]
    va = vertices_mm[a]
    start = va + (ha / (ha - hb))[:, None] * (vertices_mm[b] - va)
    end = va + (ha / (ha - hc))[:, None] * (vertices_mm[c] - va)
    return np.stack([start, end], axis=1)


def section_length_mm(pieces_mm: Array) -> float:
    """Total length of the pieces of `plane_section`."""
    return float(np.linalg.norm(pieces_mm[:, 1] - pieces_mm[:, 0], axis=1).sum())
