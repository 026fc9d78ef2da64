"""The volume that line integrals of a scan belong to."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trainer.errors import TrainerError
from trainer.physics.fdk._kernels import compiled_backproject
from trainer.physics.fdk.filtering import filtered
from trainer.physics.fdk.weights import missing_columns
from trainer.physics.projection import THREADS
from trainer.physics.scan import ScanGeometry

Array = NDArray[np.float64]
Values = NDArray[np.float32]

# Views that are filtered at a time: what is made of them on the way fits well in memory.
TOGETHER = 32
# Parts that a volume is handed out in, whatever the number of threads.
PARTS = 16


@dataclass(frozen=True, slots=True)
class VolumeGrid:
    """Cubic voxels in the field frame.

    ``origin_mm`` (3,) is the centre of the first voxel as x, y, z; ``shape`` is nz, ny, nx.
    """

    origin_mm: Array
    spacing_mm: float
    shape: tuple[int, int, int]

    def axis_mm(self, axis: int) -> Array:
        """Centres along x (0), y (1) or z (2) [mm]."""
        return np.asarray(self.origin_mm[axis] + np.arange(self.shape[2 - axis]) * self.spacing_mm)


def grid_about(middle_mm: Array, size_mm: Array, spacing_mm: float) -> VolumeGrid:
    """Voxels that fill a box about a middle; sizes (3,) along x, y, z are rounded to voxels."""
    count = np.maximum(1, np.round(np.asarray(size_mm, float) / spacing_mm).astype(int))
    origin = np.asarray(middle_mm, float) - (count - 1) / 2.0 * spacing_mm
    return VolumeGrid(origin, spacing_mm, (int(count[2]), int(count[1]), int(count[0])))


def circle_of(grid: VolumeGrid, radius_mm: float) -> NDArray[np.bool_]:
    """Which columns of voxels (ny, nx) have their centres within a circle about the axis."""
    x, y = grid.axis_mm(0), grid.axis_mm(1)
    return np.asarray(x[None, :] ** 2 + y[:, None] ** 2 <= radius_mm**2)


def reconstruct(
    lines: Values,
    scan: ScanGeometry,
    grid: VolumeGrid,
    inside: NDArray[np.bool_] | None = None,
    *,
    water_per_mm: float = 1.0,
    extend: bool = True,
    smooth: bool = False,
    tell: Callable[[float], None] = lambda _: None,
) -> Values:
    """Attenuation in each voxel, (nz, ny, nx) float32, in the unit of the lines per mm.

    Exact in the plane of the central ray but for sampling; above and below, the cone leaves values
    too low (FDK). Voxels that not every view sees, at roof and floor, come out darker still.

    Parameters
    ----------
    lines : (views, rows, columns) float32
        Line integrals: of attenuation, or of water [mm] when ``water_per_mm`` is 1.
    scan : ScanGeometry
        How they were taken.
    grid : VolumeGrid
        The voxels wanted.
    inside : (ny, nx) bool or None
        Columns of voxels that are worked out; the others are 0. All, if not given.
    water_per_mm : float
        What a millimetre of water adds to a line; only rows that end in the body ask for it.
    extend : bool
        Whether rows that end in the body go on beyond the detector (`filtering.extension`).
    smooth : bool
        Whether fine detail and noise are held back, as units do (`filtering.hann`).
    tell : callable
        Called between parts with the share that is done; what it raises ends the work.

    Raises
    ------
    TrainerError
        If lines and scan do not fit together.
    """
    if lines.shape != (scan.views, scan.rows, scan.columns):
        expected = (scan.views, scan.rows, scan.columns)
        raise TrainerError(f"lines of shape {lines.shape} for a scan of {expected}")
    nz, ny, nx = grid.shape
    if inside is None:
        inside = np.ones((ny, nx), bool)
    x, y, z = (grid.axis_mm(axis) for axis in range(3))
    turns = np.stack([np.sin(scan.angles_rad), np.cos(scan.angles_rad)], axis=1)
    facts = scan_facts(scan)
    volume = np.zeros((ny, nx, nz), np.float32)
    run = compiled_backproject()
    cuts = np.unique(np.linspace(0, ny, min(PARTS, ny) + 1).astype(int)).tolist()
    with ThreadPoolExecutor(THREADS) as pool:
        for first in range(0, scan.views, TOGETHER):
            part = lines[first : first + TOGETHER]
            views = filtered(part, scan, first, water_per_mm, extend, smooth)
            jobs = [
                pool.submit(
                    run,
                    views,
                    turns[first : first + len(part)],
                    facts,
                    x,
                    y,
                    z,
                    start,
                    end,
                    inside,
                    volume,
                )
                for start, end in pairwise(cuts)
            ]
            try:
                for number, job in enumerate(jobs):
                    job.result()
                    tell((first + len(part) * (number + 1) / len(jobs)) / scan.views)
            except BaseException:
                for job in jobs:
                    job.cancel()
                raise
    return np.ascontiguousarray(volume.transpose(2, 0, 1))


def scan_facts(scan: ScanGeometry) -> Array:
    """What the kernels ask of a scan whose views have been filtered, in their order."""
    first = scan.across_mm[0] - missing_columns(scan)[0] * scan.step_mm
    return np.array(
        [
            scan.source_to_axis_mm,
            first,
            scan.up_mm[0],
            scan.step_mm,
            scan.ray_mm,
        ]
    )
