"""Undoing what water does to the beam: the soft photons go first, so depth grows ever slower."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.models.materials import Material
from trainer.physics.attenuation import linear_attenuation_per_mm
from trainer.physics.spectrum import Spectrum

Array = NDArray[np.float64]

# H2O, 1 g/cm3.
WATER = Material("water", 1.0, {"H": 0.1119, "O": 0.8881})
# Thicknesses of water [mm] that are worked out ahead. Below 0 for noise beside the body; behind
# metal a ray may have lost as much as more than a metre of water takes away.
_TABLE_MM = np.concatenate([np.arange(-60.0, 400.0, 1.0), np.arange(400.0, 6001.0, 20.0)])


def water_depths(thickness_mm: Array, spectrum: Spectrum) -> Array:
    """Optical depth of water of those thicknesses for a detector that takes up all energy."""
    energy = spectrum.photons * spectrum.energies_kev
    share = np.log(energy / energy.sum(), where=energy > 0.0, out=np.full(len(energy), -np.inf))
    per_mm = linear_attenuation_per_mm(WATER, spectrum.energies_kev)
    exponents = share - np.multiply.outer(thickness_mm, per_mm)
    most = exponents.max(axis=-1)  # kept apart: behind metres of water nothing else is left
    return np.asarray(-most - np.log(np.exp(exponents - most[..., None]).sum(axis=-1)))


def water_lines(depths: NDArray[np.floating], spectrum: Spectrum) -> NDArray[np.float32]:
    """Thickness of water [mm] that has the same optical depth.

    Right for soft tissue. Bone and metal harden the beam more than water of the same depth does:
    what is behind much of them comes out too thin, which leaves dark bands between them.
    """
    return np.interp(depths, water_depths(_TABLE_MM, spectrum), _TABLE_MM).astype(np.float32)


def water_per_mm(spectrum: Spectrum, thickness_mm: float) -> float:
    """How fast optical depth grows behind so much water [1/mm]."""
    ends = water_depths(np.array([thickness_mm - 0.5, thickness_mm + 0.5]), spectrum)
    return float(ends[1] - ends[0])
