"""Where the gantry frame meets VTK."""

from __future__ import annotations

import numpy as np
import pytest
import pyvista

from trainer.models.frames import Frame, RigidTransform
from trainer.scene.vtk_frames import (
    Look,
    camera_place,
    letter_places,
    matrix4,
    on_screen,
    read_camera,
    set_camera,
)

MIDDLE = np.array([0.0, 0.0, 40.0])


def test_matrix_moves_like_the_transform() -> None:
    """The matrix gives a point the place that the transform gives it."""
    turn = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    move = RigidTransform(Frame.SKULL, Frame.GANTRY, turn, np.array([1.0, 2.0, 3.0]))
    point = np.array([5.0, 6.0, 7.0])
    np.testing.assert_allclose((matrix4(move) @ [*point, 1.0])[:3], turn @ point + [1, 2, 3])


def test_only_the_gantry_frame_is_shown() -> None:
    """A transform that ends elsewhere is refused, and both frames are named."""
    with pytest.raises(ValueError, match="skull→room"):
        matrix4(RigidTransform(Frame.SKULL, Frame.ROOM, np.eye(3), np.zeros(3)))


@pytest.mark.parametrize("look", list(Look))
def test_own_projection_is_vtks(look) -> None:
    """Points land on the pixels where VTK itself puts them, from every side."""
    plotter = pyvista.Plotter(off_screen=True, window_size=[300, 200])
    set_camera(plotter.camera, camera_place(look, MIDDLE))
    points = np.array([[60.0, 10.0, 5.0], [-30.0, -50.0, 90.0], [0.0, 0.0, 40.0]])
    own = on_screen(read_camera(plotter.camera), points, 300, 200)
    for point, at in zip(points, own, strict=True):
        plotter.renderer.SetWorldPoint(*point, 1.0)
        plotter.renderer.WorldToDisplay()
        assert plotter.renderer.GetDisplayPoint()[:2] == pytest.approx(at, abs=1e-6)
    plotter.close()


@pytest.mark.parametrize(
    ("look", "left_of_picture"),
    [(Look.FRONT, "R"), (Look.BACK, "L"), (Look.RIGHT_FRONT, "R"), (Look.LEFT_FRONT, "R")],
)
def test_letters_stand_at_the_patients_sides(look, left_of_picture) -> None:
    """From the front R is on the left of the picture, from behind L is."""
    places = letter_places(camera_place(look, MIDDLE), 400, 300)
    r, l = places["R"], places["L"]  # noqa: E741
    assert r is not None
    assert l is not None
    assert (r[0] < l[0]) == (left_of_picture == "R")
    for at in (r, l):
        assert 0 < at[0] < 400
        assert 0 < at[1] < 300


@pytest.mark.parametrize(("look", "shown"), [(Look.RIGHT_SIDE, "R"), (Look.LEFT_SIDE, "L")])
def test_from_the_side_only_the_near_letter_is_shown(look, shown) -> None:
    """Looking along the left-right line, the letter is that of the side one looks at."""
    places = letter_places(camera_place(look, MIDDLE), 400, 300)
    assert [letter for letter, at in places.items() if at is not None] == [shown]
