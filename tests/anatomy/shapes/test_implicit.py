"""Solids by signed distance: exact where promised, and short cuts that change nothing."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.shapes.implicit import box, capsule, cut, ellipsoid, sphere, tube, union

RNG_SEED = 5


def blocks(count: int) -> list[np.ndarray]:
    """Compact clouds of points [mm], as a grid asks for them."""
    rng = np.random.default_rng(RNG_SEED)
    return [rng.normal(size=3) * 30 + rng.uniform(-8, 8, (300, 3)) for _ in range(count)]


def test_long_tube_is_the_union_of_its_links() -> None:
    """Leaving out far links of a tube changes no distance."""
    rng = np.random.default_rng(RNG_SEED)
    corners, radii = rng.normal(size=(9, 3)) * 20, rng.uniform(1, 5, 9)
    whole = tube(corners, radii)
    links = [
        capsule(a, b, float(ra), float(rb))
        for a, b, ra, rb in zip(corners[:-1], corners[1:], radii[:-1], radii[1:], strict=True)
    ]
    for points in blocks(12):
        each = np.min([link(points) for link in links], axis=0)
        np.testing.assert_allclose(whole(points), each, atol=1e-9)  # mm


def test_round_ellipsoid_is_a_sphere() -> None:
    """An ellipsoid with three equal half axes has a sphere's exact distances."""
    for points in blocks(3):
        same = ellipsoid((3, -2, 5), (7, 7, 7))(points)
        np.testing.assert_allclose(same, sphere((3, -2, 5), 7)(points), atol=1e-9)


@pytest.mark.parametrize("power", [2.0, 2.6, 4.0])
def test_superellipsoid_surface(power: float) -> None:
    """Points that satisfy the superellipsoid's equation have distance 0."""
    u = np.random.default_rng(RNG_SEED).uniform(0.05, 1, (200, 3))
    u /= np.sum(u**power, axis=1)[:, None] ** (1 / power)
    solid = ellipsoid((0, 0, 0), (9, 5, 3), power=power)
    np.testing.assert_allclose(solid(u * [9, 5, 3]), 0.0, atol=1e-9)


def test_box_distance() -> None:
    """A box's distance is exact beside a face, an edge and a corner, and inside."""
    solid = box((0, 0, 0), (3, 4, 5))
    points = [(5, 0, 0), (6, 8, 0), (5, 6, 6), (0, 0, 4.5)]
    np.testing.assert_allclose(solid(points), [2, 5, 3, -0.5], atol=1e-9)


def test_blend_adds_and_cut_takes_away() -> None:
    """A blended union never loses a point of its parts; a cut never keeps a point of its tool."""
    a, b = sphere((0, 0, 0), 8), ellipsoid((9, 0, 0), (6, 4, 3))
    for points in [np.random.default_rng(RNG_SEED).uniform(-14, 18, (4000, 3))]:
        inside = (a(points) < 0) | (b(points) < 0)
        assert np.all(union(a, b, blend_mm=3)(points)[inside] < 0)
        assert np.all(cut(a, b, blend_mm=1)(points)[b(points) <= 0] >= 0)
