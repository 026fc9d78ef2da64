"""The skin follows the lower jaw, and low on the neck the torso."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trainer.anatomy.soft.torso import NeckBend
from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.meshes import Tissue
from trainer.scene.jaw_skin import bend_of, skin_and_torso, skin_points


def test_corners_go_their_share(meshes, placed) -> None:
    """A corner with share 0 stays with the skull, one with share 1 goes with the jaw, and one
    with a half goes half the way."""
    skin = next(p for p in meshes.fine if p.tissue is Tissue.SKIN)
    _, steps = placed(jaw_gap_mm=12.0, yaw_deg=7.0)
    rest = skin.vertices_mm.astype(float)
    with_jaw = apply(chain(steps.mandible_to_gantry, inverse(steps.skull_to_gantry)), rest)
    assert np.abs(with_jaw - rest).max() > 5.0
    for share in (0.0, 0.5, 1.0):
        part = replace(skin, jaw_share=np.full(len(rest), share, np.float32))
        goal = rest + share * (with_jaw - rest)
        np.testing.assert_allclose(skin_points(part, steps), goal, atol=1e-9)


def test_a_part_without_shares_stays(meshes, placed) -> None:
    """A skin that has no shares does not follow the jaw."""
    skin = replace(next(p for p in meshes.fine if p.tissue is Tissue.SKIN), jaw_share=None)
    _, steps = placed(jaw_gap_mm=12.0)
    np.testing.assert_array_equal(skin_points(skin, steps), skin.vertices_mm)


def test_the_cut_stays_with_the_torso(meshes, placed) -> None:
    """Skin at the neck's cut stands where the torso is, whatever the head's attitude.

    So a cut that the torso hides at rest stays hidden.
    """
    skin, _ = skin_and_torso(meshes.fine)
    bend = NeckBend(-40.0, -80.0)
    low = skin.vertices_mm[:, 2] <= bend.low_mm
    high = skin.vertices_mm[:, 2] >= 0.0
    rest = skin.vertices_mm.astype(float)
    for pitch, yaw, roll in ((15, 15, 15), (-15, 15, -15), (-15, -15, 15), (15, 0, 0)):
        _, steps = placed(pitch_deg=pitch, yaw_deg=yaw, roll_deg=roll, jaw_gap_mm=6.0)
        at = apply(steps.skull_to_gantry, skin_points(skin, steps, bend))
        expected = apply(steps.torso_to_gantry, rest[low])
        np.testing.assert_allclose(at[low], expected, rtol=0, atol=1e-9)
        straight = apply(steps.skull_to_gantry, skin_points(skin, steps))
        np.testing.assert_array_equal(at[high], straight[high])


def test_a_head_without_torso_keeps_its_neck_straight(meshes) -> None:
    """Where there is no torso to stand on, nothing bends."""
    assert skin_and_torso(meshes.fine)[1] is None
    assert bend_of(meshes.fine, meshes.head.chin_contact_mm) is None
