"""Distances to what a turning box sweeps, against the box looked at in many places."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from strategies import points_mm

from trainer.geometry.swept import swept_distance
from trainer.models.device import MovingPart, Turn

PART = MovingPart("detector-housing", 120.0, 180.0, 50.0, -40.0, 90.0, 30.0)
WHOLE = Turn(0.0, 360.0)
SHORT = Turn(-20.0, 200.0)


def to_box(points: np.ndarray, turned_deg: float) -> np.ndarray:
    """Signed distance of points to the box in one place (n,), an exact one."""
    a = np.deg2rad(PART.angle_deg + turned_deg)
    outward, across = np.array([np.sin(a), np.cos(a)]), np.array([np.cos(a), -np.sin(a)])
    local = np.column_stack([points[:, :2] @ outward, points[:, :2] @ across, points[:, 2]])
    middle = np.array([150.0, 0.0, 25.0])
    off = np.abs(local - middle) - [30.0, 50.0, 65.0]
    return np.linalg.norm(np.maximum(off, 0.0), axis=1) + np.minimum(off.max(axis=1), 0.0)


def looked_at(points: np.ndarray, turn: Turn) -> np.ndarray:
    """The least distance to the box over places 0.5 deg apart."""
    places = np.arange(turn.from_deg, turn.from_deg + turn.sweep_deg + 0.25, 0.5)
    return np.min([to_box(points, p) for p in places], axis=0)


@given(points_mm(reach_mm=260.0))
def test_a_whole_turn_sweeps_what_the_box_passes(points: np.ndarray) -> None:
    """Outside, the distance is that to the box in its nearest place, within 0.3 mm."""
    found, expected = swept_distance(points, PART, WHOLE), looked_at(points, WHOLE)
    outside = expected > 0.5
    np.testing.assert_allclose(found[outside], expected[outside], rtol=0, atol=0.3)
    assert (found[expected < -0.5] < 0.0).all()


@given(points_mm(reach_mm=260.0))
def test_a_short_turn_is_never_told_too_far(points: np.ndarray) -> None:
    """With a short turn a distance is never more than the true one, and at most 7 mm less.

    7 mm is what the outer corners (187) reach beyond the middle of the far face (180).
    """
    found, expected = swept_distance(points, PART, SHORT), looked_at(points, SHORT)
    outside = expected > 7.0
    assert (found <= np.maximum(expected, 0.0) + 0.3).all()
    np.testing.assert_allclose(found[outside], expected[outside], rtol=0, atol=7.3)
    assert (found[expected < -0.5] < 0.0).all()


@pytest.mark.parametrize(
    ("point", "expected"),
    [
        ((0.0, 0.0, 0.0), 120.0),  # on the axis
        ((0.0, 150.0, -60.0), 20.0),  # below the ring
        ((100.0, 0.0, 0.0), 20.0),  # inside it
        ((0.0, 150.0, 0.0), -30.0),  # in it: 30 to the inner face, 36.8 to the outer, 40 down
        ((0.0, 117.0, -44.0), 5.0),  # 3 inwards and 4 below its lower inner edge
    ],
)
def test_known_distances(point: tuple[float, float, float], expected: float) -> None:
    """Distances that can be worked out by hand."""
    assert swept_distance(np.array([point]), PART, WHOLE)[0] == pytest.approx(expected, abs=1e-9)


def test_what_is_not_swept_counts_from_the_nearer_end() -> None:
    """With half a turn the other half is free: there only the box's ends count."""
    half = Turn(0.0, 180.0)
    part = MovingPart("tube", 120.0, 180.0, 50.0, -40.0, 90.0, 0.0)
    # turns from the back over the left to the front; on the right its side stands 50 mm out
    right = np.array([[-90.0, 150.0, 0.0], [-150.0, 0.0, 0.0]])
    found = swept_distance(right, part, half)
    assert found[0] == pytest.approx(40.0, abs=1e-9)
    assert found[1] == pytest.approx(np.hypot(100.0, 120.0), abs=1e-9)
    left = swept_distance(right * [-1.0, 1.0, 1.0], part, half)
    assert (left < 0.0).all()
