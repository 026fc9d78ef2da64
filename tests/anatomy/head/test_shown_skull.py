"""The skull for the screen: closed, without its inside, finest in the face."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.head.shown_skull import filled, outer, simplified_to_look_at
from trainer.anatomy.shapes.implicit import cut, sphere
from trainer.anatomy.shapes.meshing import Mesh, is_closed, simplified, surface, volume_mm3
from trainer.models.subject import MEAN_MAN

FACE_MM, BACK_MM = np.array([0.0, -60.0, -8.0]), np.array([0.0, 60.0, 40.0])


@pytest.fixture(scope="module")
def two_balls() -> Mesh:
    """Equal balls, one in the face and one at the back of the head."""
    balls = [surface(sphere(at, 25.0), 1.5) for at in (FACE_MM, BACK_MM)]
    shift = len(balls[0].vertices_mm)
    return Mesh(
        np.vstack([b.vertices_mm for b in balls]),
        np.vstack([balls[0].faces, balls[1].faces + shift]).astype(np.int32),
    )


def test_the_face_gets_the_triangles(two_balls: Mesh) -> None:
    """Of equal balls the one in the face keeps more than 1.3 times as many triangles."""
    small = simplified_to_look_at(two_balls, 2000, MEAN_MAN)
    assert is_closed(small)
    assert 1800 <= len(small.faces) <= 2010
    before = small.vertices_mm[small.faces].mean(axis=1)[:, 1] < 0.0
    assert before.sum() > 1.3 * (~before).sum()
    plain = simplified(two_balls, 2000)
    before = plain.vertices_mm[plain.faces].mean(axis=1)[:, 1] < 0.0
    assert before.sum() < 1.2 * (~before).sum()


def test_its_corners_stay_on_the_surface(two_balls: Mesh) -> None:
    """Though drawn smaller to be simplified, both balls come out at their place and size."""
    small = simplified_to_look_at(two_balls, 2000, MEAN_MAN)
    for at in (FACE_MM, BACK_MM):
        near = np.linalg.norm(small.vertices_mm - at, axis=1)
        near = near[near < 40.0]
        np.testing.assert_allclose(near, 25.0, atol=0.35)


def test_closed_cavities_are_left_out() -> None:
    """Of a hollow ball only the outer surface is left; it encloses the whole ball."""
    hollow = surface(cut(sphere((0, 0, 0), 20.0), sphere((3, 0, 0), 9.0)), 1.0)
    found = outer(hollow)
    assert is_closed(found)
    assert np.linalg.norm(found.vertices_mm, axis=1).min() > 19.5
    assert volume_mm3(found) == pytest.approx(4 / 3 * np.pi * 20.0**3, rel=0.01)


def test_the_braincase_is_filled_but_for_its_floor() -> None:
    """High in the filled ball there is bone, low in it still the hollow."""
    space = sphere((0, 0, 20.0), 40.0)
    solid = filled(cut(sphere((0, 0, 20.0), 45.0), space), space)
    inside = solid(np.array([[0, 0, 40.0], [0, 0, 15.0], [0, 0, -10.0]]))
    assert inside[0] < 0.0
    assert inside[1] < 0.0
    assert inside[2] > 0.0
