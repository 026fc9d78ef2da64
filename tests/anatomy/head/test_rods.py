"""A rod from its course, against the closed forms of a straight rod with round ends."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from trainer.anatomy.head.rods import rod_structure, rod_surface
from trainer.anatomy.head.structures import NamedSolid
from trainer.anatomy.shapes.implicit import sphere, tube
from trainer.models.frames import Frame, Side
from trainer.models.structures import StructureKind

RADIUS, LENGTH = 1.35, 40.0
VOLUME = np.pi * RADIUS**2 * (LENGTH + 4.0 / 3.0 * RADIUS)
STRAIGHT = np.column_stack([np.linspace(0, LENGTH, 30), np.full(30, 5.0), np.full(30, -40.0)])
TURN = np.linspace(0.0, 1.5, 40)
BENT = np.column_stack([25 * np.cos(TURN), 25 * np.sin(TURN), 4 * TURN])
WORDS = NamedSolid(
    "rod", "the rod", StructureKind.CANAL, Side.LEFT, Frame.MANDIBLE, sphere([0, 0, 0], 1.0)
)


def test_its_volume_is_that_of_a_rod_with_round_ends():
    """Cylinder and two half balls."""
    assert rod_structure(WORDS, STRAIGHT, RADIUS).volume_mm3 == pytest.approx(VOLUME)


@pytest.mark.parametrize("level", np.linspace(0.5, 39.5, 14))
def test_shares_across_the_rod(level):
    """The share beyond any place along the rod, cells cut softly, is right to 0.3 points."""
    rod = rod_structure(WORDS, STRAIGHT, RADIUS)
    beyond = np.clip(0.5 + (rod.samples_mm[:, 0] - level) / rod.cell_mm, 0, 1)
    expected = np.pi * RADIUS**2 * (LENGTH - level + 2.0 / 3.0 * RADIUS) / VOLUME
    assert rod.weights @ beyond == pytest.approx(expected, abs=0.003)


def test_shares_along_the_rod():
    """Half lies on either side of its middle plane; its weights balance there."""
    rod = rod_structure(WORDS, STRAIGHT, RADIUS)
    assert rod.weights.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(rod.weights @ rod.samples_mm, [LENGTH / 2, 5, -40], atol=1e-6)
    # second moment of a round section about its axis: r^2 / 4; a softly cut cell adds edge^2 / 12
    spread = rod.weights @ (rod.samples_mm[:, 1] - 5.0) ** 2 + rod.cell_mm**2 / 12.0
    assert spread == pytest.approx(RADIUS**2 / 4, rel=0.08)


@pytest.mark.parametrize("course", [STRAIGHT, BENT])
def test_its_hull_reaches_as_far_as_the_rod(course):
    """In any direction the hull loses less than 0.15 mm and never goes beyond."""
    rod = rod_structure(WORDS, course, RADIUS)
    ways = np.random.default_rng(2).normal(size=(400, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    true = (course @ ways.T).max(axis=0) + RADIUS
    lost = true - (rod.hull_mm @ ways.T).max(axis=0)
    assert lost.max() < 0.15
    assert lost.min() > -0.05  # corners of a polygon as large as the circle


@pytest.mark.parametrize("course", [STRAIGHT, BENT])
def test_its_surface_is_closed_and_encloses_the_rod(course):
    """Watertight, outwards, the rod's volume to 2 %, corners near the rod's surface."""
    mesh = rod_surface(course, RADIUS, 40, 12)
    found = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    length = np.linalg.norm(np.diff(course, axis=0), axis=1).sum()
    assert found.is_watertight
    assert found.volume == pytest.approx(
        np.pi * RADIUS**2 * (length + 4.0 / 3.0 * RADIUS), rel=0.02
    )
    # all but the two middles of the ends, which lie just below the surface
    assert np.abs(tube(course, RADIUS)(mesh.vertices_mm[:-2])).max() < 0.12
