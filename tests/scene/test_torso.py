"""The torso in the 3-D view and the flat views."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.anatomy.soft.torso import torso_part
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import MEAN_MAN
from trainer.scene.flat_picture import Area, FlatHead, flat_picture
from trainer.scene.head_actors import HeadActors
from trainer.scene.outlines import Flat
from trainer.scene.palette import GROUND, SKIN, SKIN_SHADOW
from trainer.scene.snapshot import render_scene
from trainer.scene.vtk_frames import Look


@pytest.fixture(scope="module")
def bodied(meshes: HeadMeshes) -> HeadMeshes:
    """The stand-in head with a torso."""
    fine, coarse = torso_part(MEAN_MAN)
    return replace(meshes, fine=(*meshes.fine, fine), coarse=(*meshes.coarse, coarse))


def skin_areas(shapes) -> list[Area]:
    """The areas filled with the colour of skin."""
    return [s for s in shapes if isinstance(s, Area) and s.fill in (SKIN, SKIN_SHADOW)]


def test_the_torso_shows_with_the_skin_only(bodied, placed) -> None:
    """In the 3-D view the torso goes with the skin: both are there, or both make way for bone."""
    actors = HeadActors(bodied.fine, bodied.head.chin_contact_mm)
    _, steps = placed()
    assert actors.torso in list(actors.actors())
    for look_inside in (False, True):
        actors.show(steps, look_inside)
        assert bool(actors.torso.GetVisibility()) is not look_inside
    actors.hide()
    assert not actors.torso.GetVisibility()


def test_the_torso_stands_still_when_the_head_turns(bodied, placed) -> None:
    """Turning the head does not move the torso's actor; a step to the side does."""
    actors = HeadActors(bodied.fine, bodied.head.chin_contact_mm)

    def at(**values: float) -> np.ndarray:
        actors.show(placed(**values)[1], False)
        return np.array(actors.torso.GetUserMatrix().GetData())

    still = at()
    np.testing.assert_array_equal(at(yaw_deg=10.0, pitch_deg=-5.0), still)
    moved = at(sideways_mm=7.0)
    assert moved.reshape(4, 4)[0, 3] - still.reshape(4, 4)[0, 3] == pytest.approx(7.0)


def test_shoulders_are_drawn(meshes, bodied, unit, placed) -> None:
    """At the lower corners, where a head alone leaves the ground, there is skin with a torso."""
    placement, _ = placed(chin_height_mm=10.0)
    for shown, is_skin in ((meshes, False), (bodied, True)):
        image = render_scene(shown, unit, placement, False, Look.FRONT, (240, 240))
        for column in (6, 233):
            colour = image[236, column].astype(int)
            assert (np.abs(colour - GROUND).max() > 8) is np.bool_(is_skin)


@pytest.mark.parametrize("view", Flat)
@pytest.mark.parametrize("look_inside", [False, True])
def test_flat_views_draw_the_torso_behind_the_head(
    meshes, bodied, unit, placed, view, look_inside
) -> None:
    """The flat views draw one more area of skin, before the head's own."""
    placement, steps = placed()
    plain, more = (
        skin_areas(flat_picture(view, FlatHead(m), unit, placement, steps, look_inside).shapes)
        for m in (meshes, bodied)
    )
    assert len(more) == len(plain) + 1
    wide = np.ptp(np.concatenate(more[0].seen.loops)[:, 0])
    assert wide == pytest.approx(510.0 if view is Flat.FRONT else 223.0, abs=8.0)
    assert more[0].fill == more[1].fill


def test_the_torsos_outline_is_kept(bodied, placed) -> None:
    """The outline is made once: the torso never turns."""
    head = FlatHead(bodied)
    first = head.seen_torso(placed()[1], Flat.FRONT)
    assert head.seen_torso(placed(yaw_deg=9.0, sideways_mm=4.0)[1], Flat.FRONT) is first
