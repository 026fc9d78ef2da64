"""What a flat detector sees of a labelled volume: path lengths, transmission, photon noise.

Straight rays from a point to pixel centres; the detector takes up all the energy of all photons.
Scatter, focal spot, heel effect and detector blur are left out.
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
from trainer.models.materials import Material
from trainer.physics._kernels import compiled_trace, plain_lengths
from trainer.physics.attenuation import linear_attenuation_per_mm
from trainer.physics.bricks import BrickVolume, bricks_of
from trainer.physics.spectrum import Spectrum
from trainer.physics.views import ViewGeometry

Array = NDArray[np.float64]
Picture = NDArray[np.float32]

THREADS = 2
# Rows are handed out in strips, so that both threads end at nearly the same time.
STRIPS = 16
# Energies with less than this share of the signal do not show in 1e-4 of it.
FAINT = 1e-6


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
    skull: BrickVolume,
    mandible: BrickVolume,
    view: ViewGeometry,
    skull_to_view: RigidTransform,
    mandible_to_view: RigidTransform,
    filler: str,
) -> tuple[tuple[str, ...], Picture]:
    """Material names, and their path lengths [mm] through a head whose lower jaw moves by itself.

    Where the mandible's volume names a material, it takes the place of the ``filler`` that the
    skull's volume holds there (see `models.images.Phantom`): its whole length is taken off the
    filler's. Where the jaw reaches beyond that filler, as its lower border may with a wide open
    mouth, no length falls below zero.

    Raises
    ------
    FrameError, TrainerError
        As `line_integrals`; also if the skull's volume has no such filler.
    """
    if filler not in skull.materials:
        raise TrainerError(f"the skull's volume has no {filler!r}; it has {skull.materials}")
    fixed = line_integrals(skull, view, inverse(skull_to_view))
    moving = line_integrals(mandible, view, inverse(mandible_to_view))
    names = list(dict.fromkeys(skull.materials + mandible.materials[1:]))
    total = np.zeros((len(names), *view.shape), np.float32)
    total[: len(skull.materials)] = fixed
    for name, lengths in zip(mandible.materials[1:], moving[1:], strict=True):
        total[names.index(name)] += lengths
    in_place = total[names.index(filler)]
    in_place -= moving[1:].sum(axis=0)
    np.maximum(in_place, 0.0, out=in_place)
    return tuple(names), total


def transmission(
    paths_mm: NDArray[np.floating], materials: Sequence[Material], spectrum: Spectrum
) -> Picture:
    """Share of the open beam's energy that reaches each pixel, 0 to 1, (rows, columns) float32.

    Beer-Lambert for each energy, summed up by a detector that takes up all the energy of every
    photon. Distance from the source is left out: it cancels against the open beam.

    Parameters
    ----------
    paths_mm : (n, rows, columns)
        Length of each material [mm].
    materials : n materials
        In the same order.
    spectrum : Spectrum
        Of the open beam.

    Raises
    ------
    TrainerError
        If there is not one material for each layer of paths.
    """
    if len(materials) != len(paths_mm):
        raise TrainerError(f"{len(paths_mm)} layers of paths and {len(materials)} materials")
    weights = spectrum.photons * spectrum.energies_kev
    weights = weights / weights.sum()
    seen = weights >= FAINT * weights.max()
    weights, energies = weights[seen].astype(np.float32), spectrum.energies_kev[seen]
    per_mm = np.stack([linear_attenuation_per_mm(m, energies) for m in materials], axis=1)
    shape = paths_mm.shape[1:]
    paths = np.asarray(paths_mm, np.float32).reshape(len(materials), -1)
    out = np.empty(paths.shape[1], np.float32)
    minus = -per_mm.astype(np.float32)
    step = 8192  # pixels at a time: what belongs to them stays in the cache
    for first in range(0, len(out), step):
        passed = minus @ paths[:, first : first + step]
        np.exp(passed, out=passed)
        out[first : first + step] = weights @ passed
    return out.reshape(shape)


def with_photon_noise(
    values: NDArray[np.floating], open_photons: float, random: np.random.Generator
) -> Picture:
    """Transmission as counted with a limited number of photons; its variance is ``T / N``.

    ``open_photons`` N is how many a pixel counts in the open beam. Photons of one energy are
    assumed; a spectrum that is summed up by energy is noisier by ``<E^2> / <E>^2``, about a tenth
    at 90 kV, as if there were that much fewer photons.

    Raises
    ------
    TrainerError
        If there are no photons.
    """
    if not open_photons > 0.0:
        raise TrainerError(f"{open_photons} photons in the open beam: must be above 0")
    counted = random.poisson(np.asarray(values, float) * open_photons)
    return (counted / open_photons).astype(np.float32)


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
