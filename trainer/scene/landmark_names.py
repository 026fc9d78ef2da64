"""Landmarks that light lines are set by, marked and named on a flat view."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import Chain
from trainer.geometry.transforms import apply
from trainer.scene.flat_picture import FlatPicture, Shape, Strokes, Words, to_picture
from trainer.scene.outlines import Flat
from trainer.scene.palette import TEXT

Array = NDArray[np.float64]

# What can be felt or seen on a face, by view: the landmark, its plain name, whether it goes with
# the lower jaw, and where the name stands against the mark.
NAMED: dict[Flat, tuple[tuple[str, str, bool, str], ...]] = {
    Flat.FRONT: (
        ("nasion", "root of the nose", False, "beside"),
        ("orbitale-right", "lower rim of the orbit", False, "below"),
        ("orbitale-left", "", False, "below"),
        ("menton", "chin", True, "beside"),
    ),
    Flat.SIDE: (
        ("porion-right", "ear canal", False, "above"),
        ("orbitale-right", "lower rim of the orbit", False, "below"),
        ("gonion-right", "angle of the jaw", True, "below"),
        ("menton", "chin", True, "below"),
    ),
}
ARM_MM = 2.5
# Where a name stands: across and up from its mark [mm], and which part of it stands there.
PLACES = {
    "beside": ((4.0, 0.0), "left"),
    "below": ((0.0, -6.5), "middle"),
    "above": ((0.0, 6.5), "middle"),
}


def with_landmarks(
    picture: FlatPicture, landmarks_mm: Mapping[str, Array], steps: Chain
) -> FlatPicture:
    """The picture with its view's landmarks; ``steps`` is the chain of the setup it shows.

    ``landmarks_mm`` are in the skull frame with the teeth together.
    """
    shapes: list[Shape] = []
    plus = np.array([[[-ARM_MM, 0.0], [ARM_MM, 0.0]], [[0.0, -ARM_MM], [0.0, ARM_MM]]])
    for key, name, with_jaw, place in NAMED[picture.view]:
        if key not in landmarks_mm:
            continue
        step = steps.mandible_to_gantry if with_jaw else steps.skull_to_gantry
        at = to_picture(apply(step, landmarks_mm[key]), picture.view)
        shapes.append(Strokes(plus + at, TEXT, 1.6))
        if name:
            (across, up), anchor = PLACES[place]
            beside = (float(at[0]) + across, float(at[1]) + up)
            shapes.append(Words(beside, name, TEXT, anchor, boxed=True))
    return FlatPicture(picture.view, picture.window_mm, (*picture.shapes, *shapes))
