"""The recorded region against closed forms and against projecting every view."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import points_mm

from trainer.geometry.cylinders import target_cylinder
from trainer.geometry.region import (
    RecordedRegion,
    edge_distances,
    free_play_in,
    inside,
    recorded_height_mm,
    recorded_region,
    region_profile,
    shift_limits,
)
from trainer.models.device import Beam, FieldSize, Region, RegionPlace

CYLINDER = RecordedRegion(25.0, 25.0, 0.0, 1e9, 1e9, 1e12)


def region_of(diameter=80.0, height=50.0, below=66.0, above=66.0) -> RecordedRegion:
    field = FieldSize("test", diameter, height, (Region.LOWER_JAW,), (200,))
    return recorded_region(field, RegionPlace(0.0, 40.0), Beam(420.0, 630.0, below, above))


def volume_by_shells(region: RecordedRegion, shells: int = 4000) -> float:
    """Sum of thin cylinder shells [mm^3]."""
    edges = np.linspace(0, region.radius_mm, shells + 1)
    middle = (edges[1:] + edges[:-1]) / 2
    heights = np.array([recorded_height_mm(region, r) for r in middle])
    return float(np.sum(np.pi * (edges[1:] ** 2 - edges[:-1] ** 2) * heights))


def test_a_plain_cylinder_has_its_closed_volume():
    """Without cone loss the region's volume is that of the cylinder."""
    assert volume_by_shells(CYLINDER) == pytest.approx(np.pi * 25**2 * 50, rel=1e-4)


def test_cone_loss_has_its_closed_volume():
    """A detector that covers a height h on the axis loses h r / S at distance r."""
    # Height 2h(1 - r/S); integrating 2 pi r over it gives 2 pi h R^2 (1 - 2R/(3S)).
    h, big, s = 20.0, 40.0, 420.0
    region = RecordedRegion(big, 1e6, 0.0, h, h, s)
    expected = 2 * np.pi * h * big**2 * (1 - 2 * big / (3 * s))
    assert volume_by_shells(region) == pytest.approx(expected, rel=1e-4)


@given(points_mm(30, 45.0))
def test_inside_means_on_the_detector_in_every_view(points):
    """A point is inside when it is in the cylinder and on the detector for all of 720 angles."""
    beam = Beam(420.0, 630.0, 55.0, 50.0)
    field = FieldSize("test", 80.0, 60.0, (Region.LOWER_JAW,), (200,))
    region = recorded_region(field, RegionPlace(0.0, 40.0), beam)
    source_z = 40.0 - 30.0  # central ray in the field frame
    x, y, z = points.T
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)[:, None]
    # source on the circle of radius S; flat detector perpendicular to the central ray
    depth = beam.source_to_axis_mm - (x * np.cos(angle) + y * np.sin(angle))
    v = (z - source_z) * beam.source_to_detector_mm / depth
    seen = ((v >= -55.0) & (v <= 50.0)).all(axis=0)
    expected = seen & (np.hypot(x, y) <= 40.0) & (np.abs(z) <= 30.0)
    wall, roof, floor = edge_distances(region, points)
    # 720 angles see the nearest approach to within r(1 - cos(0.25 deg)): leave out the very edge
    clear = np.abs(np.minimum(np.minimum(wall, roof), floor)) > 0.01
    np.testing.assert_array_equal(inside(region, points)[clear], expected[clear])


@given(points_mm(12, 30.0), st.floats(0, 3), st.sampled_from([0, 1, 2]))
def test_shift_limits_are_where_the_margin_is_used_up(points, need, axis):
    """Shifted to a limit the points just keep their margin, a little farther they do not."""
    region = region_of(below=58.0, above=54.0)
    needs = np.full(len(points), need)
    low, high = (float(v[0]) for v in shift_limits(region, points[None], needs, axis))

    def least(shift: float) -> float:
        moved = points + shift * np.eye(3)[axis]
        return float(np.min(edge_distances(region, moved)) - need)

    if low > high:
        shifts = np.linspace(-120, 120, 961)
        assert max(least(s) for s in shifts) < 1e-6
        return
    assert least(low) == pytest.approx(0.0, abs=1e-6)
    assert least(high) == pytest.approx(0.0, abs=1e-6)
    assert least((low + high) / 2) >= -1e-9
    assert least(low - 0.1) < 0
    assert least(high + 0.1) < 0


def test_free_play_counts_the_cone():
    """A target of known size may stand as far off as moving it shows."""
    region = region_of(below=52.0, above=52.0)
    turn = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    rim = np.stack([10 * np.cos(turn), 10 * np.sin(turn), np.zeros(72)], axis=1)
    target = np.concatenate([rim + [0, 0, h] for h in (-8.0, 8.0)])
    play = free_play_in(region, target_cylinder(target), 2.0)
    # the detector's centre is not the field's, so up and down differ: the smaller one is told
    moved = [np.min(edge_distances(region, target + [0, 0, s * play.vertical_mm])) for s in (-1, 1)]
    assert min(moved) == pytest.approx(2.0, abs=0.05)
    sideways = target + [play.radial_mm, 0, 0]
    assert edge_distances(region, sideways)[0].min() == pytest.approx(2.0, abs=0.02)


@given(points_mm(20, 60.0))
def test_distances_never_overstate(points):
    """Moving a point by less than its distance never takes it out of the region."""
    region = region_of(below=70.0)
    margin = np.min(edge_distances(region, points), axis=0)
    ways = np.random.default_rng(1).normal(size=(50, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    for point, m in zip(points, margin, strict=True):
        if m > 0:
            assert inside(region, point + ways * m * (1 - 1e-9)).all()


@given(points_mm(20, 60.0), points_mm(20, 60.0))
def test_the_region_is_convex(a, b):
    """The middle of two inside points is inside."""
    region = region_of(below=62.0, above=58.0)
    n = min(len(a), len(b))
    both = inside(region, a[:n]) & inside(region, b[:n])
    assert inside(region, (a[:n] + b[:n]) / 2)[both].all()


def test_the_edge_counts_as_inside():
    """A point on the wall, the roof or the floor is inside."""
    assert inside(CYLINDER, np.array([[25.0, 0, 0], [0, 0, 25.0], [0, 0, -25.0]])).all()


def test_profile_outlines_the_region():
    """Every corner of the drawn outline lies on the region's edge."""
    region = region_of(below=60.0, above=60.0)
    profile = region_profile(region)
    points = np.stack([profile[:, 0], np.zeros(len(profile)), profile[:, 1]], axis=1)
    least = np.min(np.abs(edge_distances(region, points)), axis=0)
    np.testing.assert_allclose(least, 0.0, atol=1e-9)


def test_nothing_is_recorded_outside_the_wall():
    """Beyond the wall the recorded height is zero."""
    assert recorded_height_mm(CYLINDER, 25.1) == 0.0
