"""Another setup's field on the head as it stands."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.appointments import real_case
from trainer.engine.placement import chain_of, place
from trainer.geometry.region import region_profile
from trainer.scene.drawing import rim_lines
from trainer.scene.flat_picture import FlatPicture, Strokes, Words
from trainer.scene.other_field import RINGS, other_to_gantry, rims, with_other_field
from trainer.scene.outlines import Flat


def at(**values):
    """Placement and chain of the shipped case's start with these values."""
    case, unit, head, points = real_case()
    setup = case.start.with_values({"jaw_gap_mm": 0.0, **values})
    return place(case, head, points, unit, setup), chain_of(head, unit, setup)


def test_the_same_setup_has_the_same_field() -> None:
    """A setup beside itself gives its own rims where its field is."""
    placement, steps = at()
    own = rim_lines(region_profile(placement.region, RINGS)) - steps.gantry_to_field.translation_mm
    found = rims(placement, other_to_gantry(steps, steps))
    np.testing.assert_allclose(found, own, atol=1e-9)  # mm


@pytest.mark.parametrize(
    ("other", "shift_mm"),
    [
        ({"chin_height_mm": -20.0}, (0.0, 0.0, -12.0)),  # head up: its field lies lower on it
        ({"chin_height_mm": -32.0, "sideways_mm": 5.0}, (-5.0, 0.0, 0.0)),
        ({"chin_height_mm": -32.0, "field_sideways_mm": -9.0}, (-9.0, 0.0, 0.0)),
        ({"chin_height_mm": -32.0, "field_forward_mm": -4.0}, (0.0, 4.0, 0.0)),
    ],
)
def test_it_lies_where_the_other_setup_has_it_on_the_head(other, shift_mm) -> None:
    """Moving the head one way moves its field the other way on it; the field itself, as it goes."""
    base = {"chin_height_mm": -32.0, "field_sideways_mm": 0.0, "field_forward_mm": 0.0}
    placement, steps = at(**base)
    there, chain = at(**{**base, **other})
    found = rims(there, other_to_gantry(chain, steps))
    own = rims(placement, other_to_gantry(steps, steps))
    np.testing.assert_allclose(found - own, np.broadcast_to(shift_mm, own.shape), atol=1e-9)


def test_it_is_dashed_and_named() -> None:
    """One closed dashed outline and one name are added to a picture, behind nothing."""
    placement, steps = at()
    empty = FlatPicture(Flat.SIDE, (-98.0, 74.0, -54.0, 136.0), ())
    found = with_other_field(empty, Flat.SIDE, placement, other_to_gantry(steps, steps), "best")
    outline, name = found.shapes
    assert isinstance(outline, Strokes) and outline.dashed
    np.testing.assert_array_equal(outline.pieces_mm[-1, 1], outline.pieces_mm[0, 0])
    size = np.ptp(outline.pieces_mm.reshape(-1, 2), axis=0)
    assert size[0] == pytest.approx(placement.field.diameter_mm, abs=0.1)
    assert isinstance(name, Words) and name.text == "best"
