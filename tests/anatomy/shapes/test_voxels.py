"""Shapes as voxels: the quick way against asking every voxel."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.anatomy.shapes.implicit import Shape, capsule, cut, sphere, union
from trainer.anatomy.shapes.voxels import (
    LATTICE_MM,
    VoxelGrid,
    blocks,
    grid_of_half,
    paint,
)

GRID = VoxelGrid(np.array([0.25, -30.0, -20.0]), 0.5, (90, 121, 80))


def painted(shape: Shape, grid: VoxelGrid = GRID) -> np.ndarray:
    """Labels: 1 inside the shape."""
    labels = np.zeros(grid.count, np.uint8)
    paint(labels, grid, shape, lambda old, d: np.where(d < 0.0, np.uint8(1), old))
    return labels


def asked(shape: Shape, grid: VoxelGrid = GRID) -> np.ndarray:
    """The same with every voxel asked for."""
    points = grid.points_mm((slice(None), slice(None), slice(None)))
    return (shape(points) < 0.0).reshape(grid.count).astype(np.uint8)


middles = st.tuples(st.floats(5, 35), st.floats(-25, 25), st.floats(-15, 20))


@settings(max_examples=25)
@given(middles, middles, st.floats(0.3, 12.0))
def test_a_rod_of_any_thickness_keeps_every_voxel(a, b, radius):
    """Rods from 0.6 mm across, thinner than the lattice's step, are painted voxel for voxel."""
    rod = capsule(a, b, radius)
    np.testing.assert_array_equal(painted(rod), asked(rod))


@settings(max_examples=15)
@given(middles, st.floats(8.0, 20.0), st.floats(0.3, 1.0))
def test_a_thin_shell_keeps_every_voxel(middle, radius, wall):
    """A hollow ball with a wall thinner than the lattice's step has no holes and no flakes."""
    shell = cut(sphere(middle, radius), sphere(middle, radius - wall))
    np.testing.assert_array_equal(painted(shell), asked(shell))


def test_depth_is_right_below_a_bent_surface():
    """Within 3 mm of a ball's surface depths are right to what straight lines between can miss."""
    ball = sphere([20.0, 0.0, 2.0], 15.0)
    worst = 0.0
    for where, found in blocks(ball, GRID):
        true = ball(GRID.points_mm(where)).reshape(found.shape)
        near = np.abs(true) < 3.0
        if near.any():
            worst = max(worst, float(np.abs(found - true)[near].max()))
    # a straight line misses a curve by step^2 / (8 r); here in two directions, 3 mm inside
    bound = 2.0 * LATTICE_MM**2 / (8.0 * 12.0)
    assert 0.3 * bound < worst < bound < 0.06


def test_voxels_outside_the_grid_are_no_error():
    """A shape beside the grid paints nothing; one across its edge only what lies in it."""
    assert not painted(sphere([-50.0, 0.0, 0.0], 5.0)).any()
    edge = union(sphere([0.0, 0.0, -20.0], 6.0), sphere([40.0, 30.0, 24.0], 4.0))
    np.testing.assert_array_equal(painted(edge), asked(edge))


@given(st.floats(0.2, 4.0))
@settings(max_examples=20)
def test_a_half_grid_joins_its_mirror_image(spacing):
    """The first centres lie half a voxel from the midline and the grid covers the box."""
    low, high = np.array([-20.0, -31.0, -7.0]), np.array([20.0, 12.0, 9.0])
    grid = grid_of_half(low, high, spacing)
    x, y, z = (grid.axis_mm(axis) for axis in range(3))
    assert x[0] == spacing / 2.0
    assert x[-1] + spacing / 2.0 >= 20.0 - 1e-9
    assert y[0] <= -31.0 + 1e-9 and y[-1] >= 12.0 - 1e-9
    assert z[0] <= -7.0 + 1e-9 and z[-1] >= 9.0 - 1e-9
    np.testing.assert_allclose(y / spacing, np.round(y / spacing), atol=1e-9)
