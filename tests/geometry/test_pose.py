"""The chain from the skull to the field, step by step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import FrameError, NotFound
from trainer.geometry.pose import (
    field_centre_from_support,
    gantry_to_field,
    gantry_to_room,
    skull_to_gantry,
    skull_to_support,
    support_to_gantry,
    torso_to_gantry,
)
from trainer.geometry.transforms import apply, chain, identity, turn_about
from trainer.models.device import (
    Beam,
    FieldSize,
    LightPlane,
    Region,
    RegionPlace,
    Unit,
)
from trainer.models.frames import Frame
from trainer.models.setup import Setup

FIELD = FieldSize("60x50", 60.0, 50.0, (Region.LOWER_JAW, Region.UPPER_JAW), (200,))
LIGHTS: tuple[LightPlane, ...] = ()
UNIT = Unit(
    "test", "Test", "invented", 25.0, 16.0,
    {Region.LOWER_JAW: RegionPlace(0.0, 40.0), Region.UPPER_JAW: RegionPlace(30.0, 40.0)},
    (FIELD,), {}, LIGHTS, Beam(400.0, 600.0, 60.0, 60.0),
)  # fmt: skip
SETUP = Setup(1500.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, Region.LOWER_JAW, "60x50", 0.0, 0.0, False)
CONTACT = np.array([0.0, -80.0, -103.0])
CLOSED = identity(Frame.MANDIBLE, Frame.SKULL)
small = st.floats(-20, 20)


@given(small, small, small, small, small, small)
def test_the_chin_contact_stays_on_the_support(chin, side, ahead, pitch, yaw, roll):
    """Whatever the attitude, the chin contact stands where the head was put."""
    setup = replace(SETUP, chin_height_mm=chin, sideways_mm=side, forward_mm=ahead,
                    pitch_deg=pitch, yaw_deg=yaw, roll_deg=roll)  # fmt: skip
    step = skull_to_gantry(setup, UNIT, CONTACT, CLOSED)
    expected = [side, -25.0 - ahead, chin]
    np.testing.assert_allclose(apply(step, CONTACT), expected, atol=1e-9)


def test_an_open_jaw_takes_the_contact_along():
    """With the jaw open the contact of the lower jaw rests on the support, and the skull rises."""
    c, s = np.cos(0.1), np.sin(0.1)
    turn = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    hinge = np.array([0.0, -11.5, -5.0])
    opened = turn_about(Frame.MANDIBLE, Frame.SKULL, turn, hinge, hinge)
    step = skull_to_support(SETUP, CONTACT, opened)
    np.testing.assert_allclose(apply(chain(opened, step), CONTACT), 0.0, atol=1e-9)
    closed = skull_to_support(SETUP, CONTACT, CLOSED)
    assert apply(step, np.zeros(3))[2] > apply(closed, np.zeros(3))[2] + 5.0


def test_a_jaw_in_the_wrong_frame_is_refused():
    """A jaw transform that ends in another frame cannot be chained to the head."""
    jaw = identity(Frame.MANDIBLE, Frame.ROOM)
    with pytest.raises(FrameError, match="room is not skull"):
        chain(jaw, skull_to_support(SETUP, CONTACT, CLOSED))


def test_the_field_starts_at_the_region_and_the_front_line():
    """Floor at the region's start, front edge at the front line, both ahead of the support."""
    # common practice, no source: 0 mm for the lower jaw, 30 mm free gap for the upper jaw
    for region, start in ((Region.LOWER_JAW, 0.0), (Region.UPPER_JAW, 30.0)):
        setup = replace(SETUP, region=region)
        centre = field_centre_from_support(setup, UNIT, FIELD)
        assert centre[2] - 25.0 == start
        assert -centre[1] + 30.0 == UNIT.front_line_mm
        assert centre[0] == 0.0


@given(small, small)
def test_moving_the_field_moves_its_centre(side, ahead):
    """The field's own shifts move its centre to the left and forward, and nothing else."""
    setup = replace(SETUP, field_sideways_mm=side, field_forward_mm=ahead)
    moved = apply(gantry_to_field(setup, UNIT), np.zeros(3))
    still = apply(gantry_to_field(SETUP, UNIT), np.zeros(3))
    np.testing.assert_allclose(moved - still, [-side, ahead, 0.0], atol=1e-9)


def test_unit_height_lifts_everything_alike():
    """The unit's height moves the gantry against the room and nothing against the field."""
    up = replace(SETUP, unit_height_mm=1600.0)
    low, high = (apply(gantry_to_room(s), np.zeros(3))[2] for s in (SETUP, up))
    assert high - low == 100.0
    for step in (support_to_gantry, gantry_to_field):
        np.testing.assert_array_equal(
            step(SETUP, UNIT).translation_mm, step(up, UNIT).translation_mm
        )


def test_an_unknown_region_is_told():
    """A region that the unit lacks raises and names those it has."""
    with pytest.raises(NotFound, match="lower-jaw"):
        gantry_to_field(replace(SETUP, region=Region.JOINTS), UNIT)


@given(small, small, small, small, small, small)
def test_the_torso_goes_along_and_never_turns(chin, side, ahead, pitch, yaw, roll):
    """The torso follows the chin contact's steps and keeps upright whatever the attitude."""
    setup = replace(SETUP, chin_height_mm=chin, sideways_mm=side, forward_mm=ahead,
                    pitch_deg=pitch, yaw_deg=yaw, roll_deg=roll)  # fmt: skip
    step = torso_to_gantry(setup, UNIT, CONTACT)
    np.testing.assert_array_equal(step.rotation, np.eye(3))
    np.testing.assert_allclose(apply(step, CONTACT), [side, -25.0 - ahead, chin], atol=1e-9)


def test_the_torso_is_the_skulls_frame_at_rest():
    """Head neutral and teeth together, torso and skull frame coincide."""
    skull, torso = (
        skull_to_gantry(SETUP, UNIT, CONTACT, CLOSED),
        torso_to_gantry(SETUP, UNIT, CONTACT),
    )
    np.testing.assert_allclose(torso.translation_mm, skull.translation_mm, atol=1e-9)
    np.testing.assert_array_equal(torso.rotation, skull.rotation)
    assert (torso.source, torso.target) == (Frame.TORSO, Frame.GANTRY)
