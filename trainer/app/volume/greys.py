"""From values of a volume to grey, and the marks that lie over it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation, binary_erosion

from trainer.scene.palette import FIELD, MISSED, PAPER
from trainer.services.volumes.slices import VolumeSlice

# How far a level and a window can be set; own working values.
LEAST_LEVEL, MOST_LEVEL, LEAST_WINDOW, MOST_WINDOW = -1000, 6000, 100, 8000
GREY_STEP = 50
# Dashes of a missed outline, and every so-manieth diagonal of its hatching [px].
DASH, HATCH = 4, 6
RIM = (255, 214, 102)


@dataclass(frozen=True, slots=True)
class Greys:
    """Which values are shown between black and white: ``window`` wide, about ``level``."""

    level: int
    window: int


# Own working values on volumes of this program; by what they are made to show.
PRESETS = {
    "Bone": Greys(900, 3200),
    "Teeth and metal": Greys(2600, 6000),
    "Soft outline": Greys(-200, 1600),
}


def grey_of(found: VolumeSlice, greys: Greys) -> NDArray[np.uint8]:
    """(r, c) from black to white; black where nothing was recorded."""
    share = (found.values - (greys.level - greys.window / 2.0)) * np.float32(255.0 / greys.window)
    grey = np.clip(share, 0.0, 255.0).astype(np.uint8)
    grey[~found.recorded] = 0
    return grey


def overlay_of(found: VolumeSlice, missed: frozenset[str]) -> NDArray[np.uint8]:
    """What lies over the picture: (r, c, 4) with its opacity.

    The rim of what was recorded; held structures in a solid outline, missed ones (by their ids) in
    a dashed one of another colour, hatched.
    """
    rows, columns = found.values.shape
    over = np.zeros((rows, columns, 4), np.uint8)
    over[found.rim] = (*RIM, 255)
    diagonal = np.add.outer(np.arange(rows), np.arange(columns))
    for name, mask in found.marks.items():
        edge = mask & ~binary_erosion(mask, border_value=1)
        if name not in missed:
            over[binary_dilation(edge) & ~edge] = (0, 0, 0, 150)
            over[edge] = (*FIELD, 255)
            continue
        over[mask & (diagonal % HATCH == 0)] = (*MISSED, 255)
        over[mask & (diagonal % HATCH == 1)] = (*PAPER, 255)
        wide = binary_dilation(edge)
        over[wide] = (*PAPER, 255)
        over[wide & (diagonal // DASH % 2 == 0)] = (*MISSED, 255)
    return over
