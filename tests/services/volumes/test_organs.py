"""Organs in the beam of shipped cases."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.services.volumes.organs import ORGANS, dose_text, organ_shares, organs_text
from trainer.services.volumes.record import default_programme, still_ask
from trainer.services.workbench import Workbench, open_workbench


def shares_of(bench: Workbench, **changes: object) -> dict[str, tuple[float, float]]:
    """Mean and ever by organ."""
    setup = replace(bench.case.start, **changes)
    ask = still_ask(bench, setup, default_programme(bench, setup), 1)
    return {s.organ: (s.mean, s.ever) for s in organ_shares(bench, ask)}


@pytest.fixture(scope="module")
def small() -> Workbench:
    """A lower wisdom tooth in a small field."""
    return open_workbench("lower-third-molar")


def test_every_organ_is_told_within_bounds(small: Workbench) -> None:
    """Five organs; the mean share is never above the share that is ever in the beam."""
    found = shares_of(small)
    assert found.keys() == ORGANS.keys()
    assert all(0.0 <= mean <= ever <= 1.0 for mean, ever in found.values())


def test_a_small_lower_field_spares_the_eyes_and_meets_the_glands_below(small: Workbench) -> None:
    """The lenses lie far above such a field, the submandibular glands at its height.

    Mandibular fields give more to the salivary glands (European Commission, RP 172, and Ludlow
    2015 in outline).
    """
    found = shares_of(small, chin_height_mm=-25.0, field_sideways_mm=-30.5, field_forward_mm=-37.0)
    assert found["lenses of the eyes"] == (0.0, 0.0)
    assert found["submandibular glands"][1] > 0.3


def test_raising_the_field_brings_the_eyes_into_the_beam() -> None:
    """The lens's share never falls while the chin support goes down, and does rise.

    The lens's dose follows what the field covers (Albahiti et al., Int J Biomed 2024).
    """
    bench = open_workbench("both-jaws")
    start = bench.case.start.chin_height_mm
    lens = [
        shares_of(bench, chin_height_mm=start + off)["lenses of the eyes"][0]
        for off in (0.0, -20.0, -40.0, -60.0)
    ]
    assert lens == sorted(lens)
    assert lens[-1] > lens[0]


def test_the_largest_field_meets_more_of_the_organs_than_the_smallest() -> None:
    """All organs together, at the same place of the head: the reason for the smallest field."""
    bench = open_workbench("both-jaws")
    fields = sorted(bench.unit.fields, key=lambda f: f.height_mm * f.diameter_mm)
    least, most = (shares_of(bench, field=f.id) for f in (fields[0], fields[-1]))
    assert sum(m for m, _ in most.values()) > sum(m for m, _ in least.values())


def test_the_words_name_source_and_what_is_not_in_the_number(small: Workbench) -> None:
    """In the beam with percent, outside by name, scatter and the sources told."""
    setup = small.case.start
    ask = still_ask(small, setup, default_programme(small, setup), 1)
    told = organs_text(organ_shares(small, ask))
    assert "Outside of it: lenses of the eyes" in told
    assert "submandibular glands" in told
    for needed in ("%", "Scatter reaches", "Goren", "Albahiti"):
        assert needed in told


def test_the_dose_of_a_run_is_a_range_with_source_and_caution(small: Workbench) -> None:
    """Never one number; low dose is less; the caution and the coefficients' source stand there."""
    setup = small.case.start
    ordered = default_programme(small, setup)
    told = [
        dose_text(small, still_ask(small, setup, replace(ordered, low_dose=low), 1))
        for low in (False, True)
    ]
    products = [float(text.split("run: about ")[1].split(" mGy")[0]) for text in told]
    assert 0.0 < products[1] < products[0]
    for needed in (" to ", "µSv", "Mah, Ritenour & Yao", "not the dose or the risk of any patient"):
        assert needed in told[0]
