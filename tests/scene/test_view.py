"""The 3-D view."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
import pyvista

from tests.scene.standin import marker_pixels, standin_case, with_marker
from trainer.engine.placement import place
from trainer.engine.points import pack
from trainer.models.frames import Frame
from trainer.models.scenario import Requirement
from trainer.scene.palette import FIELD, GROUND, MISSED
from trainer.scene.view import TrainerScene, look_at_target
from trainer.scene.vtk_frames import Look

SIZE = (320, 240)


@pytest.fixture
def plotter() -> Iterator[pyvista.Plotter]:
    """A plotter off screen, without multisampling."""
    made = pyvista.Plotter(off_screen=True, window_size=list(SIZE), lighting="none")
    made.disable_anti_aliasing()
    yield made
    made.close()


def picture(plotter) -> np.ndarray:
    """What the plotter shows: (h, w, 3) int."""
    plotter.render()
    return plotter.screenshot(return_img=True)[:, :, :3].astype(int)


def test_look_inside_changes_what_is_visible(plotter, meshes, unit, placed) -> None:
    """Looking inside shows bone, field and marks and hides the skin; without it the reverse."""
    scene = TrainerScene(plotter, meshes, unit)
    for inside in (True, False):
        scene.show(*placed(), look_inside=inside)
        hidden_parts = [a for a, _ in scene.fine.inner] + scene.field.actors()
        hidden_parts += list(scene.marks.actors())
        assert {bool(a.GetVisibility()) for a in hidden_parts} <= {inside} | (
            {False} if inside else set()
        )
        assert any(a.GetVisibility() for a in hidden_parts) == inside
        assert bool(scene.fine.skin.actor.GetVisibility()) != inside
        assert scene.support.GetVisibility()
        assert scene.lights.GetVisibility()
        assert scene.scale.GetVisibility()
    scene.close()


def test_coarse_while_moving_and_fine_at_rest(plotter, meshes, unit, placed) -> None:
    """Only one level of detail is visible at a time."""
    scene = TrainerScene(plotter, meshes, unit)
    for moving in (True, False):
        scene.show(*placed(), look_inside=True, moving=moving)
        assert any(a.GetVisibility() for a in scene.coarse.actors()) == moving
        assert any(a.GetVisibility() for a in scene.fine.actors()) == (not moving)
    scene.close()


@pytest.mark.parametrize("moving", [True, False])
@pytest.mark.parametrize(
    ("look", "at_mm", "in_right_half"),
    [
        (Look.FRONT, (78.0, -60.0, -20.0), True),
        (Look.BACK, (78.0, -60.0, -20.0), False),
        (Look.RIGHT_SIDE, (0.0, -145.0, -20.0), True),
        (Look.LEFT_SIDE, (0.0, -145.0, -20.0), False),
    ],
)
def test_marker_is_found_where_it_belongs(
    plotter, meshes, unit, placed, look, at_mm, in_right_half, moving
) -> None:
    """A ball at the patient's left is right from the front and left from behind; one in front
    of the face is right from the right side and left from the left side."""
    scene = TrainerScene(plotter, with_marker(meshes, at_mm), unit)
    scene.show(*placed(), look_inside=True, moving=moving)
    scene.look_from(look)
    columns = marker_pixels(picture(plotter))[:, 1]
    assert len(columns) > 30
    assert bool(np.median(columns) > SIZE[0] / 2) is in_right_half
    scene.close()


def test_letters_follow_the_camera(plotter, meshes, unit, placed) -> None:
    """In the drawn picture R is left of L from the front, right of it from behind."""
    scene = TrainerScene(plotter, meshes, unit)
    scene.show(*placed(), look_inside=False)
    for look, sign in ((Look.FRONT, 1), (Look.BACK, -1)):
        scene.look_from(look)
        picture(plotter)
        r, l = (scene.letters[k].GetPosition()[0] for k in "RL")  # noqa: E741
        assert np.sign(l - r) == sign
        assert all(t.GetVisibility() for t in scene.letters.values())
    scene.look_from(Look.LEFT_SIDE)
    picture(plotter)
    assert scene.letters["L"].GetVisibility()
    assert not scene.letters["R"].GetVisibility()
    scene.close()


def test_missed_is_drawn_over_everything(plotter, meshes, unit, placed) -> None:
    """The colour of what is cut off is seen from the front though bone lies before it."""
    scene = TrainerScene(plotter, meshes, unit)
    scene.show(*placed(), look_inside=True)
    scene.look_from(Look.FRONT)
    scene.names[0].SetVisibility(False)  # its letters have the same colour
    image = picture(plotter)
    red = (image[..., 0] > 90) & (image[..., 1] < 0.5 * image[..., 0])
    red &= image[..., 2] < 0.4 * image[..., 0]
    assert red.sum() > 40
    # tooth 48 is at the patient's right: left on this picture
    assert np.median(np.argwhere(red)[:, 1]) < SIZE[0] / 2
    scene.show(*placed(chin_height_mm=-24.0), look_inside=True)
    image = picture(plotter)
    red = (image[..., 0] > 90) & (image[..., 1] < 0.5 * image[..., 0])
    assert (red & (image[..., 2] < 0.4 * image[..., 0])).sum() == 0
    scene.close()


def test_missed_marks_are_banded(plotter, meshes, unit, placed) -> None:
    """A missed structure has white bands beside its colour, one that holds has none."""
    scene = TrainerScene(plotter, meshes, unit)
    for height, banded in ((-36.0, True), (-24.0, False)):
        scene.show(*placed(chin_height_mm=height), look_inside=True)
        data = scene.marks.marks[Frame.MANDIBLE].GetMapper().GetInput()
        colours = {tuple(c) for c in np.asarray(data.cell_data["rgb"])}
        assert ((255, 255, 255) in colours) == banded
        assert (MISSED in colours) == banded
    scene.close()


def test_the_worst_is_named(plotter, meshes, unit, placed) -> None:
    """The name of what misses most stands on the picture, and goes when all is inside."""
    scene = TrainerScene(plotter, meshes, unit)
    scene.show(*placed(), look_inside=True)
    assert [t.GetInput() for t in scene.names if t.GetVisibility()] == ["× tooth 48"]
    scene.show(*placed(chin_height_mm=-24.0), look_inside=True)
    assert not any(t.GetVisibility() for t in scene.names)
    scene.close()


def test_the_field_is_one_translucent_surface(plotter, meshes, unit, placed) -> None:
    """No other actor is translucent: software renderers pay for every layer."""
    scene = TrainerScene(plotter, meshes, unit)
    scene.show(*placed(), look_inside=True)
    shown = [a for a in plotter.renderer.GetActors() if a.GetVisibility()]
    assert [a for a in shown if a.GetProperty().GetOpacity() < 1.0] == [scene.field.solid]
    assert scene.field.solid.GetProperty().GetColor() == pytest.approx(np.array(FIELD) / 255)
    scene.close()


def test_turning_keeps_the_head_upright(plotter, meshes, unit) -> None:
    """However far the camera is turned, up stays up and the poles are not reached."""
    scene = TrainerScene(plotter, meshes, unit)
    for _ in range(30):
        scene.turn(25.0, 20.0)
    ahead = np.array(plotter.camera.GetDirectionOfProjection())
    assert plotter.camera.GetViewUp() == (0.0, 0.0, 1.0)
    assert -np.sin(np.deg2rad(81)) < ahead[2] < 0.0
    scene.close()


@pytest.mark.parametrize(
    ("required", "look"),
    [
        (("tooth-48", "canal-right", "tooth-36"), Look.RIGHT_FRONT),
        (("tooth-36", "canal-left", "tooth-48"), Look.LEFT_FRONT),
    ],
)
def test_a_target_is_looked_at_from_its_side(meshes, unit, required, look) -> None:
    """With more on the patient's left the view starts from the left front, else the right."""
    case = replace(standin_case(), required=tuple(Requirement(k, 0.0) for k in required))
    points = pack(meshes.head.structure(k) for k in required)
    assert look_at_target(place(case, meshes.head, points, unit, case.start)) is look


def test_a_closed_scene_leaves_nothing(plotter, meshes, unit, placed) -> None:
    """After closing only the background is left, so that another head can be shown."""
    scene = TrainerScene(plotter, meshes, unit)
    scene.show(*placed(), look_inside=True)
    scene.close()
    image = picture(plotter)
    assert np.all(image == np.array(GROUND))
