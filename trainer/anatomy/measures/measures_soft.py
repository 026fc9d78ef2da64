"""Measures of glands, tongue and brain, for heads that have them as structures.

Each function takes a `Specimen` and returns one number [mm, mm3 or g].
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from trainer.anatomy.measures.specimen import Specimen

# Densities [g/mm3]: ICRU-44 for muscle and brain, ICRP 110 media for soft organ and thyroid.
MUSCLE, BRAIN, SOFT_ORGAN = 1.05e-3, 1.04e-3, 1.03e-3


def volume(structure_id: str) -> Callable[[Specimen], float]:
    """A measure: volume of a structure."""
    return lambda s: s.volume_mm3(structure_id)


def mass(structure_id: str, density_g_mm3: float) -> Callable[[Specimen], float]:
    """A measure: volume of a structure times a density."""
    return lambda s: s.volume_mm3(structure_id) * density_g_mm3


def length(structure_id: str) -> Callable[[Specimen], float]:
    """A measure: extent of a structure along its own longest axis."""

    def measure(s: Specimen) -> float:
        found = s.head.head.structure(structure_id)
        off = found.samples_mm - s.centre(structure_id)
        _, axes = np.linalg.eigh((off * found.weights[:, None]).T @ off)
        return float(np.ptp(found.hull_mm @ axes[:, 2]))

    return measure


def extent(structure_id: str, axis: int) -> Callable[[Specimen], float]:
    """A measure: left-right (0), fore-and-aft (1) or upright (2) extent of a structure."""
    return lambda s: float(s.size(structure_id)[axis])


def top_below_menton(structure_id: str) -> Callable[[Specimen], float]:
    """A measure: how far a structure's highest point lies below the bony chin."""
    return lambda s: float(s.menton[2] - s.hull(structure_id)[:, 2].max())


def end_below_menton(structure_id: str) -> Callable[[Specimen], float]:
    """A measure: how far a structure's lowest point lies below the bony chin."""
    return lambda s: float(s.menton[2] - s.hull(structure_id)[:, 2].min())
