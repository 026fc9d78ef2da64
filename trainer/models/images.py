"""Volumes and pictures: arrays with their place in the world."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.models.appointment_words import MetalLevel
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

    Attributes
    ----------
    values : (nz, ny, nx) float32
        [z, y, x]: 1000 (mu / mu_water - 1), so water is near 0 and air near -1000; whole numbers of
        16 bits. Not calibrated, as on most dental units: bone and metal come out lower or higher
        with what lies round them.
    origin_mm : (3,)
        The centre of the first voxel as x, y, z in the field frame.
    spacing_mm : float
        The voxels' edge as computed. For the learner it is coarser than what was ordered.
    inside : (ny, nx) bool
        The round field; outside of it values are 0.
    skull_to_field, mandible_to_field : RigidTransform
        Where head and jaw stood at the run's start.
    requested_voxel_um : int
        The voxel that was ordered; 0 when unknown.
    views, views_planned : int
        Views that were recorded, and that a whole run would have had; as computed.
    arc_rad : float
        The angle that the recorded views cover.
    arc_is_enough : bool
        Whether every line through the field was seen; else edges along some directions are lost.
    metal_level : MetalLevel
        How strongly metal was corrected for.
    low_dose : bool
        Whether the low-dose protocol was taken.
    noise_hu : float
        Standard deviation that the photons' number gives to a voxel in the middle, as predicted.
    is_part : bool
        Whether it is only a part of the field, in finer voxels.
    """

    values: NDArray[np.float32]
    origin_mm: NDArray[np.float64]
    spacing_mm: float
    inside: NDArray[np.bool_]
    skull_to_field: RigidTransform
    mandible_to_field: RigidTransform
    requested_voxel_um: int = 0
    views: int = 0
    views_planned: int = 0
    arc_rad: float = 0.0
    arc_is_enough: bool = True
    metal_level: MetalLevel = MetalLevel.OFF
    low_dose: bool = False
    noise_hu: float = 0.0
    is_part: bool = False

    @property
    def stopped_early(self) -> bool:
        """Whether views are missing because the switch was let go."""
        return self.views < self.views_planned
