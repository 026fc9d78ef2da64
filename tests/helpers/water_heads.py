"""A stand-in for a head that is quick to scan: a cylinder of water, with rods laid in it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from trainer.geometry.transforms import attitude_rotation, identity
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import LabelVolume
from trainer.models.materials import Material
from trainer.physics.acquisition import InBeam, Pose
from trainer.physics.bricks import bricks_of
from trainer.physics.hardening import WATER
from trainer.physics.scan import ScanGeometry, centred_scan
from trainer.physics.solids import Roll

# NIST XAAMDI and ICRU 44: densities and elements, minor ones left out.
TITANIUM = Material("titanium", 4.54, {"Ti": 1.0})
BONE = Material(
    "bone", 1.92, {"H": 0.034, "C": 0.155, "N": 0.042, "O": 0.435, "P": 0.103, "Ca": 0.225}
)
AIR = Material("air", 0.001205, {"N": 0.7553, "O": 0.2318, "Ar": 0.0129})
MAS = 0.1  # of a view


def cylinder_of_water(radius_mm: float = 60.0, half_height_mm: float = 30.0) -> LabelVolume:
    """An upright cylinder about the skull's origin, in voxels of 1 mm."""
    x = np.arange(-math.ceil(radius_mm) + 0.5, math.ceil(radius_mm))
    round_ = x[None, :] ** 2 + x[:, None] ** 2 <= radius_mm**2
    labels = np.repeat(round_[None].astype(np.uint8), int(2 * half_height_mm), axis=0)
    origin = np.array([x[0], x[0], -half_height_mm + 0.5])
    return LabelVolume(Frame.SKULL, labels, origin, 1.0, ("air", "water"))


def water_head(*rods: Roll, radius_mm: float = 60.0) -> InBeam:
    """The cylinder with rods in it, and a lower jaw of nothing."""
    nothing = LabelVolume(
        Frame.MANDIBLE, np.zeros((1, 1, 1), np.uint8), np.zeros(3), 1.0, ("air", "water")
    )
    return InBeam(
        skull=(bricks_of(cylinder_of_water(radius_mm)),),
        mandible=(bricks_of(nothing),),
        filler="water",
        materials={m.name: m for m in (AIR, WATER, TITANIUM, BONE)},
        solids=rods,
    )


def rod(x_mm: float, y_mm: float, z_mm: tuple[float, float], material: Material) -> Roll:
    """An upright rod of 2 mm radius."""
    ends = np.array([[x_mm, y_mm, z_mm[0]], [x_mm, y_mm, z_mm[1]]])
    return Roll(Frame.SKULL, ends, 2.0, material)


def small_scan(**more: float) -> ScanGeometry:
    """180 views of a 40 mm field in pixels of 0.5 mm at the axis."""
    numbers = {
        "source_to_axis_mm": 400.0,
        "source_to_detector_mm": 600.0,
        "views": 180,
        "rows": 20,
        "columns": 84,
        "pixel_mm": 0.75,
    }
    return centred_scan(**(numbers | more))


def standing(views: int, pitch_deg: float = 0.0) -> list[Pose]:
    """The head in the field's middle, chin up by an angle, all the time."""
    turn = attitude_rotation(math.radians(pitch_deg), 0.0, 0.0)
    skull = RigidTransform(Frame.SKULL, Frame.FIELD, turn, np.zeros(3))
    return [(skull, replace(identity(Frame.MANDIBLE, Frame.FIELD), rotation=turn))] * views
