"""Light planes and their curves on the skin."""

from __future__ import annotations

import numpy as np
import pytest

from tests.scene.standin import ball, standin_case
from trainer.geometry.sections import section_length_mm
from trainer.geometry.transforms import attitude_rotation
from trainer.models.frames import Frame, RigidTransform
from trainer.scene.light_curves import LightSheet, light_curve, light_names, light_sheets


def test_the_front_edge_light_needs_the_turned_arm(unit) -> None:
    """A light that is seen with the arm turned only is off with the arm parked."""
    only_turned = {light.id for light in unit.lights if light.arm_turned_only}
    assert only_turned
    parked = {s.id for s in light_sheets(unit, standin_case().start)}
    turned = {s.id for s in light_sheets(unit, standin_case(arm_turned=True).start)}
    assert turned - parked == only_turned


def test_the_front_edge_light_stands_at_the_fields_front(unit) -> None:
    """Its plane is the unit's front line, moved forward with the field, ahead of the support."""
    case = standin_case(arm_turned=True, field_forward_mm=-12.0)
    (sheet,) = (s for s in light_sheets(unit, case.start) if s.id == "field-front")
    assert sheet.column == 1
    ahead_of_axis = unit.support_forward_mm + unit.front_line_mm - 12.0
    assert sheet.at_mm == pytest.approx(-ahead_of_axis)


def test_heights_count_from_the_zero_plane(unit) -> None:
    """The zero plane's light is at height 0, and a lower-jaw field's lower edge coincides."""
    sheets = {s.id: s for s in light_sheets(unit, standin_case().start)}
    assert sheets["zero-plane"].at_mm == 0.0
    assert sheets["field-floor"].at_mm == pytest.approx(0.0)
    names = light_names(tuple(sheets.values()))
    assert names[(2, 0.0)] == "light: zero plane, lower edge"


def test_curve_lies_on_plane_and_skin() -> None:
    """On a ball of 50 mm a plane 30 mm off its middle draws a circle of radius 40 mm."""
    vertices, faces = ball(np.zeros(3), np.full(3, 50.0), 96)
    move = RigidTransform(
        Frame.SKULL, Frame.GANTRY, attitude_rotation(0.1, -0.2, 0.3), np.array([7.0, -4.0, 12.0])
    )
    pieces = light_curve(LightSheet("a", "a", 2, 42.0), vertices, faces, move)
    np.testing.assert_allclose(pieces[..., 2], 42.0, atol=1e-9)
    radius = np.linalg.norm(pieces[..., :2] - [7.0, -4.0], axis=-1)
    np.testing.assert_allclose(radius, 40.0, atol=0.15)
    assert section_length_mm(pieces) == pytest.approx(2 * np.pi * 40.0, rel=0.01)


def test_plane_beside_the_skin_draws_nothing() -> None:
    """A plane that misses the skin has an empty curve."""
    vertices, faces = ball(np.zeros(3), np.full(3, 5.0))
    still = RigidTransform(Frame.SKULL, Frame.GANTRY, np.eye(3), np.zeros(3))
    assert light_curve(LightSheet("a", "a", 0, 9.0), vertices, faces, still).shape == (0, 2, 3)
