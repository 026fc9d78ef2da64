"""Corners and normals of what is drawn."""

from __future__ import annotations

import numpy as np
import pyvista

from trainer.scene.surfaces import corner_normals, parted_at_edges


def _triangles(mesh: pyvista.PolyData) -> tuple[np.ndarray, np.ndarray]:
    clean = mesh.triangulate().clean()
    return clean.points.astype(float), clean.faces.reshape(-1, 4)[:, 1:].astype(np.int64)


def test_a_cube_has_three_corners_at_each() -> None:
    """A cube's eight corners come apart into three each, with the normals of its sides."""
    points, faces = _triangles(pyvista.Cube())
    source, parted = parted_at_edges(points, faces)
    assert len(points) == 8
    np.testing.assert_array_equal(np.sort(source), np.repeat(np.arange(8), 3))
    np.testing.assert_array_equal(source[parted], faces)
    normals = corner_normals(points[source], parted)
    np.testing.assert_allclose(np.sort(np.abs(normals), axis=1), [[0, 0, 1]] * 24, atol=1e-6)


def test_a_ball_stays_in_one() -> None:
    """A smooth surface keeps its corners."""
    points, faces = _triangles(pyvista.Icosphere(nsub=3))
    source, parted = parted_at_edges(points, faces)
    assert len(source) == len(points)
    np.testing.assert_array_equal(source[parted], faces)
