"""What a box sweeps that turns about an upright axis, and how far points are from that."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.models.device import MovingPart, Turn

Array = NDArray[np.float64]


def swept_distance(points_mm: Array, part: MovingPart, turn: Turn) -> Array:
    """Signed distance of points to all that the part passes through: (n,) [mm], negative inside.

    Parameters
    ----------
    points_mm : (n, 3)
        Heights from the zero plane, the rotation axis at x = y = 0.
    part : MovingPart
        The box, where it stands when parked.
    turn : Turn
        From where to where the box turns.

    Notes
    -----
    Within the turn the box passes through a ring: from its nearest radius to that of its outer
    corners. Near the ends of a turn the ring takes in a little more than the corners reach, so a
    distance is never told too large there; beyond the ends the box itself counts, and as far as its
    corners reach, the rim that they draw. Inside, the distance is to the nearest face of the ring's
    or the box's section.
    """
    radius = np.hypot(points_mm[:, 0], points_mm[:, 1])
    up = np.maximum(part.bottom_mm - points_mm[:, 2], points_mm[:, 2] - part.top_mm)
    outer = float(np.hypot(part.farthest_mm, part.half_width_mm))
    ring = _joined(np.maximum(part.nearest_mm - radius, radius - outer), up)
    if turn.sweep_deg >= 360.0:
        return ring
    start = np.deg2rad(part.angle_deg + turn.from_deg)
    sweep = np.deg2rad(turn.sweep_deg)
    corner = np.arctan2(part.half_width_mm, part.farthest_mm)
    after = (np.arctan2(points_mm[:, 0], points_mm[:, 1]) - start + corner) % (2.0 * np.pi)
    rim = _joined(np.maximum(part.farthest_mm - radius, radius - outer), up)
    found = np.where(after <= sweep + 2.0 * corner, rim, np.inf)
    within = (after >= corner) & (after <= sweep + corner)
    found = np.where(within, np.minimum(ring, found), found)
    for end in (start, start + sweep):
        s, c = np.sin(end), np.cos(end)
        along = points_mm[:, 0] * s + points_mm[:, 1] * c
        across = np.abs(points_mm[:, 0] * c - points_mm[:, 1] * s) - part.half_width_mm
        off = np.maximum(part.nearest_mm - along, along - part.farthest_mm)
        found = np.minimum(found, _joined(off, across, up))
    return found


def _joined(*offs_mm: Array) -> Array:
    """Signed distance from how far points are beyond each pair of faces (negative between)."""
    outside = np.sqrt(sum(np.maximum(off, 0.0) ** 2 for off in offs_mm))
    inside = offs_mm[0]
    for off in offs_mm[1:]:
        inside = np.maximum(inside, off)
    return np.asarray(outside + np.minimum(inside, 0.0))
