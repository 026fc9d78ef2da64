"""Sampled shapes: as near to the exact ones as their grid allows."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes._kernels import compiled_read, plain_read
from trainer.anatomy.shapes.fields import (
    LEAD_STEP_MM,
    STEP_MM,
    SampledField,
    lead_through,
    packed,
    sampled,
    unpacked,
)
from trainer.anatomy.shapes.implicit import both_sides, box, ellipsoid, sphere, union
from trainer.models.subject import MEAN_WOMAN, Person, Sex

EGG = ellipsoid([12.0, -20.0, 5.0], [6.0, 9.0, 14.0])


@pytest.fixture(scope="module")
def egg() -> SampledField:
    """An ellipsoid on the patient's left, sampled."""
    return sampled(EGG, 0.5)


def random_points(lower, upper, count: int) -> np.ndarray:
    """Points in a box."""
    return np.random.default_rng(5).uniform(lower, upper, (count, 3))


def test_a_ball_is_read_to_a_twentieth_of_a_millimetre():
    """Within 4 mm of a ball's surface its distance is read to 0.05 mm."""
    ball = sphere([30.0, 0.0, 0.0], 10.0)
    points = random_points([15, -15, -15], [45, 15, 15], 20000)
    exact = ball(points)
    near = np.abs(exact) < 4.0
    assert near.sum() > 5000
    off = np.abs(sampled(ball, 0.5).shape()(points) - exact)[near]
    assert off.max() < 0.05


def test_a_thin_sheet_keeps_its_thickness():
    """Both faces of a sheet 1 mm thick are found to 0.05 mm with 0.5 mm between grid points."""
    sheet = box([20.0, 0.13, 0.0], [8.0, 0.5, 8.0])
    read = sampled(sheet, 0.5).shape()
    for face in (-0.37, 0.63):
        points = random_points([14, face, -6], [26, face, 6], 500)
        assert np.abs(read(points)).max() < 0.05


def test_far_points_keep_their_side(egg):
    """Outside and deep inside the sign is right, whatever the distance."""
    points = random_points([-60, -90, -60], [80, 60, 70], 20000)
    exact = EGG(points * [1, 1, 1])
    read = egg.shape()(points * [1, 1, 1])
    left = points[:, 0] > 0
    sure = left & (np.abs(exact) > 0.5)
    np.testing.assert_array_equal(read[sure] < 0, exact[sure] < 0)


def test_a_mirrored_field_stands_for_both_sides(egg):
    """The right side reads as the left, and as the exact shape made for both sides."""
    points = random_points([2, -35, -15], [22, -5, 25], 4000)
    read = egg.shape()
    np.testing.assert_array_equal(read(points), read(points * [-1, 1, 1]))
    whole = both_sides(EGG)
    near = np.abs(whole(points)) < 3.0
    np.testing.assert_allclose(
        read(points * [-1, 1, 1])[near], whole(points * [-1, 1, 1])[near], atol=0.1
    )


def test_a_field_of_both_sides_keeps_them_apart():
    """Sampled without mirroring, a shape on one side leaves the other one empty."""
    read = sampled(union(EGG), 0.5, mirrored=False).shape()
    assert read(np.array([[12.0, -20.0, 5.0]]))[0] < 0 < read(np.array([[-12.0, -20.0, 5.0]]))[0]


def test_kernel_and_plain_twin_agree(egg):
    """The compiled kernel gives what whole arrays give, with and without a map, on both sides."""
    points = random_points([-30, -45, -25], [30, 5, 35], 3000)
    lead = lead_through(lambda p: p * 1.02 + [0.5, -0.3, 0.2], np.full(3, -50.0), np.full(3, 50.0))
    none = np.zeros((0, 0, 0, 3), np.float32)
    for mirrored in (True, False):
        for moves, start in ((none, np.zeros(3)), (lead.moves_mm, lead.origin_mm)):
            found = np.empty((2, len(points)))
            for kernel, out in zip((compiled_read(), plain_read), found, strict=True):
                kernel(
                    points, mirrored, moves, start, LEAD_STEP_MM, egg.values, egg.origin_mm,
                    egg.spacing_mm, STEP_MM, out,
                )  # fmt: skip
            np.testing.assert_allclose(found[0], found[1], atol=1e-9)


@pytest.mark.parametrize("person", [MEAN_WOMAN, Person(Sex.MALE, 6)])
def test_the_lattice_keeps_to_the_heads_map(person):
    """Straight lines on the lattice err from the map by at most 0.1 mm, 0.04 at 99 of 100."""
    warp = head_warp(person)
    low, high = np.array([-75.0, -105.0, -110.0]), np.array([75.0, 100.0, 130.0])
    lead = lead_through(warp.to_mean_man, low, high)
    # a field that holds its own coordinate, so that reading it shows where points were led
    points = random_points(low, high, 5000)
    at = (np.abs(points) * [1, 0, 0] + points * [0, 1, 1] - lead.origin_mm) / LEAD_STEP_MM
    below = at.astype(int)
    share = at - below
    moved = np.zeros_like(points)
    for corner in np.ndindex(2, 2, 2):
        weight = np.prod(np.where(corner, share, 1.0 - share), axis=1)
        moved += weight[:, None] * lead.moves_mm[tuple((below + corner).T)]
    folded = np.abs(points) * [1, 0, 0] + points * [0, 1, 1]
    off = np.linalg.norm(folded + moved - warp.to_mean_man(folded), axis=1)
    assert np.percentile(off, 99) < 0.04
    assert off.max() < 0.1


def test_packing_values_loses_nothing(egg):
    """Values come back from their changes, byte for byte, and the changes are mostly small."""
    changes = packed(egg.values)
    np.testing.assert_array_equal(unpacked(changes), egg.values)
    assert np.abs(changes.astype(int)).mean() < np.abs(egg.values.astype(int)).mean() / 20
