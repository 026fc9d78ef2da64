"""Sentences: the right side, the right number, no false whole."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.engine.criteria import judge
from trainer.engine.placement import place
from trainer.engine.wording import amount, share, signed_amount, where


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(6.0, "mm", "6 mm"), (-2.14, "mm", "2.1 mm"), (3.5, "deg", "3.5°"), (10.04, "mm", "10 mm")],
)
def test_amounts_have_unit_and_no_sign(value, unit, text):
    """An amount is rounded to a tenth, without sign, with its unit."""
    assert amount(value, unit) == text


def test_signed_amounts_name_the_way():
    """A value is told by the patient's way, and nothing by no way."""
    assert signed_amount(-6.0, "mm", "left", "right") == "6 mm right"
    assert signed_amount(0.01, "mm", "left", "right") == "0 mm"


@pytest.mark.parametrize(
    ("key", "by", "words"),
    [
        ("chin_height_mm", -60, "below the field"),
        ("chin_height_mm", 70, "above the field"),
        ("field_sideways_mm", 70, "outside the field on the patient's right"),
        ("field_sideways_mm", -70, "outside the field on the patient's left"),
        ("field_forward_mm", 70, "behind the field"),
        ("field_forward_mm", -70, "in front of the field"),
    ],
)
def test_the_side_is_told(key, by, words, heads, packed, bench):
    """A target moved far out on one side is said to lie on that side of the field."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    setup = replace(case.start, **{key: getattr(case.start, key) + by})
    placement = place(case, head, points, unit, setup)
    worst = min(placement.required, key=lambda s: s.margin_mm)
    assert words in where(worst)
    assert amount(worst.margin_mm, "mm") in where(worst)


def test_what_sticks_out_is_never_called_whole(heads, packed, bench):
    """A structure that is not whole inside is told at most 99 % inside."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    for height in range(-60, 20):
        setup = replace(case.start, chin_height_mm=float(height))
        for found in place(case, head, points, unit, setup).required:
            if found.inside_share < 1.0:
                assert share(found).endswith("% inside")
                assert not share(found).startswith("100")
            else:
                assert share(found) == "whole inside"


def test_findings_carry_their_reason(heads, packed, bench):
    """Every finding has what was measured, its limit and a sentence; the weighing ones decide."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    for setup in (case.start, replace(case.start, yaw_deg=20.0, unit_height_mm=1400.0)):
        placement = place(case, head, points, unit, setup)
        findings = judge(case, placement)
        assert all(f.sentence.endswith(".") for f in findings)
        weighing = [f for f in findings if f.weighs]
        assert len(weighing) == len(case.required)
        assert all(f.met for f in weighing) == placement.all_required_inside
    told = {f.criterion: f for f in findings}
    assert not told["attitude-yaw"].met
    assert told["attitude-yaw"].measured == pytest.approx(20.0, abs=0.1)
    assert not told["standing"].met
    assert "too low" in told["standing"].sentence
