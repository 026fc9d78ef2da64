"""Metal, its streaks, and what correcting for it does."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.water_heads import BONE, MAS, TITANIUM, rod, small_scan, standing, water_head
from hypothesis import given
from hypothesis import strategies as st

from trainer.models.appointment_words import MetalLevel
from trainer.physics.acquisition import acquire
from trainer.physics.fdk.reconstruct import circle_of, grid_about, reconstruct
from trainer.physics.metal import bridged, metal_in, metal_shadow, opaque
from trainer.physics.spectrum import tube_spectrum

SPECTRUM = tube_spectrum(90.0, 3.0)
GRID = grid_about(np.zeros(3), np.array([40.0, 40.0, 4.0]), 0.5)
INSIDE = circle_of(GRID, 20.0)
IMPLANTS = (-9.0, 9.0)


def implants(z_mm: tuple[float, float] = (-6.0, 6.0), y_mm: float = 0.0):
    """Two rods of titanium."""
    return [rod(x, y_mm, z_mm, TITANIUM) for x in IMPLANTS]


def lines_of(*rods, pitch_deg: float = 0.0):
    """A scan without noise, so that what is seen is what metal does."""
    scan = small_scan(views=120, rows=16)
    body = water_head(*rods)
    return acquire(body, scan, standing(120, pitch_deg), SPECTRUM, MAS, None).lines_mm, scan


@pytest.fixture(scope="module")
def with_metal():
    """Lines and volume of water with two implants."""
    lines, scan = lines_of(*implants())
    return lines, scan, reconstruct(lines, scan, GRID, INSIDE)


@pytest.fixture(scope="module")
def clean():
    """The volume of water alone."""
    lines, scan = lines_of()
    return reconstruct(lines, scan, GRID, INSIDE)


def error_between(values: np.ndarray, clean: np.ndarray) -> float:
    """RMSE between the implants, where nothing but water is."""
    x, y = GRID.axis_mm(0)[None, :], GRID.axis_mm(1)[:, None]
    spot = (np.abs(x) < 5.0) & (np.abs(y) < 3.0)
    return float(np.sqrt(np.mean((values - clean)[:, spot] ** 2)))


def test_metal_is_found_where_it_is(with_metal) -> None:
    """Two rods of 2 mm radius: as many voxels as their section has, within 15 %; no bone."""
    _, _, values = with_metal
    found = metal_in(values)
    area = found.sum(axis=(1, 2)).mean() * GRID.spacing_mm**2
    assert area == pytest.approx(2.0 * np.pi * 2.0**2, rel=0.15)
    lines, scan = lines_of(rod(0.0, 0.0, (-6.0, 6.0), BONE))
    assert not metal_in(reconstruct(lines, scan, GRID, INSIDE)).any()


def test_metal_darkens_what_lies_between(with_metal, clean) -> None:
    """The middle between two implants is too dark, and is not beside their line."""
    _, _, values = with_metal
    x, y = GRID.axis_mm(0)[None, :], GRID.axis_mm(1)[:, None]
    between = (values - clean)[:, (np.abs(x) < 5.0) & (np.abs(y) < 1.0)].mean()
    beside = (values - clean)[:, (np.abs(x) < 5.0) & (np.abs(y - 12.0) < 1.0)].mean()
    assert between < -0.05
    assert abs(beside) < 0.5 * abs(between)


def test_correcting_helps_more_at_the_higher_level(with_metal, clean) -> None:
    """Between the implants the error falls to 49 % at LOW and 6 % at HIGH, as measured here."""
    lines, scan, values = with_metal
    shadow = metal_shadow(metal_in(values), GRID, scan)
    errors = {
        level: error_between(reconstruct(bridged(lines, shadow, level), scan, GRID, INSIDE), clean)
        for level in MetalLevel
    }
    assert errors[MetalLevel.OFF] == pytest.approx(error_between(values, clean))
    assert errors[MetalLevel.LOW] < 0.6 * errors[MetalLevel.OFF]
    assert errors[MetalLevel.HIGH] < 0.1 * errors[MetalLevel.OFF]


def test_metal_in_the_targets_slices_is_worse_than_tilted_apart(with_metal, clean) -> None:
    """A tilt that takes the metal out of the target's slices takes its streaks away, too.

    Streaks lie in the planes that hold ways through two pieces of metal (Schulze et al.,
    Dentomaxillofac Radiol 40:265, 2011). Implants 12 mm ahead of the target: chin down by 30
    degrees takes them out of its slices. Measured: 0.197 against less than 0.001.
    """
    beside = implants((-3.0, 3.0), y_mm=-12.0)
    errors = []
    for pitch in (0.0, -30.0):
        lines, scan = lines_of(*beside, pitch_deg=pitch)
        still, _ = lines_of(pitch_deg=pitch)
        apart = reconstruct(lines, scan, GRID, INSIDE) - reconstruct(still, scan, GRID, INSIDE)
        x, y = GRID.axis_mm(0)[None, :], GRID.axis_mm(1)[:, None]
        target = (np.abs(x) < 5.0) & (np.abs(y) < 4.0)
        errors.append(float(np.sqrt(np.mean(apart[:, target] ** 2))))
    assert errors[1] < 0.1 * errors[0]


def test_the_shadow_holds_every_line_that_metal_changes(with_metal) -> None:
    """Where the metal changes a line by more than 5 % of its most, there is shadow."""
    lines, scan, values = with_metal
    without, _ = lines_of()
    shadow = metal_shadow(metal_in(values), GRID, scan)
    # the volume holds 4 mm of the rods' height: only the rows about the middle count
    apart = np.abs(lines - without)[:, 7:9]
    assert shadow[:, 7:9][apart > 0.05 * apart.max()].mean() > 0.99
    assert 0.05 < shadow[:, 7:9].mean() < 0.35


@given(st.integers(0, 10**6), st.sampled_from(list(MetalLevel)))
def test_bridges_touch_nothing_but_shadow(seed: int, level: MetalLevel) -> None:
    """Lines out of the shadow keep their bits; OFF keeps all; bridged ones are finite."""
    random = np.random.default_rng(seed)
    lines = random.random((2, 3, 12)).astype(np.float32)
    shadow = random.random((2, 3, 12)) < random.random()
    found = bridged(lines, shadow, level)
    np.testing.assert_array_equal(found[~shadow], lines[~shadow])
    if level is MetalLevel.OFF:
        np.testing.assert_array_equal(found, lines)
    assert found.min() >= lines.min() - 1e-6 and found.max() <= lines.max() + 1e-6


def test_a_bridge_is_a_straight_line() -> None:
    """From the last line before the shadow to the first behind it; level at an end."""
    lines = np.array([[[1.0, 9.0, 9.0, 4.0, 5.0, 9.0]]], np.float32)
    shadow = np.array([[[False, True, True, False, False, True]]])
    assert bridged(lines, shadow, MetalLevel.HIGH).ravel().tolist() == [1, 2, 3, 4, 5, 5]
    half = bridged(lines, shadow, MetalLevel.LOW).ravel()
    assert half.tolist() == [1.0, 5.5, 6.0, 4.0, 5.0, 7.0]


def test_hardly_a_photon_is_told_as_opaque() -> None:
    """A line of half a metre of water, and its neighbours; a large head's 250 mm is none."""
    lines = np.full((1, 5, 5), 250.0, np.float32)
    assert not opaque(lines).any()
    lines[0, 2, 2] = 500.0
    assert opaque(lines).sum() == 5
