"""Smallest cylinders and free play."""

import numpy as np
import pytest
from hypothesis import given
from strategies import points_mm

from trainer.geometry.cylinders import free_play, smallest_circle, target_cylinder


@given(points_mm(30, 60.0))
def test_circle_holds_all_and_cannot_shrink(points):
    """The circle holds every point and is pinned by points on its rim."""
    flat = points[:, :2]
    centre, radius = smallest_circle(flat)
    away = np.linalg.norm(flat - centre, axis=1)
    assert (away <= radius + 1e-6).all()
    rim = flat[away >= radius - 1e-6]
    if radius > 1e-3:
        # no half plane through the centre holds all rim points, else the circle could move
        angles = np.sort(np.arctan2(*(rim - centre).T[::-1]))
        gaps = np.diff(np.r_[angles, angles[0] + 2 * np.pi])
        assert gaps.max() <= np.pi + 1e-2


def test_circle_of_a_triangle():
    """An equilateral triangle of side 3 has a circle of radius sqrt(3)."""
    pts = np.array([[0, 0], [3, 0], [1.5, 1.5 * 3**0.5]])
    centre, radius = smallest_circle(pts)
    assert radius == pytest.approx(3**0.5)
    np.testing.assert_allclose(centre, [1.5, 3**0.5 / 2])


@given(points_mm(30, 60.0))
def test_target_cylinder_spans_the_height(points):
    """The cylinder's height is the points' span and its centre is half way."""
    found = target_cylinder(points)
    assert found.height_mm == pytest.approx(np.ptp(points[:, 2]))
    assert found.centre_mm[2] == pytest.approx((points[:, 2].max() + points[:, 2].min()) / 2)


# Free play for the published lower-third-molar cylinder 32.1 x 31.6 mm (BMC Oral Health 2021,
# 50 scans), margin 2 mm; the play itself is the project reference's own arithmetic.
PLAY = {
    (35, 35): (-0.55, -0.30),
    (40, 40): (1.95, 2.20),
    (50, 50): (6.95, 7.20),
    (60, 60): (11.95, 12.20),
    (80, 80): (21.95, 22.20),
}


@pytest.mark.parametrize("field", PLAY)
def test_play_of_the_third_molar(field):
    """The play of the published third-molar cylinder holds to 0.01 mm for five fields."""
    found = free_play(*field, 32.1, 31.6, 2.0)
    assert (found.radial_mm, found.vertical_mm) == pytest.approx(PLAY[field], abs=0.01)


def test_play_without_margin():
    """A 35 mm field leaves 1.45 and 1.70 mm without a margin."""
    found = free_play(35, 35, 32.1, 31.6, 0.0)
    assert (found.radial_mm, found.vertical_mm) == pytest.approx((1.45, 1.70), abs=0.01)
