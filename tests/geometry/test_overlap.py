"""What two regions share, against closed forms and a bound from linear programming."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from strategies import rigid

from trainer.geometry.overlap import depth_in, shared_mm
from trainer.geometry.region import RecordedRegion, inside
from trainer.geometry.transforms import apply, chain, inverse, shift
from trainer.models.frames import Frame, RigidTransform

FAR = 1e5  # a source so far away, and limits so high, that the cone takes nothing
AWAY_MM = st.floats(-60.0, 60.0)


def drum(radius_mm: float, height_mm: float) -> RecordedRegion:
    """A plain cylinder."""
    return RecordedRegion(radius_mm, height_mm / 2.0, 0.0, FAR, FAR, FAR)


def cone_cut(radius_mm: float, height_mm: float, ray_mm: float) -> RecordedRegion:
    """A cylinder that loses its rim above and below to the cone."""
    limit = height_mm / 2.0
    return RecordedRegion(radius_mm, height_mm / 2.0, ray_mm, limit, limit, 400.0)


REGIONS = st.builds(cone_cut, st.floats(19.0, 80.0), st.floats(40.0, 100.0), st.floats(-15, 15))


def by(x: float, y: float, z: float) -> RigidTransform:
    """The second field's centre stands there, seen from the first."""
    return shift(Frame.FIELD, Frame.FIELD, [-x, -y, -z])


@given(st.floats(20.0, 60.0), st.floats(-100.0, 100.0))
def test_one_above_the_other_share_a_height(radius_mm: float, higher_mm: float) -> None:
    """Drums on one axis share 50 mm less the distance of their centres, at most their width."""
    found = shared_mm(drum(radius_mm, 50.0), drum(radius_mm, 50.0), by(0, 0, higher_mm))
    assert found == pytest.approx(min(2 * radius_mm, 50.0 - abs(higher_mm)), abs=1e-3)


@given(st.floats(20.0, 50.0), st.floats(20.0, 50.0), st.floats(0.0, 150.0), st.floats(0, 6.3))
def test_side_by_side_share_a_width(a_mm: float, b_mm: float, away_mm: float, way: float) -> None:
    """Drums side by side share both radii less the distance, at most the smaller one or a height.

    Apart, the same figure is minus the gap.
    """
    there = by(away_mm * np.cos(way), away_mm * np.sin(way), 0.0)
    found = shared_mm(drum(a_mm, 60.0), drum(b_mm, 60.0), there)
    expected = min(a_mm + b_mm - away_mm, 2 * min(a_mm, b_mm), 60.0)
    assert found == pytest.approx(expected, abs=1e-3)


def test_faces_that_touch_share_nothing() -> None:
    """Two drums that stand exactly on each other share 0 mm."""
    assert shared_mm(drum(40, 50), drum(40, 50), by(0, 0, 50.0)) == pytest.approx(0.0, abs=1e-3)


@settings(max_examples=40)
@given(REGIONS, REGIONS, rigid(Frame.FIELD, Frame.FIELD))
def test_the_ball_is_the_largest(a: RecordedRegion, b: RecordedRegion, there) -> None:
    """No larger ball fits: cutting planes bound the depth of every point from above."""
    near = RigidTransform(Frame.FIELD, Frame.FIELD, there.rotation, there.translation_mm * 0.3)
    found = shared_mm(a, b, near) / 2.0

    def depths(points: np.ndarray) -> np.ndarray:
        return np.minimum(depth_in(a, points), depth_in(b, apply(near, points)))

    # Kelley's method: a concave function lies below each of its tangent planes
    rows, limits = [], []
    at = inverse(near).translation_mm / 2.0
    step = 1e-6
    for _ in range(80):
        here = float(depths(at[None])[0])
        around = depths(np.concatenate([at + step * np.eye(3), at - step * np.eye(3)]))
        slope = (around[:3] - around[3:]) / (2 * step)
        rows.append([*-slope, 1.0])
        limits.append(here - slope @ at)
        reach = [(-200.0, 200.0)] * 3
        best = linprog([0, 0, 0, -1], rows, limits, bounds=[*reach, (None, None)])
        at, bound = best.x[:3], -best.fun
        if bound - found < 0.002:
            break
    assert found <= bound + 1e-4
    assert found == pytest.approx(bound, abs=0.005)


@given(REGIONS, REGIONS, AWAY_MM, AWAY_MM, AWAY_MM)
def test_order_does_not_matter(
    a: RecordedRegion, b: RecordedRegion, x: float, y: float, z: float
) -> None:
    """Two regions share the same, whichever comes first."""
    there = by(x, y, z)
    assert shared_mm(a, b, there) == pytest.approx(shared_mm(b, a, inverse(there)), abs=2e-3)


@given(REGIONS, REGIONS, rigid(Frame.FIELD, Frame.FIELD), AWAY_MM, AWAY_MM, AWAY_MM)
def test_a_small_move_changes_little(
    a: RecordedRegion, b: RecordedRegion, there: RigidTransform, x: float, y: float, z: float
) -> None:
    """Moving one region changes what is shared by no more than it was moved."""
    more = chain(there, by(x / 10, y / 10, z / 10))
    moved_mm = np.linalg.norm([x, y, z]) / 10
    assert abs(shared_mm(a, b, more) - shared_mm(a, b, there)) <= moved_mm + 2e-3


@given(REGIONS, AWAY_MM, AWAY_MM, AWAY_MM)
def test_depth_tells_inside_from_outside(
    region: RecordedRegion, x: float, y: float, z: float
) -> None:
    """A point is inside exactly when its depth is not below zero."""
    point = np.array([x, y, z])
    assert bool(inside(region, point)) == bool(depth_in(region, point) >= 0.0)
