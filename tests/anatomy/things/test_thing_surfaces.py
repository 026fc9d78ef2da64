"""Meshes of rods, boxes and discs are closed and as large as they should be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.anatomy.shapes.meshing import is_closed, volume_mm3
from trainer.anatomy.things.thing import Ball, Block, Disc, Rod, surfaces_of
from trainer.anatomy.things.thing_surfaces import box_mesh, joined, rod_mesh


@given(st.integers(3, 12), st.integers(2, 9), st.integers(0, 10_000))
def test_open_rods_are_closed_surfaces(sides: int, corners: int, seed: int) -> None:
    """A rod through any forward-going corners is closed and encloses a positive volume."""
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.uniform(0.5, 2.0, (corners, 3)), axis=0)
    mesh = rod_mesh(points, rng.uniform(0.1, 0.4, corners), sides)
    assert is_closed(mesh)
    assert volume_mm3(mesh) > 0.0
    assert len(mesh.faces) == 2 * sides * (corners - 1) + 2 * sides


@given(st.integers(3, 10), st.integers(6, 60))
def test_rings_are_closed_surfaces(sides: int, corners: int) -> None:
    """A rod that runs back into itself is closed, whatever its number of corners."""
    angle = 2.0 * np.pi * np.arange(corners) / corners
    ring = 10.0 * np.column_stack([np.cos(angle), np.sin(angle), 0.1 * np.sin(2 * angle)])
    mesh = rod_mesh(ring, np.full(corners, 0.8), sides, closed=True)
    assert is_closed(mesh)
    assert len(mesh.faces) == 2 * sides * corners


def test_volume_of_a_straight_rod() -> None:
    """A rod with many sides has nearly the volume of its cylinder."""
    mesh = rod_mesh(np.array([[0, 0, 0], [0, 0, 10.0]]), np.full(2, 2.0), 64)
    assert volume_mm3(mesh) == pytest.approx(np.pi * 4.0 * 10.0, rel=0.005)


def test_volume_of_a_ring() -> None:
    """A ring has nearly the volume of its torus, 2 pi^2 R r^2 (Pappus)."""
    angle = 2.0 * np.pi * np.arange(90) / 90
    ring = 8.0 * np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle])
    mesh = Rod(ring, 0.75, closed=True).mesh(32)
    assert volume_mm3(mesh) == pytest.approx(2.0 * np.pi**2 * 8.0 * 0.75**2, rel=0.01)


def test_boxes() -> None:
    """A box mesh has the box's volume, turned or not, and joining adds volumes."""
    turn = np.array([[0.6, -0.8, 0.0], [0.8, 0.6, 0.0], [0.0, 0.0, 1.0]])
    meshes = [box_mesh([1, 2, 3], (1, 2, 3), r) for r in (np.eye(3), turn)]
    assert all(is_closed(m) for m in meshes)
    assert volume_mm3(joined(meshes)) == pytest.approx(2 * 48.0)
    block = Block(np.zeros(3), (1.0, 2.0, 3.0), turn)
    assert volume_mm3(block.mesh()) == pytest.approx(48.0)
    assert (np.abs(block.shape(block.mesh().vertices_mm)) < 1e-9).all()


@pytest.mark.parametrize("part", [Disc(np.zeros(3), np.array([1.0, 1, 0]), 3.0, 0.5),
                                  Ball(np.zeros(3), 2.0)])  # fmt: skip
def test_surface_of_a_part_lies_on_its_shape(part: Disc | Ball) -> None:
    """Corners of a part's mesh lie on or just within its solid."""
    mesh = surfaces_of([part], (8, 4), (1, 1))[0]
    assert is_closed(mesh)
    away = part.shape(mesh.vertices_mm)
    assert away.max() < 0.06
    assert away.min() > -0.55
