"""What every view draws alike: colour and order of structures, ways, and the support's sizes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import Chain, StructurePlacement, Way
from trainer.models.frames import Frame, RigidTransform
from trainer.scene.palette import CLOSE, INSIDE, MISSED, Rgb

Array = NDArray[np.float64]

# How the rims of a field are drawn: pieces round the axis, and uprights between the rims.
AROUND, UPRIGHTS = 48, 4
# Half sizes of the chin support: sideways and forward, and how far its block and post go down.
SUPPORT_HALF_MM = (21.0, 15.0)
SUPPORT_BLOCK_MM, SUPPORT_POST_MM = 9.0, 60.0
POST_HALF_MM = 6.0
# A step of 1 mm each way in the gantry frame.
WAY_STEP: dict[Way, tuple[float, float, float]] = {
    Way.LEFT: (1.0, 0.0, 0.0),
    Way.RIGHT: (-1.0, 0.0, 0.0),
    Way.BACK: (0.0, 1.0, 0.0),
    Way.FORWARD: (0.0, -1.0, 0.0),
    Way.UP: (0.0, 0.0, 1.0),
    Way.DOWN: (0.0, 0.0, -1.0),
}
ARROW_MM = 24.0
# Only the worst missed structure is named on a picture: the list has them all.
MOST_NAMES = 1


def frame_step(steps: Chain, frame: Frame) -> RigidTransform:
    """Skull, mandible or torso → gantry."""
    if frame is Frame.TORSO:
        return steps.torso_to_gantry
    return steps.mandible_to_gantry if frame is Frame.MANDIBLE else steps.skull_to_gantry


def worst_first(structures: Sequence[StructurePlacement]) -> list[StructurePlacement]:
    """The structures, what lacks most first; its first is `engine.placement.worst`.

    Those that lack as much stay in their order, so that every view names the same one.
    """
    return sorted(structures, key=lambda s: -round(s.lack_mm, 6))


def state_colour(found: StructurePlacement) -> Rgb:
    """The signal colour of a structure: inside, too close to the edge, or cut off."""
    if found.holds:
        return INSIDE
    return MISSED if found.margin_mm < 0.0 else CLOSE


def short_name(found: StructurePlacement) -> str:
    """The missed structure's name with the sign that marks it, short enough for a picture."""
    return f"× {found.structure.name.removeprefix('the ')}"


def rim_lines(profile_mm: Array, around: int = AROUND) -> Array:
    """Upper and lower rim and a few uprights between them: (k, 2, 3) [mm]."""
    turn = np.arange(around) * (2.0 * np.pi / around)
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    outermost = profile_mm[:, 0] >= profile_mm[:, 0].max() - 1e-9
    top, bottom = profile_mm[outermost][0], profile_mm[outermost][-1]
    pieces = []
    for r, z in (top, bottom):
        circle = np.column_stack([r * ring, np.full(around, z)])
        pieces.append(np.stack([circle, np.roll(circle, -1, axis=0)], axis=1))
    for k in range(UPRIGHTS):
        x, y = ring[k * around // UPRIGHTS] * top[0]
        pieces.append(np.array([[[x, y, top[1]], [x, y, bottom[1]]]]))
    return np.concatenate(pieces)
