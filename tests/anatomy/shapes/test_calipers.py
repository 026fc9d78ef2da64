"""The measuring tools on solids whose sizes are known."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.shapes.calipers import (
    angle_deg,
    breadth_mm,
    cut_mm,
    fall_deg,
    from_side_mm,
    front_line,
    hits_mm,
    off_line_mm,
    side_view,
    tape_mm,
)
from trainer.anatomy.shapes.implicit import ellipsoid
from trainer.anatomy.shapes.meshing import Mesh, surface

CENTRE, HALF_MM = np.array([3.0, -20.0, 10.0]), np.array([30.0, 40.0, 25.0])


@pytest.fixture(scope="module")
def egg() -> Mesh:
    """An ellipsoid with half axes 30, 40 and 25 mm."""
    return surface(ellipsoid(CENTRE, HALF_MM), 2.0)


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_a_probe_from_the_middle_meets_the_surface_once(egg: Mesh, axis: int, sign: float) -> None:
    """From the centre a probe along an axis meets the wall once, at the half axis."""
    met = hits_mm(egg, CENTRE, 7.0 * sign * np.eye(3)[axis])
    assert met == pytest.approx([HALF_MM[axis]], abs=0.1)


def test_a_probe_from_outside_meets_both_walls_or_none(egg: Mesh) -> None:
    """A probe through the solid meets it twice, a whole axis apart; one that looks away, never."""
    start = CENTRE + [100.0, 0.1, 0.1]
    near, far = hits_mm(egg, start, (-1, 0, 0))
    assert far - near == pytest.approx(60.0, abs=0.2)
    assert len(hits_mm(egg, start, (1, 0, 0))) == 0


def test_a_tape_round_an_ellipse(egg: Mesh) -> None:
    """Round a plane cut the tape is the ellipse's circumference, with many points or with few."""
    # the plane through x and a tilted way cuts the ellipsoid in an ellipse with half axes 30 and b
    normal = np.array([0.0, np.sin(0.7), np.cos(0.7)])
    way = np.array([np.cos(0.7), -np.sin(0.7)])
    b = 1.0 / np.hypot(*(way / HALF_MM[1:]))
    h = ((30.0 - b) / (30.0 + b)) ** 2
    # perimeter of an ellipse: Ramanujan 1914
    round_it = np.pi * (30.0 + b) * (1.0 + 3.0 * h / (10.0 + np.sqrt(4.0 - 3.0 * h)))
    points = cut_mm(egg, CENTRE, normal).reshape(-1, 3)
    assert tape_mm(points, normal) == pytest.approx(round_it, rel=2e-3)
    assert tape_mm(points[::3], 5.0 * normal) == pytest.approx(round_it, rel=5e-3)


def test_breadth_is_the_widest_level(egg: Mesh) -> None:
    """Breadth is the widest level within its bounds: at the equator, or at the bound nearest it."""
    assert breadth_mm(egg, (-60, 60), (-10, 30)) == pytest.approx(60.0, abs=0.2)
    above = 60.0 * np.sqrt(1.0 - (15.0 / 25.0) ** 2)
    assert breadth_mm(egg, (-60, 60), (25.0, 33.0)) == pytest.approx(above, abs=0.2)
    assert breadth_mm(egg, (100, 120), (-10, 30)) == 0.0


def test_the_front_line_is_the_front(egg: Mesh) -> None:
    """The foremost point of every level lies on the solid's front half."""
    line = front_line(side_view(egg, CENTRE[0]), 0.0, 25.0)
    up = (line[:, 1] - 10.0) / 25.0
    np.testing.assert_allclose(line[:, 0], 20.0 + 40.0 * np.sqrt(1.0 - up**2), atol=0.15)
    assert front_line(side_view(egg), 200.0, 201.0).shape == (0, 2)


def test_angles_and_distances_of_a_side_view() -> None:
    """A line that falls 3 over 4 to the front falls 36.87 degrees; sideways does not count."""
    rear, front = np.array([9.0, 0.0, 0.0]), np.array([-5.0, -4.0, -3.0])
    assert fall_deg(front, rear) == pytest.approx(36.8699, abs=1e-4)
    assert fall_deg(rear + [0, -4, 3], rear) == pytest.approx(-36.8699, abs=1e-4)
    assert from_side_mm(front, rear) == pytest.approx(5.0)
    assert off_line_mm([1.0, -4.0, 0.0], rear, front) == pytest.approx(2.4)
    assert angle_deg((1, 0), (-2, 0)) == pytest.approx(180.0)
    assert angle_deg((0, 0, 2), (0, 3, 0)) == pytest.approx(90.0)
