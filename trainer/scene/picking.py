"""Which structures lie under a point of a view, also those hidden behind others."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import Chain
from trainer.geometry.transforms import inverse
from trainer.models.meshes import HeadMeshes
from trainer.scene.drawing import frame_step
from trainer.scene.outlines import AXES, TOWARDS_VIEWER, Flat
from trainer.scene.vtk_frames import CameraPlace

Array = NDArray[np.float64]

# A structure counts as hit when the line of sight passes within this of one of its corners [mm]:
# root tips are too small to be hit exactly.
NEAR_MM = 1.0
# Lines of sight begin this far in front of the head [mm].
FAR_MM = 1000.0


def sight_line(
    place: CameraPlace, x_px: float, y_px: float, width_px: int, height_px: int
) -> tuple[Array, Array]:
    """Start and direction (unit length) in the gantry frame of the line of sight through a pixel.

    Pixels count from the lower left corner, as in `vtk_frames.on_screen`.
    """
    ahead = place.looks_at_mm - place.position_mm
    ahead = ahead / np.linalg.norm(ahead)
    right = np.cross(ahead, place.up)
    right = right / np.linalg.norm(right)
    up = np.cross(right, ahead)
    mm_per_px = 2.0 * place.half_height_mm / height_px
    across, above = (x_px - width_px / 2.0) * mm_per_px, (y_px - height_px / 2.0) * mm_per_px
    return place.looks_at_mm + across * right + above * up - FAR_MM * ahead, ahead


def flat_sight_line(view: Flat, across_mm: float, up_mm: float) -> tuple[Array, Array]:
    """The same through a point of a flat view, from the viewer into the picture."""
    ahead = -TOWARDS_VIEWER[view]
    return np.array([across_mm, up_mm]) @ AXES[view] - FAR_MM * ahead, ahead


def structures_on(
    meshes: HeadMeshes, steps: Chain, start_mm: Array, direction: Array
) -> tuple[str, ...]:
    """Ids of the structures that the line meets, the nearest first; ``direction`` of length one."""
    found: list[tuple[float, str]] = []
    for key, part in meshes.of_structure.items():
        back = inverse(frame_step(steps, part.frame))
        origin = back.rotation @ start_mm + back.translation_mm
        along = back.rotation @ direction
        depth = _depth(part.vertices_mm.astype(np.float64), part.faces, origin, along)
        if depth is not None:
            found.append((depth, key))
    return tuple(key for _, key in sorted(found))


def _depth(
    corners_mm: Array, faces: NDArray[np.int32], origin: Array, along: Array
) -> float | None:
    """How far along the line the surface is first met; ``None`` if it is missed."""
    away = corners_mm - origin
    depths = away @ along
    off = np.linalg.norm(away - depths[:, None] * along, axis=1)
    # no triangle reaches farther from its corners than the whole surface is wide
    if off.min() > np.linalg.norm(np.ptp(corners_mm, axis=0)):
        return None
    hits = [depths[off < NEAR_MM], _crossings(corners_mm[faces], origin, along)]
    met = np.concatenate(hits)
    return float(met.min()) if len(met) else None


def _crossings(triangles_mm: Array, origin: Array, along: Array) -> Array:
    """Distances at which a line crosses triangles (n, 3, 3).

    Möller & Trumbore, "Fast, minimum storage ray-triangle intersection", 1997.
    """
    first = triangles_mm[:, 0]
    one, two = triangles_mm[:, 1] - first, triangles_mm[:, 2] - first
    across = np.cross(along, two)
    scale = np.einsum("ij,ij->i", one, across)
    flat = np.abs(scale) < 1e-12
    over = 1.0 / np.where(flat, 1.0, scale)
    away = origin - first
    u = over * np.einsum("ij,ij->i", away, across)
    turned = np.cross(away, one)
    v = over * (turned @ along)
    hit = ~flat & (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    depths: Array = over * np.einsum("ij,ij->i", two, turned)
    return depths[hit]
