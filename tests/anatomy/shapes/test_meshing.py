"""Meshes from grids and fewer triangles: closed throughout."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
import trimesh

from trainer.anatomy.shapes.implicit import box, cut, ellipsoid, sphere, union
from trainer.anatomy.shapes.meshing import (
    Mesh,
    is_closed,
    pulled_apart,
    sample_grid,
    simplified,
    surface,
    volume_mm3,
)


def two_cubes() -> Mesh:
    """Two cubes that share one edge, and its two corners."""
    cubes = [trimesh.creation.box((1, 1, 1)) for _ in range(2)]
    cubes[1].apply_translation((1, 1, 0))
    both = trimesh.util.concatenate(cubes)
    both.merge_vertices()
    return Mesh(np.asarray(both.vertices), np.asarray(both.faces, np.int32))


def test_cubes_that_touch_in_an_edge_come_apart():
    """Two cubes with a common edge share 14 corners and become two closed ones of 8."""
    mesh = two_cubes()
    assert len(mesh.vertices_mm) == 14
    assert not is_closed(mesh)
    apart = pulled_apart(mesh)
    assert is_closed(apart)
    found = trimesh.Trimesh(apart.vertices_mm, apart.faces, process=False)
    assert [len(part.vertices) for part in found.split()] == [8, 8]
    assert volume_mm3(apart) == pytest.approx(2.0)


def test_a_sound_mesh_stays_as_it_is():
    """Pulling a ball apart changes neither its corners' places nor its triangles."""
    ball = surface(sphere([0, 0, 0], 5.0), 0.8)
    again = pulled_apart(ball)
    assert len(again.vertices_mm) == len(ball.vertices_mm)
    np.testing.assert_array_equal(again.vertices_mm[again.faces], ball.vertices_mm[ball.faces])


def test_thin_walls_stay_closed_when_simplified():
    """A hollow block with walls thinner than the triangles keeps every edge on two triangles."""
    walls = cut(box([0, 0, 0], [20, 20, 20]), box([0, 0, 0], [19.3, 19.3, 25]))
    many = cut(walls, *(ellipsoid([x, 0, 0], [1.5, 30, 1.5]) for x in range(-16, 17, 4)))
    mesh = surface(many, 0.7)
    for count in (6000, 2500, 900):
        fewer = simplified(mesh, count)
        assert is_closed(fewer)
        assert len(fewer.faces) <= 1.1 * count
        found = trimesh.Trimesh(fewer.vertices_mm, fewer.faces, process=False)
        assert found.is_watertight and found.volume > 0


def test_a_grid_is_exact_as_far_as_asked():
    """Asked for 6 mm, values within 6 mm of two balls are theirs everywhere."""
    balls = union(sphere([0, 0, 0], 4.0), sphere([30, 0, 0], 4.0))
    grid = sample_grid(balls, 0.8, pad_mm=7.0, exact_to_mm=6.0)
    z, y, x = np.indices(grid.values_mm.shape).reshape(3, -1)
    points = grid.origin_mm + grid.spacing_mm * np.stack([x, y, z], axis=1)
    true = np.minimum(
        np.linalg.norm(points, axis=1), np.linalg.norm(points - [30, 0, 0], axis=1)
    ) - 4.0  # fmt: skip
    near = np.abs(true) < 6.0
    np.testing.assert_allclose(grid.values_mm.ravel()[near], true[near], atol=1e-4)


def test_surfaces_thinned_at_the_same_time_are_not_mixed_up() -> None:
    """Two threads that thin surfaces at once get what each would get alone."""
    ball, brick = surface(sphere([0, 0, 0], 12.0), 0.6), surface(box([0, 0, 0], [9, 6, 7]), 0.5)
    alone = [simplified(ball, 900), simplified(brick, 700)]
    with ThreadPoolExecutor(2) as threads:
        for _ in range(4):
            found = list(threads.map(simplified, (ball, brick), (900, 700)))
            for one, other in zip(alone, found, strict=True):
                np.testing.assert_array_equal(one.faces, other.faces)
                np.testing.assert_array_equal(one.vertices_mm, other.vertices_mm)
