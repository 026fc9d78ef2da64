"""Noise of a programme against the ordered one."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.appointment.slips.prepared import noise_factor
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import RunKind

programmes = st.builds(
    Programme,
    voxel_um=st.integers(75, 400),
    low_dose=st.booleans(),
    run_kind=st.sampled_from(RunKind),
)


@given(programmes)
def test_the_ordered_programme_has_the_ordered_noise(programme):
    """A programme against itself is 1."""
    assert noise_factor(programme, programme) == 1.0


@given(programmes, programmes)
def test_noise_compares_both_ways(a, b):
    """Used against ordered, and ordered against used, are inverse."""
    assert noise_factor(a, b) * noise_factor(b, a) == pytest.approx(1.0)


def test_noise_follows_dose_and_voxel():
    """Half the edge, an 8th of the quanta a voxel: sqrt(8) the noise; half the dose: sqrt(2)."""
    ordered = Programme(voxel_um=200)
    assert noise_factor(replace(ordered, voxel_um=100), ordered) == pytest.approx(8**0.5)
    assert noise_factor(replace(ordered, low_dose=True), ordered) == pytest.approx(2**0.5)
