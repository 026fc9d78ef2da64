"""A part of a phantom made anew in finer voxels, and the hole that it fills in the coarse one."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.phantom import mandible_labels, skull_labels
from trainer.anatomy.head.reference import Reference, reference
from trainer.anatomy.head.solids import Solids, is_symmetric
from trainer.anatomy.shapes.voxels import Labels, Rule, VoxelGrid, paint
from trainer.anatomy.things.things import things_of
from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume, Phantom
from trainer.models.subject import Person

Array = NDArray[np.float64]
Box = tuple[Array, Array]
Volumes = tuple[LabelVolume, ...]

# Made round the part and thrown away: depths below a surface are right inside.
MARGIN_MM = 3.0


def with_fine_part(
    coarse: Phantom,
    person: Person,
    boxes: dict[Frame, Box],
    parts: int,
    tell: Callable[[str], None] = lambda _: None,
    book: Reference | None = None,
) -> tuple[Volumes, Volumes]:
    """The phantom's skull and lower jaw, each with a hole and what fills it in finer voxels.

    Parameters
    ----------
    coarse : Phantom
        Of the person, as `build_phantom` makes it.
    person : Person
        Whose it is.
    boxes : dict of Frame to (lower, upper)
        What is wanted finer, in the frame of each volume [mm]; widened to whole coarse voxels.
    parts : int
        How many fine voxels there are along the edge of a coarse one.
    tell : callable
        Called with the name of each part before it is made, from two threads.
    book : Reference or None
        The shipped reference, if not given.

    Returns
    -------
    Two tuples of volumes that fill different places. A volume whose box lies beside it stays whole
    and alone.

    Raises
    ------
    TrainerError
        If voxels are not cut.
    """
    if parts < 2:
        raise TrainerError(f"a fine part needs at least 2 voxels in one, got {parts}")
    book = book or reference()

    def refined(volume: LabelVolume) -> Volumes:
        # solids of their own: they keep what they have worked out
        return _refined(volume, boxes[volume.frame], Solids(person, book), parts, tell)

    with ThreadPoolExecutor(max_workers=2) as both:
        skull, jaw = both.map(refined, (coarse.skull, coarse.mandible))
    return skull, jaw


def _refined(
    volume: LabelVolume, box: Box, solids: Solids, parts: int, tell: Callable[[str], None]
) -> Volumes:
    """One volume with its hole, and the fine part in it."""
    edge = volume.spacing_mm
    corner = volume.origin_mm - edge / 2.0
    count = np.array(volume.labels.shape[::-1])
    low = np.clip(np.floor((box[0] - corner) / edge + 1e-9).astype(int), 0, count)
    high = np.clip(np.ceil((box[1] - corner) / edge - 1e-9).astype(int), 0, count)
    if (low >= high).any():
        return (volume,)
    x, y, z = (slice(a, b) for a, b in zip(low.tolist(), high.tolist(), strict=True))
    holed = volume.labels.copy()
    holed[z, y, x] = 0
    fine = edge / parts
    grid = VoxelGrid(corner + low * edge + fine / 2.0, fine, tuple((high - low)[::-1] * parts))
    labels = _fine_labels(volume, grid, solids, tell)
    return (
        replace(volume, labels=holed),
        LabelVolume(volume.frame, labels, grid.origin_mm, fine, volume.materials),
    )


def _fine_labels(
    volume: LabelVolume, grid: VoxelGrid, solids: Solids, tell: Callable[[str], None]
) -> Labels:
    """Labels of a grid: what lies left of the midline, and right of it as seen in the mirror."""
    labels = np.zeros(grid.count, np.uint8)
    x = grid.axis_mm(0)
    left = x > 0.0
    if left.any():
        labels[:, :, left] = _side(grid, x[left], volume.frame, solids, tell)
    if not left.all():
        image = solids if is_symmetric(solids.person) else solids.mirrored()
        mirrored = _side(grid, -x[~left][::-1], volume.frame, image, tell)
        labels[:, :, ~left] = mirrored[:, :, ::-1]
    for thing in things_of(solids.person):
        if thing.frame is volume.frame:
            paint(labels, grid, thing.shape, _fill(volume.materials.index(thing.material)))
    return labels


def _side(
    grid: VoxelGrid, x_mm: Array, frame: Frame, solids: Solids, tell: Callable[[str], None]
) -> Labels:
    """The grid's columns at ``x_mm``, all on the patient's left, painted with a margin."""
    more = int(np.ceil(MARGIN_MM / grid.spacing_mm))
    inward = min(more, int(x_mm[0] / grid.spacing_mm))  # never over the midline
    nz, ny, _ = grid.count
    origin = np.array([x_mm[0], *grid.origin_mm[1:]]) - grid.spacing_mm * np.array(
        [inward, more, more]
    )
    wide = VoxelGrid(
        origin, grid.spacing_mm, (nz + 2 * more, ny + 2 * more, len(x_mm) + inward + more)
    )
    paint_side = skull_labels if frame is Frame.SKULL else mandible_labels
    labels = paint_side(solids, wide, tell)
    return labels[more : more + nz, more : more + ny, inward : inward + len(x_mm)]


def _fill(number: int) -> Rule:
    return lambda old, d: np.where(d < 0.0, np.uint8(number), old)
