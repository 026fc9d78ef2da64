"""The materials' figures, and what an independent attenuation table makes of them."""

from __future__ import annotations

import pytest

from trainer.anatomy.head.phantom import PHANTOM_MATERIALS
from trainer.anatomy.materials import MATERIALS

xraydb = pytest.importorskip("xraydb")

ENERGY_KEV = 60.0
# NIST: Hubbell & Seltzer, NISTIR 5632 (1995), table 4, mass attenuation at 60 keV [cm2/g]; the
# figures from memory.
NIST_60_KEV = {
    "air": 0.1875,
    "adipose": 0.1974,
    "muscle": 0.2048,
    "soft tissue": 0.2048,
    "brain": 0.2058,
    "cortical bone": 0.3148,
}
WATER_60_KEV = 0.2059


def attenuation_cm2_g(name: str) -> float:
    """Mass attenuation at 60 keV from xraydb's element table and our fractions."""
    fractions = MATERIALS[name].material.mass_fractions
    return sum(
        share * float(xraydb.mu_elam(element, 1000.0 * ENERGY_KEV))
        for element, share in fractions.items()
    )


def hounsfield(name: str) -> float:
    """Hounsfield number at 60 keV."""
    density = MATERIALS[name].density_g_cm3
    return 1000.0 * (attenuation_cm2_g(name) * density / WATER_60_KEV - 1.0)


@pytest.mark.parametrize("name", MATERIALS)
def test_fractions_sum_to_one(name):
    """The source's percents sum to 100 within rounding, the fractions to 1 exactly."""
    material = MATERIALS[name]
    assert material.name == name
    # rows of the sources may sum to 99-101
    assert sum(material.percent.values()) == pytest.approx(100.0, abs=1.0)
    assert sum(material.material.mass_fractions.values()) == pytest.approx(1.0, abs=1e-12)
    assert all(value > 0.0 for value in material.percent.values())
    assert material.source
    assert material.mark in {"confirmed", "derived", "from memory"}


def test_densities_are_the_tables():
    """Densities are those of ICRU Report 44 and ICRP Publication 110 [g/cm3]."""
    icru_44 = {"adipose": 0.95, "muscle": 1.05, "skin": 1.09, "brain": 1.04, "cortical bone": 1.92}
    icrp_110 = {
        "spongy bone of the cranium": 1.157,
        "spongy bone of the mandible": 1.228,
        "spongy bone of the neck": 1.050,
        "tooth": 2.75,
    }
    for name, density in {**icru_44, **icrp_110}.items():
        assert MATERIALS[name].density_g_cm3 == density
    # ranges seen for dental hard tissue
    assert 2.84 <= MATERIALS["enamel"].density_g_cm3 <= 3.00
    assert 2.05 <= MATERIALS["dentine"].density_g_cm3 <= 2.20


@pytest.mark.parametrize("name", NIST_60_KEV)
def test_elements_attenuate_as_nist_says(name):
    """Mass attenuation at 60 keV agrees with NIST's table to 1 % (another set of elements)."""
    assert attenuation_cm2_g(name) == pytest.approx(NIST_60_KEV[name], rel=0.01)


def test_hounsfield_numbers_stand_in_order():
    """Air, fat, brain, skin, spongy bone, cortical bone, dentine, enamel: ever brighter."""
    names = [
        "air", "adipose", "brain", "skin", "spongy bone of the cranium",
        "spongy bone of the mandible", "cortical bone", "dentine", "enamel",
    ]  # fmt: skip
    values = [hounsfield(name) for name in names]
    assert values == sorted(values)
    assert len(set(values)) == len(values)
    assert values[0] == pytest.approx(-1000.0, abs=2.0)
    assert -120.0 < values[1] < -60.0  # fat: radiology textbooks, from memory
    assert 0.0 < values[2] < 80.0


def test_hydroxyapatite_makes_the_enamel():
    """Enamel's calcium and phosphorus stand as in hydroxyapatite, Ca10(PO4)6(OH)2: 2.16 by mass."""
    percent = MATERIALS["enamel"].percent
    # atomic masses, IUPAC: Ca 40.078, P 30.974
    assert percent["Ca"] / percent["P"] == pytest.approx(10 * 40.078 / (6 * 30.974), rel=0.01)


def test_the_phantom_uses_known_materials():
    """Every label of the phantom is in the table, and label 0 is air."""
    assert set(PHANTOM_MATERIALS) <= set(MATERIALS)
    assert PHANTOM_MATERIALS[0] == "air"


def test_composite_by_mixing() -> None:
    """Composite is 22 % resin (C18 H26 O6), 60 % silica and 18 % barium oxide, to 0.1 %."""
    # parts from memory; atomic weights: IUPAC 2021, abridged
    weight = {"H": 1.008, "C": 12.011, "O": 15.999, "Si": 28.085, "Ba": 137.33}
    parts = [
        (22.0, {"C": 18, "H": 26, "O": 6}),
        (60.0, {"Si": 1, "O": 2}),
        (18.0, {"Ba": 1, "O": 1}),
    ]
    found = dict.fromkeys(weight, 0.0)
    for share, atoms in parts:
        total = sum(weight[e] * n for e, n in atoms.items())
        for element, n in atoms.items():
            found[element] += share * weight[element] * n / total
    assert dict(MATERIALS["composite"].percent) == pytest.approx(found, abs=0.1)
