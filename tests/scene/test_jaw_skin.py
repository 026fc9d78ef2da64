"""The skin follows the lower jaw."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.meshes import Tissue
from trainer.scene.jaw_skin import skin_points


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
