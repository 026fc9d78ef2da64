"""The frames, and what leads from one to another.

All frames are right-handed, in millimetres, with the axis sense of DICOM's patient system
(LPS; DICOM PS3.3 C.7.6.2.1.1): **+x to the patient's left, +y to the patient's back, +z up**.
With the head neutral all frames are parallel.

========== ================================================ ==================================
frame      origin                                           moves with
========== ================================================ ==================================
skull      midpoint of the two porions; Frankfort           the head
           horizontal is z = 0
mandible   equals skull with the teeth together             the lower jaw
torso      equals skull with the head neutral and the teeth the person's steps; it stays
           together                                         upright when the head turns
support    top of the chin support in the midline           chin support height
gantry     parked rotation axis at the unit's zero plane    unit height
field      centre of the recorded cylinder                  field offsets inside the gantry
room       floor point below the parked axis                nothing
========== ================================================ ==================================

Signs of the head's attitude: pitch + is chin up, yaw + is the face turned to the patient's left,
roll + is the top of the head leaning to the patient's left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.errors import FrameError


class Frame(StrEnum):
    """A frame of the table above."""

    SKULL = "skull"
    MANDIBLE = "mandible"
    TORSO = "torso"
    SUPPORT = "support"
    GANTRY = "gantry"
    FIELD = "field"
    ROOM = "room"


class Side(StrEnum):
    """A side of the patient; ``MIDLINE`` for what has none."""

    LEFT = "left"
    RIGHT = "right"
    MIDLINE = "midline"


@dataclass(frozen=True, slots=True)
class RigidTransform:
    """Leads points from frame ``source`` to frame ``target``: ``rotation @ p + translation_mm``.

    ``rotation`` is a (3, 3) proper rotation, ``translation_mm`` is (3,) [mm].

    Raises
    ------
    FrameError
        If the rotation is not proper or a number is not finite.
    """

    source: Frame
    target: Frame
    rotation: NDArray[np.float64]
    translation_mm: NDArray[np.float64]

    def __post_init__(self) -> None:
        if self.rotation.shape != (3, 3) or self.translation_mm.shape != (3,):
            raise FrameError(f"{self.source} to {self.target}: needs 3x3 and 3 numbers")
        # plain floats: made ten times for every placement, and much quicker than small arrays
        a, b, c = self.rotation.tolist()
        if not all(map(math.isfinite, (*a, *b, *c, *self.translation_mm.tolist()))):
            raise FrameError(f"{self.source} to {self.target}: a number is not finite")
        lengths = [_dot(a, a) - 1.0, _dot(b, b) - 1.0, _dot(c, c) - 1.0]
        angles = [_dot(a, b), _dot(b, c), _dot(c, a)]
        cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
        if max(map(abs, lengths + angles)) > 1e-9 or _dot(cross, c) < 0.0:
            raise FrameError(f"{self.source} to {self.target}: the matrix is not a rotation")


def _dot(a: list[float], b: list[float]) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
