"""Bricks hold the volume they were made of."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume
from trainer.physics.bricks import BrickVolume, bricks_of


def volume(labels: np.ndarray, materials: int = 3) -> LabelVolume:
    """A label volume of voxels of 1 mm."""
    names = tuple(f"m{i}" for i in range(materials))
    return LabelVolume(Frame.SKULL, labels, np.zeros(3), 1.0, names)


def labels_of(bricks: BrickVolume) -> np.ndarray:
    """The label of every voxel, found in the bricks one by one."""
    found = np.empty(bricks.shape, np.uint8)
    for z, y, x in np.ndindex(*bricks.shape):
        entry = bricks.table[z // 8, y // 8, x // 8]
        inside = (z % 8) * 64 + (y % 8) * 8 + x % 8
        found[z, y, x] = -1 - entry if entry < 0 else bricks.bricks[entry, inside]
    return found


@given(
    hnp.arrays(
        np.uint8,
        st.tuples(*[st.integers(1, 19)] * 3),
        elements=st.integers(0, 2),
        fill=st.integers(0, 2),
    )
)
def test_bricks_hold_every_voxel(labels: np.ndarray) -> None:
    """Whatever the size of a volume, its bricks give back each voxel's label."""
    np.testing.assert_array_equal(labels_of(bricks_of(volume(labels))), labels)


def test_one_material_needs_no_brick() -> None:
    """A volume of one material is kept as numbers alone, also where bricks stand out of it."""
    assert bricks_of(volume(np.full((9, 17, 3), 2, np.uint8))).bricks.shape == (0, 512)


def test_only_mixed_bricks_are_kept() -> None:
    """One odd voxel among 27 bricks makes one brick mixed."""
    labels = np.ones((24, 24, 24), np.uint8)
    labels[10, 3, 20] = 2
    bricks = bricks_of(volume(labels))
    assert len(bricks.bricks) == 1
    assert np.argwhere(bricks.table >= 0).tolist() == [[1, 0, 2]]


def test_labels_without_material_are_refused() -> None:
    """A label beyond the list of materials is refused: no path could be told for it."""
    with pytest.raises(TrainerError, match="label 3 stands for nothing"):
        bricks_of(volume(np.full((2, 2, 2), 3, np.uint8)))


def test_an_empty_volume_is_refused() -> None:
    """A volume without voxels is refused."""
    with pytest.raises(TrainerError, match="three axes"):
        bricks_of(volume(np.zeros((0, 4, 4), np.uint8)))
