"""How far the rays of a view run in each material of a labelled volume.

Straight rays from a point to pixel centres: scatter, focal spot, heel effect and blur are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from trainer.errors import FrameError, TrainerError
from trainer.geometry.transforms import apply, identity, inverse
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import LabelVolume
from trainer.physics._kernels import compiled_trace, plain_lengths
from trainer.physics.bricks import BrickVolume, bricks_of
from trainer.physics.solids import Solid, solid_lengths
from trainer.physics.views import ViewGeometry

Array = NDArray[np.float64]
Picture = NDArray[np.float32]

THREADS = 2
# Rows are handed out in strips, so that both threads end at nearly the same time.
STRIPS = 16


def line_integrals(
    volume: LabelVolume | BrickVolume, view: ViewGeometry, to_volume: RigidTransform
) -> Picture:
    """Length of each material that each ray crosses between source and pixel centre [mm].

    Parameters
    ----------
    volume : LabelVolume or BrickVolume
        `bricks_of` makes bricks ahead of time; a label volume is put in bricks at every call.
    view : ViewGeometry
        Source and detector.
    to_volume : RigidTransform
        From the view's frame to the volume's.

    Returns
    -------
    (materials, rows, columns) float32, in the order of ``volume.materials``. Only what lies inside
    of the volume's voxels counts, also for air. Lengths are exact for the voxels as they are.

    Raises
    ------
    FrameError
        If the transform does not lead from the view's frame to the volume's.
    TrainerError
        As `bricks_of`.
    """
    bricks = volume if isinstance(volume, BrickVolume) else bricks_of(volume)
    source, first, row_step, column_step = _in_voxels(bricks, view, to_volume)
    rows = view.shape[0]
    lengths = np.zeros((len(bricks.materials), *view.shape), np.float32)
    size = np.array(bricks.shape[::-1], np.int64)
    run = compiled_trace()

    def strip(first_row: int, end_row: int) -> None:
        run(
            source,
            first,
            row_step,
            column_step,
            first_row,
            end_row,
            size,
            bricks.table,
            bricks.bricks,
            lengths,
        )

    cuts = np.linspace(0, rows, min(STRIPS, rows) + 1).astype(int).tolist()
    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(strip, cuts[:-1], cuts[1:]))
    lengths *= np.float32(bricks.spacing_mm)
    return lengths


def warm_up() -> None:
    """Loads numba and the kernel, so that the first picture is as quick as the others.

    Takes about a second, and some seconds once after installing, when the kernel is compiled. Meant
    for the background of a program that has just started.
    """
    air = LabelVolume(Frame.SKULL, np.zeros((1, 1, 1), np.uint8), np.zeros(3), 1.0, ("air",))
    ahead, down, along = np.array([0.0, 9.0, 0.0]), np.array([0.0, 0.0, -1.0]), np.eye(3)[0]
    view = ViewGeometry(Frame.SKULL, np.array([0.0, -9.0, 0.0]), ahead, down, along, (1, 1), "")
    line_integrals(air, view, identity(Frame.SKULL, Frame.SKULL))


def plain_line_integrals(
    volume: LabelVolume, view: ViewGeometry, to_volume: RigidTransform
) -> Array:
    """What `line_integrals` gives, in float64 and without numba; for tests and small pictures."""
    source, first, row_step, column_step = _in_voxels(volume, view, to_volume)
    rows, columns = (index[..., None] for index in np.indices(view.shape))
    pixels = (first + rows * row_step + columns * column_step).reshape(-1, 3)
    lengths = plain_lengths(source, pixels, volume.labels, len(volume.materials))
    return volume.spacing_mm * np.ascontiguousarray(lengths.T).reshape(-1, *view.shape)


def head_line_integrals(
    skull: BrickVolume | Sequence[BrickVolume],
    mandible: BrickVolume | Sequence[BrickVolume],
    view: ViewGeometry,
    skull_to_view: RigidTransform,
    mandible_to_view: RigidTransform,
    filler: str,
    solids: Sequence[Solid] = (),
) -> tuple[tuple[str, ...], Picture]:
    """Material names, and their path lengths [mm] through a head whose lower jaw moves by itself.

    Where the mandible's volume names a material, it takes the place of the ``filler`` that the
    skull's volume holds there (see `models.images.Phantom`): its whole length is taken off the
    filler's. Where the jaw reaches beyond that filler, as its lower border may with a wide open
    mouth, no length falls below zero.

    ``solids``, such as a spacer, move with the jaw whose frame they are in. They take the place of
    the filler too, as far as there is any; what they lack is counted as air.

    Skull and mandible may each be several volumes of the same materials that fill different places,
    such as a coarse one with a hole and a fine one in it.

    Raises
    ------
    FrameError, TrainerError
        As `line_integrals`; also if the skull's volume has no such filler, or a solid moves with
        neither jaw.
    """
    of_skull = [skull] if isinstance(skull, BrickVolume) else list(skull)
    of_jaw = [mandible] if isinstance(mandible, BrickVolume) else list(mandible)
    skull_names, jaw_names = of_skull[0].materials, of_jaw[0].materials
    if filler not in skull_names:
        raise TrainerError(f"the skull's volume has no {filler!r}; it has {skull_names}")
    to_frame = {t.source: inverse(t) for t in (skull_to_view, mandible_to_view)}
    for solid in solids:
        if solid.frame not in to_frame:
            raise FrameError(f"a solid moves with {solid.frame}; it must be skull or mandible")
    fixed = _together(of_skull, view, to_frame[Frame.SKULL])
    moving = _together(of_jaw, view, to_frame[Frame.MANDIBLE])
    more = [s.material.name for s in solids]
    names = list(dict.fromkeys([*skull_names, *jaw_names[1:], *more]))
    total = np.zeros((len(names), *view.shape), np.float32)
    total[: len(skull_names)] = fixed
    in_place = total[names.index(filler)]

    def put(name: str, lengths: Picture) -> None:
        total[names.index(name)] += lengths
        np.subtract(in_place, lengths, out=in_place)

    for name, lengths in zip(jaw_names[1:], moving[1:], strict=True):
        put(name, lengths)
    for solid in solids:
        put(solid.material.name, solid_lengths(solid, view, to_frame[solid.frame]))
    np.maximum(in_place, 0.0, out=in_place)
    return tuple(names), total


def _together(
    volumes: Sequence[BrickVolume], view: ViewGeometry, to_volume: RigidTransform
) -> Picture:
    """Lengths in several volumes of the same materials, added up."""
    if len({v.materials for v in volumes}) > 1:
        raise TrainerError("volumes that are added up must be of the same materials")
    total = line_integrals(volumes[0], view, to_volume)
    for volume in volumes[1:]:
        total += line_integrals(volume, view, to_volume)
    return total


def _in_voxels(
    volume: LabelVolume | BrickVolume, view: ViewGeometry, to_volume: RigidTransform
) -> tuple[Array, Array, Array, Array]:
    """Source, first pixel, row step and column step in voxel units, from the volume's corner."""
    if to_volume.source is not view.frame or to_volume.target is not volume.frame:
        raise FrameError(
            f"needs {view.frame}→{volume.frame}, got {to_volume.source}→{to_volume.target}"
        )
    points = (apply(to_volume, p) - volume.origin_mm for p in (view.source_mm, view.first_pixel_mm))
    source, first = (p / volume.spacing_mm + 0.5 for p in points)
    row, column = (
        to_volume.rotation @ s / volume.spacing_mm for s in (view.row_step_mm, view.column_step_mm)
    )
    return source, first, row, column
