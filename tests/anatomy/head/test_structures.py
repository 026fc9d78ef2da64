"""Samples that fill a solid evenly, hull corners, and names."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.head.structures import (
    NamedSolid,
    hull_corners,
    in_cells,
    mirror_name,
    structure_of,
)
from trainer.anatomy.shapes.implicit import ellipsoid
from trainer.anatomy.shapes.meshing import surface
from trainer.models.frames import Frame, Side
from trainer.models.structures import StructureKind

EGG = ellipsoid([5.0, -60.0, -40.0], [6.0, 9.0, 14.0])


@pytest.fixture(scope="module")
def egg():
    """A plain solid made into a structure."""
    solid = NamedSolid("egg", "the egg", StructureKind.BONE, Side.MIDLINE, Frame.SKULL, EGG)
    return structure_of(solid)


def test_cells_share_out_an_ellipsoid_as_its_closed_form(egg):
    """The share above any level, cells cut softly, is the ellipsoid cap's to 0.3 points."""
    structure, _ = egg
    for level in np.linspace(-0.9, 0.9, 19):  # in half heights
        # share of an ellipsoid above a plane at t half heights: (2 - 3t + t^3) / 4
        expected = (2 - 3 * level + level**3) / 4
        above = structure.samples_mm[:, 2] - (-40.0 + 14.0 * level)
        held = np.clip(0.5 + above / structure.cell_mm, 0, 1)
        assert structure.weights @ held == pytest.approx(expected, abs=0.003)


def test_cells_balance_in_the_middle_and_repeat(egg):
    """Cells balance at the solid's centre, and sharing out again gives the same ones."""
    structure, mesh = egg
    np.testing.assert_allclose(structure.weights @ structure.samples_mm, [5, -60, -40], atol=0.05)
    again = in_cells(EGG, mesh)
    np.testing.assert_array_equal(again[0], structure.samples_mm)
    np.testing.assert_array_equal(again[1], structure.weights)


def test_volume_is_the_closed_form(egg):
    """The volume of an ellipsoid is 4/3 pi a b c, to 1 %."""
    assert egg[0].volume_mm3 == pytest.approx(4 / 3 * np.pi * 6 * 9 * 14, rel=0.01)


def test_hull_corners_reach_as_far_as_the_surface(egg):
    """In any direction the kept corners lose less than 0.1 mm of the surface."""
    _, mesh = egg
    kept = hull_corners(mesh.vertices_mm)
    ways = np.random.default_rng(3).normal(size=(500, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    lost = (mesh.vertices_mm @ ways.T).max(axis=0) - (kept @ ways.T).max(axis=0)
    assert (lost >= 0).all()
    assert lost.max() < 0.1
    assert len(kept) < len(surface(EGG, 0.6).vertices_mm)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("tooth-38-apex-mesial", "tooth-48-apex-mesial"),
        ("tooth-21", "tooth-11"),
        ("canal-left", "canal-right"),
        ("canal-at-36", "canal-at-46"),
        ("the tip of the front root of 26", "the tip of the front root of 16"),
        ("the left sinus floor", "the right sinus floor"),
    ],
)
def test_names_are_mirrored(left, right):
    """Sides and quadrants swap (ISO 3950: 2x and 1x, 3x and 4x face each other)."""
    assert mirror_name(left) == right
