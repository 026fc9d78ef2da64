"""The sharp layer of a panoramic picture as a surface: a horseshoe as high as the field."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.layer import front_middle_mm, middle_points, sharp_limits_mm
from trainer.models.device import Beam, FieldSize

Array = NDArray[np.float64]

STEP_MM = 2.0
# Behind, the layer is so thick that it would hide everything: drawn no thicker on either side than
# this. Own working value.
THICKEST_MM = 12.0


def layer_rings(field: FieldSize, beam: Beam) -> tuple[Array, Array]:
    """Inner and outer outline (n, 2) of the layer in the field frame [mm], from right to left.

    The field has a layer.
    """
    layer = field.layer
    assert layer is not None
    along, places, ways = middle_points(layer, STEP_MM)
    lengths = np.array([arc.length_mm for arc in layer.arcs])
    middles = np.cumsum(lengths) - lengths / 2.0
    limits = np.array([sharp_limits_mm(layer, beam, arc.radius_mm) for arc in layer.arcs])
    limits = np.clip(limits, -THICKEST_MM, THICKEST_MM)
    middle = front_middle_mm(field, layer)[:2]
    inner, outer = (
        # straight from one arc's middle to the next: a step would look like an edge
        middle + places + np.interp(np.abs(along), middles, limits[:, k])[:, None] * ways
        for k in range(2)
    )
    return inner, outer


def layer_shell(field: FieldSize, beam: Beam) -> tuple[Array, NDArray[np.int64]]:
    """Corners (m, 3) in the field frame [mm] and triangles of the layer, outsides outwards."""
    inner, outer = layer_rings(field, beam)
    high, n = field.height_mm / 2.0, len(inner)
    ring = np.concatenate([outer, inner[::-1]])  # anticlockwise as seen from below
    around = len(ring)
    low, top = (np.c_[ring, np.full(around, z)] for z in (-high, high))
    here = np.arange(around)
    onward = (here + 1) % around
    walls = [
        np.stack([here, onward, onward + around], axis=1),
        np.stack([here, onward + around, here + around], axis=1),
    ]
    first = np.arange(n - 1)
    # outer point k faces inner point k, which stands at the ring's end counted backwards
    a, b, c, d = first, first + 1, around - 2 - first, around - 1 - first
    caps = [
        np.stack([a, c, b], axis=1),
        np.stack([a, d, c], axis=1),
        np.stack([a, b, c], axis=1) + around,
        np.stack([a, c, d], axis=1) + around,
    ]
    return np.concatenate([low, top]), np.concatenate([*walls, *caps]).astype(np.int64)


def layer_lines(field: FieldSize, beam: Beam) -> Array:
    """The layer's outlines at floor and roof, (k, 2, 3) in the field frame [mm]."""
    pieces = []
    for ring in layer_rings(field, beam):
        for z in (-field.height_mm / 2.0, field.height_mm / 2.0):
            line = np.c_[ring, np.full(len(ring), z)]
            pieces.append(np.stack([line[:-1], line[1:]], axis=1))
    return np.concatenate(pieces)
