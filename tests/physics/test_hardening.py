"""Water looks the same however thick it is; bone and metal do not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.physics.attenuation import linear_attenuation_per_mm
from trainer.physics.detector import optical_depth, transmission
from trainer.physics.hardening import WATER, water_depths, water_lines, water_per_mm
from trainer.physics.spectrum import binned, mean_energy_kev, single_energy, tube_spectrum

SPECTRUM = tube_spectrum(90.0, 3.0)


@given(st.floats(0.0, 390.0))
def test_water_comes_back_as_thick_as_it_is(thickness_mm: float) -> None:
    """Its optical depth for the tube's energies leads back to its thickness within 0.02 mm."""
    depth = water_depths(np.array([thickness_mm]), SPECTRUM)
    assert water_lines(depth, SPECTRUM)[0] == pytest.approx(thickness_mm, abs=0.02)


def test_depths_are_those_of_the_detector() -> None:
    """Optical depths of 100 and 200 mm of water: 0.0991 and 0.0117 get through, within 3 %.

    Reference figures, 90 kV, 3 mm Al, energy-integrating (spekpy and xraylib).
    """
    found = np.exp(-water_depths(np.array([100.0, 200.0]), SPECTRUM))
    assert found == pytest.approx([0.0991, 0.0117], rel=0.03)
    same = transmission(np.array([[[100.0, 200.0]]]), [WATER], SPECTRUM)[0]
    assert found == pytest.approx(same, rel=1e-4)


def test_for_one_energy_nothing_is_to_be_undone() -> None:
    """Depth over attenuation is the thickness, also of what is not water."""
    line = water_lines(np.array([1.0, 3.0]), single_energy(60.0))
    per_mm = float(linear_attenuation_per_mm(WATER, 60.0))
    assert line == pytest.approx(np.array([1.0, 3.0]) / per_mm, rel=1e-6)
    assert water_per_mm(single_energy(60.0), 50.0) == pytest.approx(per_mm)


def test_the_beam_grows_harder() -> None:
    """A millimetre of water counts less behind more of it: 10.5 % from 10 to 200 mm, on average.

    Check 8; reference: mean attenuation 0.2484 / cm behind 1 cm and 0.2223 behind 20 cm.
    """
    depths = water_depths(np.array([10.0, 200.0]), SPECTRUM) / np.array([1.0, 20.0])
    assert depths == pytest.approx([0.2484, 0.2223], rel=0.01)
    assert water_per_mm(SPECTRUM, 200.0) < water_per_mm(SPECTRUM, 10.0)


def test_no_light_is_no_line_without_end() -> None:
    """Behind metal lines stay finite, and noise beside the body may lie below 0."""
    depths = optical_depth(np.array([0.0, 1.02]), 1e4)
    lines = water_lines(depths, SPECTRUM)
    assert np.isfinite(lines).all()
    assert lines[0] > 300.0 > 0.0 > lines[1] > -5.0


def test_bins_keep_number_and_energy() -> None:
    """Bins of 4 keV keep photons and their energy; depths of water change by less than 0.05 %."""
    few = binned(SPECTRUM, 4.0)
    assert len(few.photons) < 25 < len(SPECTRUM.photons)
    assert few.photons.sum() == pytest.approx(SPECTRUM.photons.sum())
    assert mean_energy_kev(few) == pytest.approx(mean_energy_kev(SPECTRUM))
    thick = np.array([50.0, 100.0, 200.0])
    assert water_depths(thick, few) == pytest.approx(water_depths(thick, SPECTRUM), rel=5e-4)
