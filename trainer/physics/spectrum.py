"""The X-rays that leave the tube: photons by energy, and what filters make of them."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from trainer.errors import NotFound, TrainerError
from trainer.models.materials import Material
from trainer.physics.attenuation import linear_attenuation_per_mm

Array = NDArray[np.float64]

# Densities: NIST XAAMDI (SRD 126), Table 1.
ALUMINIUM = Material("aluminium", 2.699, {"Al": 1.0})
COPPER = Material("copper", 8.96, {"Cu": 1.0})

# Mass energy-absorption of dry air [keV, cm2/g]: NIST XAAMDI (SRD 126), Table 4.
_AIR_ABSORPTION = np.array(
    [
        [10.0, 4.742],
        [15.0, 1.334],
        [20.0, 0.5389],
        [30.0, 0.1537],
        [40.0, 0.06833],
        [50.0, 0.04098],
        [60.0, 0.03041],
        [80.0, 0.02407],
        [100.0, 0.02325],
        [150.0, 0.02496],
    ]
)
_JOULE_PER_KEV = 1.602176634e-16  # exact in the SI of 2019

# What the shipped spectra have passed. As much is asked for above 70 kV: Pennsylvania Code 221.25.
TABLE_ALUMINIUM_MM = 2.5


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Photons by energy.

    ``energies_kev`` (n,) are bin centres, rising; ``photons`` (n,) is the number in each bin, per
    cm2 and mAs at 1 m for a tube's spectrum. Only ratios matter for a picture.

    Raises
    ------
    TrainerError
        If the arrays do not fit together, energies do not rise, or there are no photons.
    """

    energies_kev: Array
    photons: Array

    def __post_init__(self) -> None:
        if self.energies_kev.ndim != 1 or self.energies_kev.shape != self.photons.shape:
            raise TrainerError("a spectrum needs one photon number for each energy")
        if not (np.diff(self.energies_kev) > 0.0).all():
            raise TrainerError("the energies of a spectrum must rise")
        if not ((self.photons >= 0.0).all() and 0.0 < self.photons.sum() < np.inf):
            raise TrainerError("a spectrum needs photons, and no negative number of them")


def single_energy(energy_kev: float) -> Spectrum:
    """All photons at one energy."""
    return Spectrum(np.array([float(energy_kev)]), np.ones(1))


@cache
def tube_spectrum(kvp: float = 90.0, aluminium_mm: float = 3.0, copper_mm: float = 0.0) -> Spectrum:
    """A tungsten tube at that voltage [kV] behind all its filters [mm], in bins of 1 keV.

    From the library's spectra at 60 to 120 kV in steps of 10; see data/README.md. In between, the
    neighbours are mixed: half-value layer and mean energy are then right to 1 %, but the hardest
    photons have the energy of the higher voltage.

    Raises
    ------
    NotFound
        If the voltage is not within 60 to 120 kV, or there is less than 2.5 mm aluminium.
    """
    volts, energies, photons = _tables()
    if not volts[0] <= kvp <= volts[-1]:
        raise NotFound(f"no spectrum at {kvp:g} kV; there are {volts[0]:g} to {volts[-1]:g} kV")
    if aluminium_mm < TABLE_ALUMINIUM_MM:
        raise NotFound(
            f"no spectrum behind {aluminium_mm:g} mm Al; tubes have at least {TABLE_ALUMINIUM_MM:g}"
        )
    high = min(int(np.searchsorted(volts, kvp, side="right")), len(volts) - 1)
    share = (kvp - volts[high - 1]) / (volts[high] - volts[high - 1])
    mixed = (1.0 - share) * photons[high - 1] + share * photons[high]
    found = filtered(Spectrum(energies, mixed), aluminium_mm - TABLE_ALUMINIUM_MM, copper_mm)
    kept = found.photons > 0.0
    energies, behind = found.energies_kev[kept], found.photons[kept]
    energies.flags.writeable = behind.flags.writeable = False  # shared by every caller
    return Spectrum(energies, behind)


@cache
def _tables() -> tuple[Array, Array, Array]:
    """Voltages (n,), energies (m,) and photons (n, m) of the shipped spectra."""
    text = (files("trainer.physics") / "data" / "tube_spectra.csv").read_text(encoding="utf-8")
    head, *rows = csv.reader(text.splitlines())
    volts = np.array([float(name.removesuffix("_kv")) for name in head[1:]])
    table = np.array(rows, float)
    return volts, table[:, 0], np.ascontiguousarray(table[:, 1:].T)


def filtered(spectrum: Spectrum, aluminium_mm: float = 0.0, copper_mm: float = 0.0) -> Spectrum:
    """The spectrum behind more aluminium and copper [mm].

    Raises
    ------
    TrainerError
        If a thickness is negative.
    """
    if aluminium_mm < 0.0 or copper_mm < 0.0:
        raise TrainerError(f"filters of {aluminium_mm} mm Al, {copper_mm} mm Cu: not below 0")
    exponent = np.zeros(spectrum.energies_kev.shape)
    for material, thickness_mm in ((ALUMINIUM, aluminium_mm), (COPPER, copper_mm)):
        if thickness_mm:
            exponent += thickness_mm * linear_attenuation_per_mm(material, spectrum.energies_kev)
    return Spectrum(spectrum.energies_kev, spectrum.photons * np.exp(-exponent))


def binned(spectrum: Spectrum, width_kev: float) -> Spectrum:
    """The spectrum in bins of that width, each at the mean energy of its photons.

    Number and energy of the photons stay as they are.
    """
    bins = np.floor(spectrum.energies_kev / width_kev).astype(int)
    bins -= bins.min()
    photons, energy = (
        np.bincount(bins, numbers).astype(float)
        for numbers in (spectrum.photons, spectrum.photons * spectrum.energies_kev)
    )
    some = photons > 0.0
    return Spectrum(energy[some] / photons[some], photons[some])


def mean_energy_kev(spectrum: Spectrum) -> float:
    """Mean photon energy, each photon counted once [keV]."""
    return float(np.average(spectrum.energies_kev, weights=spectrum.photons))


def air_kerma_ugy(spectrum: Spectrum) -> float:
    """Air kerma of the photons [uGy], when their number is per cm2; per mAs for a tube's spectrum.

    Photons times energy times mass energy-absorption of air, summed over all energies.
    """
    # a cubic in log-log: straight lines between points this far apart are 2 % too high
    absorbed = np.exp(CubicSpline(*np.log(_AIR_ABSORPTION).T)(np.log(spectrum.energies_kev)))
    kev_per_g = float(np.sum(spectrum.photons * spectrum.energies_kev * absorbed))
    return kev_per_g * _JOULE_PER_KEV * 1e3 * 1e6  # per g to per kg, Gy to uGy


def half_value_layer_mm_al(spectrum: Spectrum) -> float:
    """Thickness of aluminium that halves the air kerma: the first half-value layer [mm]."""
    half = air_kerma_ugy(spectrum) / 2.0

    def over(aluminium_mm: float) -> float:
        return air_kerma_ugy(filtered(spectrum, aluminium_mm)) - half

    return float(brentq(over, 0.0, 100.0, xtol=1e-9))
