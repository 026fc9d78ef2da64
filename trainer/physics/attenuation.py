"""How strongly a material weakens X-rays, by photon energy.

Mixture rule: the mass attenuation of a material is the sum of its elements' mass attenuations by
mass fraction. The elements' tables come with the package; see data/README.md for their source.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import NotFound, TrainerError
from trainer.models.materials import Material, normalised

Array = NDArray[np.float64]

LOWEST_KEV, HIGHEST_KEV = 10.0, 150.0


class EnergyOutOfRange(TrainerError, ValueError):
    """A photon energy outside of the tables."""


def elements() -> tuple[str, ...]:
    """Symbols of all elements that the tables hold."""
    return tuple(_tables())


def element_attenuation_cm2_g(symbol: str, energies_kev: ArrayLike) -> Array:
    """Total mass attenuation of an element [cm2/g] at each energy, coherent scatter included.

    A straight line in log-log within a stretch that has no absorption edge. Exactly on an edge,
    the value above it.

    Raises
    ------
    NotFound
        If the tables do not hold the element; the message names those they hold.
    EnergyOutOfRange
        If an energy is not within 10 to 150 keV.
    """
    table = _tables().get(symbol)
    if table is None:
        raise NotFound(f"no attenuation of element {symbol!r}; there are {', '.join(_tables())}")
    energies = np.asarray(energies_kev, float)
    if not ((energies >= LOWEST_KEV) & (energies <= HIGHEST_KEV)).all():
        raise EnergyOutOfRange(f"photon energies must be {LOWEST_KEV:g} to {HIGHEST_KEV:g} keV")
    log_e, log_mu = table
    at = np.log(energies)
    # an edge is two rows of one energy: "right" steps over both, so no line crosses the edge
    low = np.clip(np.searchsorted(log_e, at, side="right") - 1, 0, len(log_e) - 2)
    share = (at - log_e[low]) / (log_e[low + 1] - log_e[low])
    return np.asarray(np.exp(log_mu[low] + share * (log_mu[low + 1] - log_mu[low])))


def mass_attenuation_cm2_g(material: Material, energies_kev: ArrayLike) -> Array:
    """Total mass attenuation of a material [cm2/g] at each energy, by the mixture rule.

    Raises
    ------
    NotFound, EnergyOutOfRange
        As `element_attenuation_cm2_g`.
    """
    energies = np.asarray(energies_kev, float)
    total = np.zeros(energies.shape)
    for symbol, share in normalised(material.mass_fractions).items():
        total += share * element_attenuation_cm2_g(symbol, energies)
    return total


def linear_attenuation_per_mm(material: Material, energies_kev: ArrayLike) -> Array:
    """Linear attenuation of a material [1/mm] at each energy; errors as above."""
    return mass_attenuation_cm2_g(material, energies_kev) * (material.density_g_cm3 / 10.0)


def hounsfield(per_mm: ArrayLike, water_per_mm: float) -> Array:
    """CT number [HU] of a linear attenuation against water at the same energy, air counted as 0."""
    return 1000.0 * (np.asarray(per_mm, float) / water_per_mm - 1.0)


@cache
def _tables() -> Mapping[str, tuple[Array, Array]]:
    """Log of energy and of mass attenuation by element."""
    text = (files("trainer.physics") / "data" / "elements.csv").read_text(encoding="utf-8")
    rows: dict[str, list[tuple[float, float]]] = {}
    for symbol, energy, value in list(csv.reader(text.splitlines()))[1:]:
        rows.setdefault(symbol, []).append((float(energy), float(value)))
    logs = {symbol: np.log(np.array(pairs)) for symbol, pairs in rows.items()}
    return {symbol: (log[:, 0], log[:, 1]) for symbol, log in logs.items()}
