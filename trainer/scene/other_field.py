"""A second field on the same head: where another setup would have put its field.

Two setups differ in where the head stands and where the field stands. To see both on one head the
other field is brought to the head as it stands now: field → its own gantry → skull → this gantry.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from trainer.engine.placement import Chain, Placement
from trainer.geometry.region import region_profile
from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.frames import RigidTransform
from trainer.scene.drawing import rim_lines
from trainer.scene.flat_picture import FlatPicture, Shape, Strokes, Words, to_picture
from trainer.scene.outlines import Flat
from trainer.scene.palette import TEXT

Array = NDArray[np.float64]

RINGS = 6


def other_to_gantry(other: Chain, steps: Chain) -> RigidTransform:
    """The other setup's field → the gantry of this setup, with the skull at its place here."""
    field_to_skull = inverse(chain(other.skull_to_gantry, other.gantry_to_field))
    return chain(field_to_skull, steps.skull_to_gantry)


def rims(placement: Placement, to_gantry: RigidTransform) -> Array:
    """Rims and uprights of the placement's region, brought to the gantry: (k, 2, 3) [mm]."""
    every = rim_lines(region_profile(placement.region, RINGS))
    return apply(to_gantry, every.reshape(-1, 3)).reshape(every.shape)


def with_other_field(
    picture: FlatPicture, view: Flat, placement: Placement, to_gantry: RigidTransform, name: str
) -> FlatPicture:
    """The picture with the outline of another placement's region, dashed and named."""
    ends = rims(placement, to_gantry).reshape(-1, 3)
    seen = to_picture(ends, view)
    outline = seen[ConvexHull(seen).vertices]
    closed = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    low = float(outline[:, 1].min()) - 4.5
    more: tuple[Shape, ...] = (
        Strokes(closed, TEXT, 2.0, dashed=True),
        Words((float(outline[:, 0].mean()), low), name, TEXT, boxed=True),
    )
    return FlatPicture(picture.view, picture.window_mm, (*picture.shapes, *more))
