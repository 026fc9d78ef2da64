"""The dose tables against their definitions and their sources."""

from __future__ import annotations

import math

import pytest

from trainer.errors import NotFound
from trainer.models.field_class import FieldClass
from trainer.models.protocol import AgeGroup
from trainer.physics.dose_tables import (
    child_factor,
    coefficient,
    least_half_value_layer_mm_al,
    published_dose,
    tissue_weights,
)
from trainer.physics.spectrum import half_value_layer_mm_al, tube_spectrum


@pytest.mark.parametrize("publication", ["icrp60", "icrp103"])
def test_tissue_weights_add_up(publication: str) -> None:
    """The weights of all tissues add up to 1: definition of effective dose."""
    weights = tissue_weights(publication)
    assert len(weights) == 15
    assert math.fsum(weights.values()) == pytest.approx(1.0, abs=1e-9)


def test_tissue_weights_of_the_head() -> None:
    """ICRP 103 gives 0.04 to the thyroid and 0.01 to salivary glands, brain, skin, bone surface."""
    weights = tissue_weights()
    assert weights["thyroid"] == 0.04
    assert {weights[t] for t in ("salivary glands", "brain", "skin", "bone surface")} == {0.01}


def test_unknown_publication_is_refused() -> None:
    """Other tables of weights are not here."""
    with pytest.raises(NotFound, match="icrp103"):
        tissue_weights("icrp26")


def test_thin_filters_are_told_from_good_ones() -> None:
    """2.5 mm Al at 80 and 90 kV fall short of the least half-value layer; 3 mm Al pass."""
    # IEC 60601-1-3:2008, from memory: 2.9 and 3.2 mm Al (80 kV confirmed: Arizona R9-7-605)
    for kvp, least in ((80.0, 2.9), (90.0, 3.2)):
        assert least_half_value_layer_mm_al(kvp) == least
        thin, good = (half_value_layer_mm_al(tube_spectrum(kvp, al)) for al in (2.5, 3.0))
        assert thin < least <= good


def test_no_least_half_value_layer_outside_of_the_table() -> None:
    """Voltages above 120 kV are refused."""
    with pytest.raises(NotFound, match="50 to 120"):
        least_half_value_layer_mm_al(130.0)


@pytest.mark.parametrize(
    ("area_cm2", "middle"),
    [(16.0, 0.129), (99.9, 0.129), (100.0, 0.111), (225.0, 0.111), (225.1, 0.074)],
)
def test_coefficients_change_at_the_published_areas(area_cm2: float, middle: float) -> None:
    """Classes are below 100, 100 to 225 and above 225 cm2: Mah, Ritenour & Yao 2021."""
    found = coefficient(area_cm2, AgeGroup.ADULT)
    assert (found.low, found.middle, found.high) == (0.035, middle, 0.31)
    assert "Mah" in found.cited and "confirmed" in found.cited


def test_the_child_factor_is_an_assumption() -> None:
    """The child factor says that it is assumed, and starts at an adult's figure."""
    found = child_factor()
    assert found.status == "assumption"
    assert 1.0 == found.low < found.middle < found.high


@pytest.mark.parametrize("group", AgeGroup)
@pytest.mark.parametrize("size", FieldClass)
def test_published_doses_hold_together(size: FieldClass, group: AgeGroup) -> None:
    """Every class has a published range in order, in uSv, with year and status."""
    found = published_dose(size, group)
    assert 0.0 < found.low < found.middle < found.high
    assert found.unit == "uSv"
    assert "2015" in found.source and found.status


def test_published_doses_are_those_of_the_paper() -> None:
    """Adults: 84 (5 to 652), 177 (9 to 560), 212 (46 to 1073) uSv: Ludlow et al. 2015."""
    found = [
        published_dose(size, AgeGroup.ADULT)
        for size in (FieldClass.SMALL, FieldClass.BOTH_JAWS, FieldClass.LARGE)
    ]
    assert [(f.middle, f.low, f.high) for f in found] == [
        (84.0, 5.0, 652.0),
        (177.0, 9.0, 560.0),
        (212.0, 46.0, 1073.0),
    ]
