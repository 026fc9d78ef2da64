"""What people carry is drawn with the head: over the skin, and with what lies below it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tests.scene.standin import part
from trainer.engine.placement import Chain, Placement
from trainer.models.frames import Frame
from trainer.models.meshes import HeadMeshes, Tissue
from trainer.scene.head_actors import CARRIED, COLOURS, HeadActors
from trainer.scene.palette import unit_rgb
from trainer.scene.vtk_frames import matrix4

STUD = part("lip-stud", Tissue.METAL, Frame.MANDIBLE, (0.0, -100.0, -64.0), (2.0, 2.0, 2.0))
BASE = part("denture-base-upper", Tissue.PLASTIC, Frame.SKULL, (0.0, -60.0, -35.0), (20, 20, 3))


@pytest.mark.parametrize("look_inside", [True, False])
def test_carried_things_are_always_drawn(
    meshes: HeadMeshes, placed: Callable[..., tuple[Placement, Chain]], look_inside: bool
) -> None:
    """Metal and plastic are visible with the skin on and off; bone and teeth only with it off."""
    actors = HeadActors((*meshes.fine, STUD, BASE), meshes.head.chin_contact_mm)
    _, steps = placed()
    actors.show(steps, look_inside)
    assert all(actor.GetVisibility() for actor, _ in actors.carried)
    assert len(actors.carried) == 2
    assert all(bool(actor.GetVisibility()) is look_inside for actor, _ in actors.inner)
    assert {actor for actor, _ in actors.carried} <= set(actors.actors())
    actors.hide()
    assert not any(actor.GetVisibility() for actor in actors.actors())


def test_carried_things_go_with_their_frame(
    meshes: HeadMeshes, placed: Callable[..., tuple[Placement, Chain]]
) -> None:
    """A stud in the lower lip is placed by the mandible's step, in the colour of metal."""
    actors = HeadActors((*meshes.fine, STUD), meshes.head.chin_contact_mm)
    _, steps = placed()
    actors.show(steps, look_inside=False)
    ((actor, frame),) = actors.carried
    assert frame is Frame.MANDIBLE
    found = np.array([[actor.GetMatrix().GetElement(i, j) for j in range(4)] for i in range(4)])
    np.testing.assert_allclose(found, matrix4(steps.mandible_to_gantry), atol=1e-9)
    assert actor.GetProperty().GetColor() == pytest.approx(unit_rgb(COLOURS[Tissue.METAL]))


def test_every_tissue_has_a_colour_of_its_own() -> None:
    """All tissues have a colour, no two the same, and what is carried is no tissue of the body."""
    assert set(COLOURS) == set(Tissue)
    assert len(set(COLOURS.values())) == len(COLOURS)
    assert not CARRIED & {Tissue.BONE, Tissue.TOOTH, Tissue.NERVE, Tissue.SKIN}
