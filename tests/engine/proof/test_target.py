"""Many setups at once against the placement, setup by setup."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers.proofs import BEAD, bead_case, bead_head, bead_unit
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.engine.placement import place
from trainer.engine.points import pack
from trainer.engine.proof import target as module
from trainer.engine.proof.target import (
    ATTITUDE,
    least_slack,
    outline,
    slacks,
    target_of,
    target_of_structures,
)
from trainer.errors import NotFound
from trainer.models.scenario import Requirement

KEYS = (
    *ATTITUDE,
    "sideways_mm",
    "forward_mm",
    "chin_height_mm",
    "field_sideways_mm",
    "field_forward_mm",
)
DRAWS = 12


def scattered_values(setup, seed):
    """Values of every control that the kernel can change, about a setup."""
    by = np.random.default_rng(seed).normal(0.0, 6.0, (len(KEYS), DRAWS))
    return {key: getattr(setup, key) + row for key, row in zip(KEYS, by, strict=True)}


def required_points(head, case):
    """The required structures, packed for the placement."""
    return pack([head.structure(r.structure) for r in case.required])


@pytest.mark.parametrize("name", ["both-jaws", "lower-third-molar", "whole-lower-jaw"])
def test_every_setup_gives_what_the_placement_finds(name, bench, heads):
    """Slacks of 12 scattered setups equal margin less what is asked, to 1e-9 mm, each structure."""
    case, unit = bench(name)
    head = heads[case.subject.person.shape]
    target = target_of(case, head, unit)
    points = required_points(head, case)
    values = scattered_values(case.start, 3)
    found = slacks(target, case.start, values)
    assert found.shape == (DRAWS, len(case.required))
    for i in range(DRAWS):
        setup = case.start.with_values({k: float(v[i]) for k, v in values.items()})
        placed = {s.structure.id: s for s in place(case, head, points, unit, setup).required}
        want = [-placed[n].lack_mm for n in target.names]
        np.testing.assert_allclose(found[i], want, rtol=0, atol=1e-9)


@pytest.mark.parametrize("name", ["both-jaws", "lower-third-molar"])
def test_the_outline_has_the_same_least_slack(name, bench, heads):
    """Common hulls lose nothing: the least slack of each setup is that of all corners."""
    case, unit = bench(name)
    target = target_of(case, heads[case.subject.person.shape], unit)
    few = outline(target)
    corners, all_corners = len(few.needs_mm), len(target.needs_mm)
    assert corners < 0.6 * all_corners
    values = scattered_values(case.start, 4)
    np.testing.assert_allclose(
        slacks(few, case.start, values).min(axis=1),
        slacks(target, case.start, values).min(axis=1),
        rtol=0,
        atol=1e-9,
    )


def test_the_size_of_a_step_changes_nothing(bench, heads, monkeypatch):
    """Setups worked through one by one give the same numbers as all at once."""
    case, unit = bench("lower-third-molar")
    target = target_of(case, heads[case.subject.person.shape], unit)
    values = scattered_values(case.start, 5)
    at_once = slacks(target, case.start, values)
    monkeypatch.setattr(module, "AT_ONCE", 1)
    np.testing.assert_array_equal(slacks(target, case.start, values), at_once)


@given(
    gap=st.floats(0.0, 12.0),
    region=st.sampled_from([("lower-jaw", "62x65"), ("both-jaws", "105x95")]),
)
@settings(max_examples=10)
def test_jaw_gap_region_and_field_count(gap, region, bench, heads):
    """One setup with any jaw gap, region and field has the placement's least slack."""
    case, unit = bench("both-jaws")
    head = heads[case.subject.person.shape]
    setup = replace(case.start, jaw_gap_mm=gap, region=region[0], field=region[1])
    placed = place(case, head, required_points(head, case), unit, setup)
    want = min(-s.lack_mm for s in placed.required)
    assert least_slack(target_of(case, head, unit), setup) == pytest.approx(want, abs=1e-9)


def test_a_part_of_what_is_required_can_be_taken(bench, heads):
    """Named structures alone are packed; one the head lacks is told."""
    case, unit = bench("lower-third-molar")
    head = heads[case.subject.person.shape]
    assert target_of(case, head, unit, ["canal-at-48"]).names == ("canal-at-48",)
    odd = replace(case, required=(Requirement("tooth-99", 2.0),))
    with pytest.raises(NotFound, match="tooth-99"):
        target_of(odd, head, unit)


def test_structures_of_ones_own_take_one_margin():
    """A bead in the middle of its field has the radius left over, less the margin."""
    unit = bead_unit((50.0, 60.0))
    head = bead_head(20.0, 30.0)
    target = target_of_structures(head, unit, [head.structure(BEAD)], 2.0)
    case = bead_case(unit, 2.0)
    middle = case.start.with_values(
        {"sideways_mm": 0.0, "chin_height_mm": -10.0, "field_forward_mm": 8.5}
    )
    assert least_slack(target, middle) == pytest.approx(25.0 - 10.0 - 2.0, abs=1e-6)
