"""Attenuation against published tables and against an independent library."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest
import xraydb
from hypothesis import given
from hypothesis import strategies as st

from trainer.anatomy.materials import MATERIALS
from trainer.errors import NotFound
from trainer.models.materials import Material
from trainer.physics.attenuation import (
    EnergyOutOfRange,
    element_attenuation_cm2_g,
    elements,
    hounsfield,
    linear_attenuation_per_mm,
    mass_attenuation_cm2_g,
)

# Compositions: ICRU Report 44 (1989) as printed with NIST XAAMDI (SRD 126), Table 2.
WATER = Material("water", 1.0, {"H": 0.111898, "O": 0.888102})
BONE = Material(
    "cortical bone",
    1.92,
    {
        "H": 0.034,
        "C": 0.155,
        "N": 0.042,
        "O": 0.435,
        "Na": 0.001,
        "Mg": 0.002,
        "P": 0.103,
        "S": 0.003,
        "Ca": 0.225,
    },
)
SOFT = Material(
    "soft tissue",
    1.06,
    {
        "H": 0.102,
        "C": 0.143,
        "N": 0.034,
        "O": 0.708,
        "Na": 0.002,
        "P": 0.003,
        "S": 0.003,
        "Cl": 0.002,
        "K": 0.003,
    },
)
ADIPOSE = Material(
    "adipose",
    0.95,
    {"H": 0.114, "C": 0.598, "N": 0.007, "O": 0.278, "Na": 0.001, "S": 0.001, "Cl": 0.001},
)
AIR = Material("dry air", 0.001205, {"C": 0.000124, "N": 0.755268, "O": 0.231781, "Ar": 0.012827})
PMMA = Material("PMMA", 1.19, {"H": 0.080541, "C": 0.599846, "O": 0.319613})
TITANIUM = Material("titanium", 4.54, {"Ti": 1.0})
COPPER = Material("copper", 8.96, {"Cu": 1.0})
GOLD = Material("gold", 19.32, {"Au": 1.0})

# Hubbell & Seltzer, NIST XAAMDI (SRD 126), Tables 3 and 4: material, keV, cm2/g. Seen in public
# transcriptions of the tables.
NIST = [
    (WATER, {20: 0.8096, 30: 0.3756, 40: 0.2683, 50: 0.2269, 60: 0.2059, 80: 0.1837}),
    (WATER, {100: 0.1707, 150: 0.1505}),
    (BONE, {20: 4.001, 30: 1.331, 40: 0.6655, 50: 0.4242, 60: 0.3148, 80: 0.2229}),
    (BONE, {100: 0.1855, 150: 0.1480}),
    (SOFT, {40: 0.2688, 60: 0.2048, 80: 0.1823, 100: 0.1693, 150: 0.1492}),
    (ADIPOSE, {30: 0.3063, 40: 0.2396, 50: 0.2123, 60: 0.1974, 80: 0.1800, 100: 0.1688}),
    (AIR, {10: 5.120, 15: 1.614, 20: 0.7779, 30: 0.3538, 40: 0.2485, 60: 0.1875, 100: 0.1541}),
    (PMMA, {20: 0.5714, 50: 0.2074}),
    (TITANIUM, {20: 15.85, 30: 4.972, 40: 2.214, 50: 1.213, 60: 0.7661, 80: 0.4052, 100: 0.2721}),
    (COPPER, {20: 33.79, 30: 10.92, 40: 4.862, 50: 2.613, 60: 1.593, 80: 0.7630, 100: 0.4584}),
    (GOLD, {20: 78.83, 30: 27.52, 40: 12.98, 50: 7.256, 60: 4.528, 80: 2.185, 100: 5.158}),
]


@pytest.mark.parametrize(("material", "table"), NIST, ids=lambda x: getattr(x, "name", ""))
def test_mass_attenuation_is_that_of_the_tables(
    material: Material, table: dict[int, float]
) -> None:
    """Mass attenuation is within 0.5 % of NIST's tables."""
    found = mass_attenuation_cm2_g(material, list(table))
    np.testing.assert_allclose(found, list(table.values()), rtol=0.005)


def test_gold_jumps_at_its_k_edge() -> None:
    """Just below and above gold's K edge its attenuation is 2.137 and 8.904 cm2/g within 2 %.

    NIST XAAMDI (SRD 126), Table 3: edge at 80.7249 keV.
    """
    below, above = mass_attenuation_cm2_g(GOLD, [80.71, 80.74])
    assert below == pytest.approx(2.137, rel=0.02)
    assert above == pytest.approx(8.904, rel=0.02)
    assert above / below == pytest.approx(4.17, rel=0.02)


def test_tungsten_jumps_at_its_k_edge() -> None:
    """Across tungsten's K edge at 69.525 keV attenuation goes from 2.552 to 11.23 cm2/g.

    NIST XAAMDI (SRD 126), Table 3; within 2 %.
    """
    below, above = element_attenuation_cm2_g("W", [69.52, 69.53])
    assert below == pytest.approx(2.552, rel=0.02)
    assert above == pytest.approx(11.23, rel=0.02)


def test_an_energy_on_the_edge_counts_as_above_it() -> None:
    """Exactly on the K edge of gold the value is the upper one."""
    on, beyond = element_attenuation_cm2_g("Au", [_gold_edge_kev(), 80.73])
    assert on == pytest.approx(beyond, rel=1e-3)


def _gold_edge_kev() -> float:
    rows = (files("trainer.physics") / "data" / "elements.csv").read_text("utf-8").splitlines()
    energies = [float(row.split(",")[1]) for row in rows if row.startswith("Au,")]
    (edge,) = {e for e in energies if energies.count(e) == 2 and e > 20.0}
    assert edge == pytest.approx(80.7249, abs=0.005)
    return edge


def test_bone_at_60_kev() -> None:
    """Cortical bone has 0.604 per cm and +1936 (20) HU at 60 keV: XAAMDI, and by the definition."""
    bone, water = (float(linear_attenuation_per_mm(m, 60.0)) for m in (BONE, WATER))
    assert bone * 10.0 == pytest.approx(0.604, rel=0.005)
    assert float(hounsfield(bone, water)) == pytest.approx(1936.0, abs=20.0)


@pytest.mark.parametrize("symbol", elements())
def test_elements_agree_with_an_independent_reader(symbol: str) -> None:
    """Every element is within 0.05 % of the Elam tables on a grid beside every edge."""
    energies = np.arange(10.03, 150.0, 0.1)  # keV; no edge of these elements is nearer than 1 eV
    expected = xraydb.mu_elam(symbol, energies * 1e3, kind="total")
    np.testing.assert_allclose(element_attenuation_cm2_g(symbol, energies), expected, rtol=5e-4)


@pytest.mark.parametrize("name", MATERIALS)
def test_every_material_of_the_head_agrees_with_an_independent_reader(name: str) -> None:
    """Tissues, metals and fillings: within 0.05 % of xraydb at every energy a tube can have.

    The tables hold all their elements; the K edges of silver, tin, gold and mercury are passed.
    """
    row = MATERIALS[name]
    energies = np.arange(10.03, 120.0, 0.1)  # keV
    total = sum(row.percent.values())
    expected = sum(
        share / total * xraydb.mu_elam(symbol, energies * 1e3, kind="total")
        for symbol, share in row.percent.items()
    )
    found = linear_attenuation_per_mm(row.material, energies)
    np.testing.assert_allclose(found, expected * row.density_g_cm3 / 10.0, rtol=5e-4)


@given(st.floats(0.0, 1.0), st.floats(10.0, 150.0))
def test_a_mixture_lies_between_its_parts(share: float, energy_kev: float) -> None:
    """The attenuation of a mixture is the mean of its parts' by mass."""
    mixed = {"Ca": share, "O": 1.0 - share}
    material = Material("mix", 2.0, {k: v for k, v in mixed.items() if v > 0.0})
    parts = [float(element_attenuation_cm2_g(s, energy_kev)) for s in mixed]
    expected = share * parts[0] + (1.0 - share) * parts[1]
    assert float(mass_attenuation_cm2_g(material, energy_kev)) == pytest.approx(expected)


@given(st.floats(10.0, 149.0), st.floats(0.01, 1.0))
def test_light_elements_weaken_less_at_higher_energy(energy_kev: float, more_kev: float) -> None:
    """Without an edge in the range, attenuation falls with energy."""
    low, high = mass_attenuation_cm2_g(BONE, [energy_kev, energy_kev + more_kev])
    assert high < low


def test_published_rounding_is_scaled_away() -> None:
    """Fractions that add up to 0.99 by rounding give the same as those that add up to 1."""
    rounded = Material("rounded", 1.0, {k: 0.99 * v for k, v in WATER.mass_fractions.items()})
    assert float(mass_attenuation_cm2_g(rounded, 60.0)) == pytest.approx(
        float(mass_attenuation_cm2_g(WATER, 60.0)), rel=1e-12
    )


@pytest.mark.parametrize("energy_kev", [9.99, 150.01, np.nan])
def test_energies_outside_the_tables_are_refused(energy_kev: float) -> None:
    """What the tables do not hold is never extrapolated."""
    with pytest.raises(EnergyOutOfRange, match="10 to 150 keV"):
        mass_attenuation_cm2_g(WATER, energy_kev)


def test_an_unknown_element_is_named() -> None:
    """The message names the element that is missing, and those that are there."""
    with pytest.raises(NotFound, match=r"'Xx'.*Ca"):
        mass_attenuation_cm2_g(Material("odd", 1.0, {"Xx": 1.0}), 60.0)
