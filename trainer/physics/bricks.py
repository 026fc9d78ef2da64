"""A label volume in bricks of 8 × 8 × 8 voxels, in which rays skip what is all one material.

Most of a head's volume is air, brain or muscle: a brick that holds one material is kept as that
one number, and only mixed bricks keep their voxels, each in 512 bytes that lie together in memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume

EDGE = 8  # voxels along a brick's edge; the kernels count on it


@dataclass(frozen=True, slots=True)
class BrickVolume:
    """A label volume made ready for rays.

    ``table`` (bz, by, bx) int32 holds a brick's row in ``bricks``, or ``-1 - label`` where all its
    voxels are of one label. ``bricks`` (n, 512) uint8 holds voxels in the order z, y, x. The rest
    is as in `LabelVolume`; voxels that only fill up the last bricks lie outside of ``shape``.
    """

    frame: Frame
    table: NDArray[np.int32]
    bricks: NDArray[np.uint8]
    shape: tuple[int, int, int]
    origin_mm: NDArray[np.float64]
    spacing_mm: float
    materials: tuple[str, ...]


def bricks_of(volume: LabelVolume) -> BrickVolume:
    """The volume in bricks; done once for a volume through which many pictures are taken.

    Raises
    ------
    TrainerError
        If a label has no material, or the volume is empty.
    """
    labels = volume.labels
    if labels.ndim != 3 or labels.size == 0:
        raise TrainerError(f"a label volume needs three axes with voxels, got {labels.shape}")
    if int(labels.max()) >= len(volume.materials):
        raise TrainerError(
            f"label {int(labels.max())} stands for nothing: {len(volume.materials)} materials"
        )
    nz, ny, nx = labels.shape
    bz, by, bx = (-(-n // EDGE) for n in labels.shape)
    table = np.empty((bz, by, bx), np.int32)
    mixed_bricks: list[NDArray[np.uint8]] = []
    count = 0
    for layer in range(bz):
        slab = labels[layer * EDGE : (layer + 1) * EDGE]
        fill = (EDGE - len(slab), by * EDGE - ny, bx * EDGE - nx)
        if any(fill):  # repeats the last voxel, so that filling does not make a brick mixed
            slab = np.pad(slab, [(0, n) for n in fill], mode="edge")
        low, high = _extremes(slab.min(axis=0), np.minimum), _extremes(slab.max(axis=0), np.maximum)
        mixed = low != high
        new = int(mixed.sum())
        table[layer] = -1 - low.astype(np.int32)
        table[layer][mixed] = np.arange(count, count + new)
        count += new
        parts = slab.reshape(EDGE, by, EDGE, bx, EDGE).transpose(1, 3, 0, 2, 4)
        mixed_bricks.append(parts[mixed].reshape(new, EDGE**3))
    return BrickVolume(
        frame=volume.frame,
        table=table,
        bricks=np.concatenate(mixed_bricks),
        shape=(nz, ny, nx),
        origin_mm=np.asarray(volume.origin_mm, float),
        spacing_mm=float(volume.spacing_mm),
        materials=volume.materials,
    )


def _extremes(layer: NDArray[np.uint8], extreme: np.ufunc) -> NDArray[np.uint8]:
    """Lowest or highest value of each square of 8 × 8 in (ny, nx): (ny / 8, nx / 8)."""
    ny, nx = layer.shape
    rows = extreme.reduce(layer.reshape(ny // EDGE, EDGE, nx), axis=1)
    return np.asarray(extreme.reduce(rows.reshape(ny // EDGE, nx // EDGE, EDGE), axis=2))
