"""Outlines of surfaces seen flat."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.scene.standin import ball
from trainer.geometry.transforms import attitude_rotation
from trainer.scene.outlines import (
    Flat,
    Outline,
    closed_loops,
    facing_triangles,
    outlines,
    surface,
)

ANGLE = st.floats(-0.4, 0.4)


def covered_area_mm2(seen: Outline) -> float:
    """Sum of the loops' signed areas: the covered area, layers over each other counted each."""
    total = 0.0
    for loop in seen.loops:
        x, y = loop[:, 0], loop[:, 1]
        total += float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0
    return total


@pytest.mark.parametrize("view", list(Flat))
def test_a_ball_covers_a_disc(view) -> None:
    """A ball of 20 mm covers pi times 20 squared in both views, within its flat sides."""
    shape = surface([ball(np.zeros(3), np.full(3, 20.0), 64)])
    (seen,) = outlines(shape, np.eye(3), view)
    assert covered_area_mm2(seen) == pytest.approx(np.pi * 400.0, rel=0.01)


@given(pitch=ANGLE, yaw=ANGLE, roll=ANGLE, view=st.sampled_from(list(Flat)))
def test_loops_cover_what_the_triangles_cover(pitch, yaw, roll, view) -> None:
    """The loops' signed area is the facing triangles' area, however the surface is turned."""
    shape = surface([ball(np.array([5.0, -3.0, 2.0]), np.array([30.0, 12.0, 7.0]), 20)])
    rotation = attitude_rotation(pitch, yaw, roll)
    (seen,) = outlines(shape, rotation, view)
    (tri,) = facing_triangles(shape, rotation, view)
    one, two = tri[:, 1] - tri[:, 0], tri[:, 2] - tri[:, 0]
    area = 0.5 * np.sum(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    assert covered_area_mm2(seen) == pytest.approx(area, abs=1e-6)


@pytest.mark.parametrize(
    ("view", "centre", "across"),
    [
        (Flat.FRONT, (40.0, 0.0, 0.0), 40.0),
        (Flat.FRONT, (-40.0, 0.0, 0.0), -40.0),
        (Flat.SIDE, (0.0, -40.0, 0.0), 40.0),
        (Flat.SIDE, (0.0, 40.0, 0.0), -40.0),
    ],
    ids=["left is on the right", "right is on the left", "front is on the right", "back, left"],
)
def test_sides_of_the_picture(view, centre, across) -> None:
    """From the front the patient's left is on the right; from the right side the front is."""
    (seen,) = outlines(surface([ball(np.array(centre), np.full(3, 5.0))]), np.eye(3), view)
    points = np.concatenate(seen.loops)
    assert (points.min(axis=0) + points.max(axis=0))[0] / 2 == pytest.approx(across, abs=0.2)


def test_parts_keep_their_own_outlines() -> None:
    """Several parts in one surface give one outline each, in their order."""
    parts = [ball(np.array([x, 0.0, 0.0]), np.full(3, 3.0 + x / 50)) for x in (0.0, 50.0, 100.0)]
    seen = outlines(surface(parts), np.eye(3), Flat.FRONT)
    centres = [np.concatenate(o.loops)[:, 0].mean() for o in seen]
    assert centres == pytest.approx([0.0, 50.0, 100.0], abs=0.3)


def test_near_lines_lie_on_the_nearer_half() -> None:
    """Of two balls one behind the other, only the nearer one's outline is near."""
    front, back = np.array([0.0, -50.0, 0.0]), np.array([0.0, 50.0, 30.0])
    shape = surface([ball(front, np.full(3, 5.0)), ball(back, np.full(3, 5.0))])
    near, far = outlines(shape, np.eye(3), Flat.FRONT)
    assert len(near.near_lines) > 0
    assert len(far.near_lines) == 0


def test_loops_through_one_corner_are_both_closed() -> None:
    """Two triangles that share a corner give loops that use every edge once and close."""
    start, end = np.array([0, 1, 2, 0, 3, 4]), np.array([1, 2, 0, 3, 4, 0])
    loops = closed_loops(start, end)
    assert sorted(np.concatenate(loops).tolist()) == list(range(6))
    for loop in loops:
        np.testing.assert_array_equal(end[loop], start[np.roll(loop, -1)])


@given(st.lists(st.integers(1, 9), min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_rings_of_any_size_are_found(sizes, random) -> None:
    """Shuffled edges of separate rings come back as those rings, in walking order."""
    edges = []
    first = 0
    for size in sizes:
        edges += [(first + i, first + (i + 1) % size) for i in range(size)]
        first += size
    random.shuffle(edges)
    start, end = (np.array(c) for c in zip(*edges, strict=True))
    loops = closed_loops(start, end)
    assert sorted(len(loop) for loop in loops) == sorted(sizes)
    for loop in loops:
        np.testing.assert_array_equal(end[loop], start[np.roll(loop, -1)])


def test_no_edges_no_loops() -> None:
    """Nothing to walk gives no loops."""
    assert closed_loops(np.array([], np.int64), np.array([], np.int64)) == []
