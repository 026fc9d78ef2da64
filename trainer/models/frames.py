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
support    top of the chin support in the midline           chin support height
gantry     parked rotation axis at the unit's zero plane    unit height
field      centre of the recorded cylinder                  field offsets inside the gantry
room       floor point below the parked axis                nothing
========== ================================================ ==================================

Signs of the head's attitude: pitch + is chin up, yaw + is the face turned to the patient's left,
roll + is the top of the head leaning to the patient's left.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.errors import FrameError


class Frame(StrEnum):
    """A frame of the table above."""

    SKULL = "skull"
    MANDIBLE = "mandible"
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
        r, t = self.rotation, self.translation_mm
        if r.shape != (3, 3) or t.shape != (3,) or not np.all(np.isfinite([*r.flat, *t])):
            raise FrameError(f"{self.source} to {self.target}: needs 3x3 and 3 finite numbers")
        if np.abs(r @ r.T - np.eye(3)).max() > 1e-9 or np.linalg.det(r) < 0:
            raise FrameError(f"{self.source} to {self.target}: the matrix is not a rotation")
