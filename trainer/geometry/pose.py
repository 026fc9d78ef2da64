"""Where head, jaw, field and unit stand for a setup: the chain skull → support → gantry → field.

The chin contact is the fixed point: it rests on the support, and the head turns about it. When the
jaw opens, the contact goes with the lower jaw, so an open jaw on the same support lifts the skull.
The torso stands under the chin contact wherever that goes: its frame leads to the support too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.errors import NotFound
from trainer.geometry.transforms import apply, attitude_rotation, chain, shift, turn_about
from trainer.models.device import FieldSize, RegionPlace, Unit
from trainer.models.frames import Frame, RigidTransform
from trainer.models.setup import Setup

Array = NDArray[np.float64]


def region_place(setup: Setup, unit: Unit) -> RegionPlace:
    """Where the setup's region starts on this unit.

    Raises
    ------
    NotFound
        If the unit does not know the region.
    """
    place = unit.regions.get(setup.region)
    if place is None:
        raise NotFound(f"unit {unit.id} has no region {setup.region}; it has {list(unit.regions)}")
    return place


def field_centre_from_support(setup: Setup, unit: Unit, field: FieldSize) -> Array:
    """Centre of the field [mm], counted from the chin support's midline point at the zero plane.

    The field's front edge stands at the unit's front line when the field is not moved.
    """
    place = region_place(setup, unit)
    forward = unit.front_line_mm + setup.field_forward_mm - field.diameter_mm / 2.0
    return np.array([setup.field_sideways_mm, -forward, place.start_mm + field.height_mm / 2.0])


def skull_to_support(
    setup: Setup, chin_contact_mm: Array, mandible_to_skull: RigidTransform
) -> RigidTransform:
    """Skull → support: the chin contact (mandible frame, mm) stands where the head was put."""
    rotation = attitude_rotation(
        np.deg2rad(setup.pitch_deg), np.deg2rad(setup.yaw_deg), np.deg2rad(setup.roll_deg)
    )
    contact = apply(mandible_to_skull, chin_contact_mm)
    stands = np.array([setup.sideways_mm, -setup.forward_mm, 0.0])
    return turn_about(Frame.SKULL, Frame.SUPPORT, rotation, contact, stands)


def support_to_gantry(setup: Setup, unit: Unit) -> RigidTransform:
    """Support → gantry: the support stands ahead of the parked axis, at its height."""
    return shift(Frame.SUPPORT, Frame.GANTRY, [0.0, -unit.support_forward_mm, setup.chin_height_mm])


def gantry_to_field(setup: Setup, unit: Unit) -> RigidTransform:
    """Gantry → field: the origin goes to the centre of the recorded cylinder."""
    centre = field_centre_from_support(setup, unit, unit.field(setup.field))
    in_gantry = centre - np.array([0.0, unit.support_forward_mm, 0.0])
    return shift(Frame.GANTRY, Frame.FIELD, -in_gantry)


def gantry_to_room(setup: Setup) -> RigidTransform:
    """Gantry → room: the zero plane stands at the unit's height above the floor."""
    return shift(Frame.GANTRY, Frame.ROOM, [0.0, 0.0, setup.unit_height_mm])


def skull_to_gantry(
    setup: Setup, unit: Unit, chin_contact_mm: Array, mandible_to_skull: RigidTransform
) -> RigidTransform:
    """Skull → gantry for a setup."""
    return chain(
        skull_to_support(setup, chin_contact_mm, mandible_to_skull),
        support_to_gantry(setup, unit),
    )


def torso_to_gantry(setup: Setup, unit: Unit, chin_contact_mm: Array) -> RigidTransform:
    """Torso → gantry: the torso goes with the chin's steps and never turns.

    ``chin_contact_mm`` (3,): with the head neutral and the teeth together, where torso and skull
    frame coincide.
    """
    chin = [setup.sideways_mm, -setup.forward_mm - unit.support_forward_mm, setup.chin_height_mm]
    return shift(Frame.TORSO, Frame.GANTRY, chin - chin_contact_mm)
