"""Volumes and pictures: arrays with their place in the world."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.models.frames import Frame, RigidTransform


@dataclass(frozen=True, slots=True)
class LabelVolume:
    """Which material fills each voxel.

    ``labels`` (nz, ny, nx) uint8, indexed [z, y, x], number the ``materials``; 0 is air.
    ``origin_mm`` (3,) is the centre of the first voxel as x, y, z in ``frame``; voxels are cubes of
    ``spacing_mm``. Parts that move with the lower jaw stand in a volume of their own, whose frame
    is the mandible.
    """

    frame: Frame
    labels: NDArray[np.uint8]
    origin_mm: NDArray[np.float64]
    spacing_mm: float
    materials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Phantom:
    """A head in voxels: what moves with the skull, and what moves with the lower jaw.

    Where both name a material, the lower jaw's counts: in the skull's volume its place is filled
    with the soft tissue round it.
    """

    skull: LabelVolume
    mandible: LabelVolume


@dataclass(frozen=True, slots=True)
class Projection:
    """A flat picture of the beam on the detector.

    ``values`` (rows, columns), row 0 at the top; column 0 on the viewer's left. ``pixel_mm`` is the
    pixel's edge on the detector. ``left_is_patients`` names the patient's side or direction at the
    picture's left ("right" for a frontal picture as it is read).
    """

    values: NDArray[np.float32]
    pixel_mm: float
    left_is_patients: str


@dataclass(frozen=True, slots=True)
class RecordedVolume:
    """A reconstructed volume.

    ``values`` (nz, ny, nx) float32, [z, y, x]: 1000 (mu / mu_water - 1) at the beam's mean energy,
    so water is near 0 and air near -1000; not calibrated, as on most dental units. ``origin_mm``
    (3,) is the centre of the first voxel as x, y, z in the field frame; voxels are cubes of
    ``spacing_mm``. ``inside`` (ny, nx) bool: the round field; outside of it values are 0.
    ``skull_to_field`` and ``mandible_to_field`` are where head and jaw stood at the run's start.
    """

    values: NDArray[np.float32]
    origin_mm: NDArray[np.float64]
    spacing_mm: float
    inside: NDArray[np.bool_]
    skull_to_field: RigidTransform
    mandible_to_field: RigidTransform
