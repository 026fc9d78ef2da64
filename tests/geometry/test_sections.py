"""Curves where a plane meets a surface."""

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from trainer.geometry.sections import plane_section, section_length_mm

BALL = trimesh.creation.icosphere(subdivisions=4, radius=50.0)
FACES = BALL.faces.astype(np.int32)


@given(st.floats(-40, 40), st.floats(0, 3.1), st.floats(0, 3.1))
def test_section_of_a_ball_is_a_circle(offset, polar, turn):
    """A plane at distance d cuts a ball in a circle of length 2 pi sqrt(R^2 - d^2)."""
    normal = np.array([np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)])
    pieces = plane_section(BALL.vertices, FACES, normal, offset)
    expected = 2 * np.pi * np.sqrt(50.0**2 - offset**2)
    assert section_length_mm(pieces) == pytest.approx(expected, rel=5e-3)
    np.testing.assert_allclose(pieces @ normal, offset, atol=1e-9)


def test_section_against_trimesh():
    """The pieces add up to the length that trimesh finds for a lumpy solid."""
    # reference library: trimesh.intersections.mesh_plane
    box = trimesh.creation.box(extents=(40, 60, 80)).subdivide().subdivide()
    normal = np.array([0.3, 0.5, 0.8]) / np.linalg.norm([0.3, 0.5, 0.8])
    expected = trimesh.intersections.mesh_plane(box, normal, normal * 5.0)
    ours = plane_section(box.vertices, box.faces.astype(np.int32), normal, 5.0)
    length = np.linalg.norm(expected[:, 1] - expected[:, 0], axis=1).sum()
    assert section_length_mm(ours) == pytest.approx(length, rel=1e-9)


def test_a_plane_that_misses_gives_nothing():
    """A plane beside the surface gives no pieces."""
    assert plane_section(BALL.vertices, FACES, np.array([1.0, 0, 0]), 60.0).shape == (0, 2, 3)
