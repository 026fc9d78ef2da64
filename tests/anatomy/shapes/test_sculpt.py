"""Free forms keep to the points and sections they are given."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.shapes.meshing import surface, volume_mm3
from trainer.anatomy.shapes.sculpt import lfu, loft, star


def test_star_passes_through_its_points() -> None:
    """A star's surface runs through the points it was given, within 0.15 mm."""
    points = [(10, 0, 0), (0, 12, 0), (0, 0, 9), (0, -11, 0), (0, 0, -8), (6, 7, 4), (5, -6, -6)]
    solid = star((0, 0, 0), points, midline=True)
    assert np.abs(solid(lfu(points))).max() < 0.15


def test_straight_loft_is_a_cylinder() -> None:
    """A loft of equal round sections encloses a cylinder's volume within 1 %."""
    solid = loft((0, 0, 0), (0, 30, 0), [8, 8, 8], [8, 8, 8], (0, 0, 1))
    assert volume_mm3(surface(solid, 0.7)) == pytest.approx(np.pi * 64 * 30, rel=0.01)


def test_star_far_values_have_the_right_sign() -> None:
    """A star made of a sphere's points tells inside from outside like the sphere."""
    rng = np.random.default_rng(3)
    directions = rng.normal(size=(60, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    solid = star((0, 5, 0), directions * 20.0 + [0.0, 5.0, 0.0])
    points = rng.uniform(-40, 40, (2000, 3))
    true = np.linalg.norm(points - lfu((0, 5, 0)), axis=1) - 20.0
    clear = np.abs(true) > 0.5
    np.testing.assert_array_equal(np.sign(solid(points))[clear], np.sign(true)[clear])


def test_loft_stays_inside_its_box() -> None:
    """No point of a loft lies outside the box it reports."""
    solid = loft((3, 0, 1), (8, 25, -6), [3, 7, 4], [6, 2, 5], (0.2, 0, 1), lift_mm=[0, 3, -1])
    points = np.random.default_rng(4).uniform(-40, 40, (20000, 3))
    inside = points[solid(points) < 0]
    assert len(inside) > 50
    assert np.all(inside >= solid.lower_mm)
    assert np.all(inside <= solid.upper_mm)
