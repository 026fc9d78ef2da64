"""Recorded volumes of a test's own making, with heads where a real run would have them."""

from __future__ import annotations

import numpy as np

from trainer.engine.placement import Placement, chain_of, place
from trainer.models.frames import Frame
from trainer.models.images import RecordedVolume
from trainer.models.setup import Setup
from trainer.services.workbench import Workbench

VOXEL_MM = 0.5
AIR_HU, BALL_HU = -1000.0, 3000.0


def ball_volume(
    bench: Workbench, setup: Setup, at_mm: tuple[float, float, float], radius_mm: float = 1.5
) -> RecordedVolume:
    """Air in the whole field but for one bright ball at a place of the field frame."""
    field = bench.unit.field(setup.field)
    counts = [round(size / VOXEL_MM) for size in (field.height_mm, field.diameter_mm)]
    nz, nx = counts
    origin = -0.5 * VOXEL_MM * (np.array([nx, nx, nz]) - 1)
    x, y, z = (origin[i] + VOXEL_MM * np.arange(n) for i, n in enumerate((nx, nx, nz)))
    off = (x - at_mm[0]) ** 2 + (y[:, None] - at_mm[1]) ** 2 + (z[:, None, None] - at_mm[2]) ** 2
    values = np.where(off <= radius_mm**2, BALL_HU, AIR_HU).astype(np.float32)
    steps = chain_of(bench.meshes.head, bench.unit, setup)
    return RecordedVolume(
        values=values,
        origin_mm=origin,
        spacing_mm=VOXEL_MM,
        inside=np.hypot(x, y[:, None]) <= field.diameter_mm / 2.0,
        skull_to_field=steps.to_field(Frame.SKULL),
        mandible_to_field=steps.to_field(Frame.MANDIBLE),
    )


def placement_of(bench: Workbench, setup: Setup) -> Placement:
    """Where everything stands in that setup."""
    return place(bench.case, bench.meshes.head, bench.points, bench.unit, setup)
