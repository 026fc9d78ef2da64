"""The recorded region as a solid."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.geometry.region import RecordedRegion, region_profile
from trainer.scene.drawing import rim_lines
from trainer.scene.field_actor import FieldActor, revolved

CYLINDER = RecordedRegion(25.0, 20.0, 0.0, 100.0, 100.0, 400.0)
WITH_CONE = RecordedRegion(40.0, 40.0, 0.0, 41.3, 41.3, 400.0)


def signed_volume(vertices, faces):
    """Volume inside a closed surface, positive when the normals point out."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def test_a_plain_field_is_a_cylinder() -> None:
    """Where the cone takes nothing the solid has the cylinder's volume, normals outwards."""
    volume = signed_volume(*revolved(region_profile(CYLINDER), around=256))
    assert volume == pytest.approx(np.pi * 25.0**2 * 40.0, rel=1e-3)


def test_the_cone_takes_the_rims() -> None:
    """An 80 x 80 mm field loses height at its rim and keeps it on the axis."""
    profile = region_profile(WITH_CONE)
    rim = profile[profile[:, 0] == profile[:, 0].max()]
    assert np.ptp(rim[:, 1]) == pytest.approx(2 * 41.3 * (1 - 40 / 400), abs=1e-6)
    assert np.ptp(profile[profile[:, 0] == 0.0][:, 1]) == pytest.approx(80.0)
    whole = np.pi * 40.0**2 * 80.0
    assert signed_volume(*revolved(profile, 128)) < whole


def test_rims_lie_on_the_rim() -> None:
    """Every point of the rim lines is the field's radius away from the axis."""
    pieces = rim_lines(region_profile(CYLINDER))
    np.testing.assert_allclose(np.linalg.norm(pieces[..., :2], axis=-1), 25.0)
    assert set(np.round(np.unique(pieces[..., 2]), 6)) == {-20.0, 20.0}


def test_field_shows_and_hides() -> None:
    """The field stands where it is told and can be taken away."""
    field = FieldActor()
    field.show(CYLINDER, np.array([1.0, 2.0, 3.0]), visible=True)
    assert all(a.GetVisibility() for a in field.actors())
    assert field.solid.GetBounds() == pytest.approx((-24, 26, -23, 27, -17, 23))
    field.show(CYLINDER, np.zeros(3), visible=False)
    assert not any(a.GetVisibility() for a in field.actors())
