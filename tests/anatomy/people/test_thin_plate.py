"""The thin-plate spline against a library's, and its slopes and way back."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator

from trainer.anatomy.people.thin_plate import BLOCK, ThinPlate, thin_plate, turned_round


@pytest.fixture(scope="module")
def sets() -> tuple[np.ndarray, np.ndarray]:
    """Anchors and where they go, and (by seed) always the same ones [mm]."""
    rng = np.random.default_rng(5)
    anchors = rng.uniform(-100, 100, (40, 3))
    return anchors, anchors * [0.9, 0.95, 1.05] + rng.normal(0.0, 2.0, (40, 3))


@pytest.fixture(scope="module")
def spline(sets: tuple[np.ndarray, np.ndarray]) -> ThinPlate:
    """The spline through them."""
    return thin_plate(*sets)


POINTS = np.random.default_rng(6).uniform(-120, 120, (BLOCK + 300, 3))


def test_same_as_the_library(spline: ThinPlate, sets: tuple[np.ndarray, np.ndarray]) -> None:
    """It gives what scipy's thin-plate spline gives, to 1e-6 mm, at its anchors too."""
    twin = RBFInterpolator(*sets, kernel="thin_plate_spline")
    np.testing.assert_allclose(spline(POINTS), twin(POINTS), atol=1e-6)
    np.testing.assert_allclose(spline(sets[0]), sets[1], atol=1e-6)


def test_slopes(spline: ThinPlate) -> None:
    """The slopes are those of small steps."""
    there, slope = spline.with_slope(POINTS[:100])
    np.testing.assert_array_equal(there, spline(POINTS[:100]))
    step = 1e-4
    for axis in range(3):
        ahead = (spline(POINTS[:100] + step * np.eye(3)[axis]) - there) / step
        np.testing.assert_allclose(slope[:, :, axis], ahead, atol=1e-4)


def test_way_back(spline: ThinPlate) -> None:
    """Turned round, it leads back to 1e-6 mm, even from a poor start."""
    targets = spline(POINTS)
    found = turned_round(spline, targets + 3.0, targets)
    np.testing.assert_allclose(found, POINTS, atol=1e-6)


def test_even_stretch_is_exact() -> None:
    """A plain stretch of the anchors stretches all of space."""
    anchors = np.random.default_rng(7).uniform(-50, 50, (12, 3))
    stretched = thin_plate(anchors, anchors * [1.1, 0.9, 1.2] + 5.0)
    np.testing.assert_allclose(stretched(POINTS), POINTS * [1.1, 0.9, 1.2] + 5.0, atol=1e-6)
