"""Triangle surfaces of the head for the screen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.models.frames import Frame
from trainer.models.structures import Head


class Tissue(StrEnum):
    """What a display part is, for colour and for showing and hiding."""

    BONE = "bone"
    TOOTH = "tooth"
    NERVE = "nerve"
    SKIN = "skin"
    METAL = "metal"
    CERAMIC = "ceramic"
    PLASTIC = "plastic"


@dataclass(frozen=True, slots=True)
class DisplayPart:
    """A closed surface that moves as one.

    ``vertices_mm`` (n, 3) float32 in ``frame``, ``faces`` (m, 3) int32 with outward normals.
    ``jaw_share`` (n,) float32 or ``None``: how far each corner follows the lower jaw when it opens
    (skin only; the corners are then in the skull frame with the teeth together).
    """

    id: str
    tissue: Tissue
    frame: Frame
    vertices_mm: NDArray[np.float32]
    faces: NDArray[np.int32]
    jaw_share: NDArray[np.float32] | None = None


@dataclass(frozen=True, slots=True)
class HeadMeshes:
    """One head for placement and for the screen.

    ``fine`` is shown at rest, ``coarse`` while something moves; both hold the same parts.
    ``of_structure`` holds a small surface of every structure, to mark it.
    """

    head: Head
    fine: tuple[DisplayPart, ...]
    coarse: tuple[DisplayPart, ...]
    of_structure: Mapping[str, DisplayPart]
