"""A finer part of a phantom fits into its hole, and holds what the phantom held there."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.head.phantom import build_phantom
from trainer.anatomy.head.phantom_box import with_fine_part
from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.models.subject import Mouth, Person

COARSE_MM, PARTS = 2.0, 3
# Left and right differ: teeth on one side only are missing.
PERSON = Person(mouth=Mouth(missing=(35, 36)))
# Round the lower teeth, over the midline; not at whole voxels.
TEETH = (np.array([-33.3, -95.1, -58.7]), np.array([37.9, -40.2, -22.4]))
FAR_AWAY = (np.full(3, 400.0), np.full(3, 420.0))


@pytest.fixture(scope="module")
def coarse():
    """The head in voxels of 2 mm."""
    return build_phantom(PERSON, COARSE_MM)


@pytest.fixture(scope="module")
def parts(coarse):
    """The same with a fine part round the lower teeth, skull and lower jaw."""
    boxes = {Frame.SKULL: TEETH, Frame.MANDIBLE: TEETH}
    return with_fine_part(coarse, PERSON, boxes, PARTS)


@pytest.mark.parametrize("number", [0, 1], ids=["skull", "mandible"])
def test_the_fine_part_fills_its_hole(coarse, parts, number: int) -> None:
    """It spans whole coarse voxels round the box; these are empty, all others as before."""
    volume = (coarse.skull, coarse.mandible)[number]
    holed, fine = parts[number]
    assert fine.frame is volume.frame and fine.materials == volume.materials
    assert fine.spacing_mm == pytest.approx(COARSE_MM / PARTS)
    low = fine.origin_mm - fine.spacing_mm / 2.0
    high = low + np.array(fine.labels.shape[::-1]) * fine.spacing_mm
    corner = volume.origin_mm - COARSE_MM / 2.0
    ends = np.stack([low, high]) - corner
    np.testing.assert_allclose(ends / COARSE_MM, np.round(ends / COARSE_MM), atol=1e-6)
    last = corner + np.array(volume.labels.shape[::-1]) * COARSE_MM
    assert (low <= np.maximum(TEETH[0], corner) + 1e-9).all()
    assert (high >= np.minimum(TEETH[1], last) - 1e-9).all()
    first, end = np.round(ends / COARSE_MM).astype(int)
    hole = tuple(slice(a, b) for a, b in zip(first[::-1], end[::-1], strict=True))
    assert (holed.labels[hole] == 0).all()
    rest = np.ones(volume.labels.shape, bool)
    rest[hole] = False
    np.testing.assert_array_equal(holed.labels[rest], volume.labels[rest])
    # each coarse voxel's centre is that of the middle one of its 27 fine ones
    middle = fine.labels[1::PARTS, 1::PARTS, 1::PARTS]
    same = middle == volume.labels[hole]
    some = (middle > 0) | (volume.labels[hole] > 0)
    assert some.mean() > 0.03
    # dense layers of the processes are counted in voxels, so a few may differ
    assert same[some].mean() > 0.97


def test_both_sides_are_the_persons_own(coarse, parts) -> None:
    """Teeth 35 and 36 are missing on the left, their fellows on the right are there."""
    fine = parts[1][1]
    enamel = fine.labels == fine.materials.index("enamel")
    x = fine.origin_mm[0] + np.arange(fine.labels.shape[2]) * fine.spacing_mm
    left, right = enamel[:, :, x > 0.0].sum(), enamel[:, :, x < 0.0].sum()
    assert left < 0.8 * right


def test_a_part_beside_a_volume_leaves_it_whole(coarse) -> None:
    """Where the lower jaw does not reach, its volume comes back alone and unchanged."""
    skull, jaw = with_fine_part(coarse, PERSON, {Frame.SKULL: TEETH, Frame.MANDIBLE: FAR_AWAY}, 2)
    assert len(skull) == 2
    assert len(jaw) == 1 and jaw[0] is coarse.mandible


def test_voxels_that_are_not_cut_are_refused(coarse) -> None:
    """One fine voxel in a coarse one is no finer part."""
    with pytest.raises(TrainerError, match="at least 2"):
        with_fine_part(coarse, PERSON, {Frame.SKULL: TEETH, Frame.MANDIBLE: TEETH}, 1)
