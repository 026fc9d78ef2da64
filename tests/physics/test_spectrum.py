"""The tube's spectrum against figures computed with a spectrum library.

Expected figures: spekpy 2.5.4 (model casim, 12 degrees anode), 0.5 keV bins; ours has 1 keV bins
and other air and filter tables.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.errors import TrainerError
from trainer.physics.spectrum import (
    Spectrum,
    air_kerma_ugy,
    filtered,
    half_value_layer_mm_al,
    mean_energy_kev,
    single_energy,
    tube_spectrum,
)

# Added to the tube's own 3 mm Al: mm Al, mm Cu, then mean keV, first HVL mm Al, kerma uGy/mAs at
# 1 m, photons per cm2 and mAs at 1 m.
SPEKPY = [
    (0.0, 0.0, 47.13, 3.42, 86.93, 1.826e8),
    (3.0, 0.0, 51.20, 4.909, 46.61, 1.168e8),
    (7.0, 0.0, 54.59, 6.189, 26.09, 7.281e7),
]


@pytest.mark.parametrize(("al", "cu", "mean", "hvl", "kerma", "photons"), SPEKPY)
def test_filtered_spectra_are_those_of_the_library(
    al: float, cu: float, mean: float, hvl: float, kerma: float, photons: float
) -> None:
    """Mean energy is within 0.1 keV, HVL within 0.05 mm, kerma within 2 %, photons within 0.3 %."""
    spectrum = filtered(tube_spectrum(), al, cu)
    assert mean_energy_kev(spectrum) == pytest.approx(mean, abs=0.1)
    assert half_value_layer_mm_al(spectrum) == pytest.approx(hvl, abs=0.05)
    assert air_kerma_ugy(spectrum) == pytest.approx(kerma, rel=0.02)
    assert spectrum.photons.sum() == pytest.approx(photons, rel=0.003)


def test_copper_filters_as_in_the_library() -> None:
    """0.5 mm Cu behind 3 mm Al is within 1 keV and 0.15 mm of the library's 2.5 mm Al + 0.5 mm Cu.

    The half millimetre of aluminium that differs lets 2 to 5 % less through: kerma within 6 %.
    """
    spectrum = filtered(tube_spectrum(), copper_mm=0.5)
    assert mean_energy_kev(spectrum) == pytest.approx(59.96, abs=1.0)
    assert half_value_layer_mm_al(spectrum) == pytest.approx(8.093, abs=0.15)
    assert air_kerma_ugy(spectrum) == pytest.approx(16.14, rel=0.06)


def test_the_tube_passes_the_minimum_half_value_layer() -> None:
    """The first HVL is at least 3.2 mm Al, as asked at 90 kV: IEC 60601-1-3:2008, from memory."""
    assert half_value_layer_mm_al(tube_spectrum()) >= 3.2


@settings(max_examples=30)
@given(st.floats(0.0, 10.0), st.floats(0.01, 5.0))
def test_more_filter_hardens_and_weakens(aluminium_mm: float, more_mm: float) -> None:
    """More aluminium raises mean energy and HVL, and lowers the kerma."""
    thin, thick = (filtered(tube_spectrum(), a) for a in (aluminium_mm, aluminium_mm + more_mm))
    assert mean_energy_kev(thick) > mean_energy_kev(thin)
    assert half_value_layer_mm_al(thick) > half_value_layer_mm_al(thin)
    assert air_kerma_ugy(thick) < air_kerma_ugy(thin)


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_two_filters_are_one_of_both_thicknesses(a_mm: float, b_mm: float) -> None:
    """Filters one after the other act as one of their common thickness."""
    twice = filtered(filtered(tube_spectrum(), a_mm, 0.1), b_mm, 0.2)
    once = filtered(tube_spectrum(), a_mm + b_mm, 0.3)
    np.testing.assert_allclose(twice.photons, once.photons, rtol=1e-9)


def test_half_value_layer_of_one_energy() -> None:
    """At 60 keV half of the photons pass ln 2 / (0.2778 x 0.2699) mm Al: NIST XAAMDI, Table 3."""
    expected = np.log(2.0) / (0.2778 * 2.699 / 10.0)
    assert half_value_layer_mm_al(single_energy(60.0)) == pytest.approx(expected, rel=2e-3)


def test_negative_filters_are_refused() -> None:
    """A filter cannot be taken away."""
    with pytest.raises(TrainerError, match="not below 0"):
        filtered(tube_spectrum(), -0.5)


@pytest.mark.parametrize(
    ("energies", "photons"),
    [([20.0, 10.0], [1.0, 1.0]), ([10.0, 20.0], [0.0, 0.0]), ([10.0], [1.0, 2.0]), ([10.0], [-1])],
)
def test_what_is_no_spectrum_is_refused(energies: list[float], photons: list[float]) -> None:
    """Falling energies, no photons, odd lengths and negative numbers are refused."""
    with pytest.raises(TrainerError):
        Spectrum(np.array(energies), np.array(photons, float))


def test_the_shipped_spectrum_cannot_be_changed() -> None:
    """The spectrum that all callers share is read-only."""
    with pytest.raises(ValueError, match="read-only"):
        tube_spectrum().photons[0] = 0.0
