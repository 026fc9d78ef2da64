"""What a wrong height of the unit does to the person."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.strain import EASY_HEIGHT_MM, STOOP_MM, STRETCH_MM, TIPTOE_MM, Strain, strain_of


@pytest.mark.parametrize(
    ("off_mm", "expected"),
    [
        (0.0, Strain.NONE),
        (30.0, Strain.NONE),
        (-30.0, Strain.NONE),
        (45.0, Strain.STRETCHED),
        (80.0, Strain.TIPTOE),
        (200.0, Strain.OUT_OF_REACH),
        (-90.0, Strain.BENT),
        (-200.0, Strain.CROUCHED),
    ],
)
def test_the_body_gives_way_step_by_step(off_mm: float, expected: Strain) -> None:
    """First the neck, then the toes; downwards knees and back (common practice, no source)."""
    assert strain_of(off_mm) is expected


@given(st.floats(-400.0, 400.0))
def test_only_an_easy_height_is_no_strain(off_mm: float) -> None:
    """There is strain exactly outside the easy range, upwards of another kind than downwards."""
    strain = strain_of(off_mm)
    assert (strain is Strain.NONE) == (abs(off_mm) <= EASY_HEIGHT_MM)
    downwards = strain in (Strain.BENT, Strain.CROUCHED)
    assert downwards == (off_mm < -EASY_HEIGHT_MM)


def test_limits_ascend() -> None:
    """Each limit lies beyond the one before."""
    assert 0.0 < EASY_HEIGHT_MM < STRETCH_MM < TIPTOE_MM
    assert EASY_HEIGHT_MM < STOOP_MM
