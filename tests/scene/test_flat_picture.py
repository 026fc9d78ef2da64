"""What the flat views show."""

from __future__ import annotations

import numpy as np
import pytest

from tests.scene.standin import with_marker
from trainer.geometry.transforms import apply
from trainer.scene.drawing import ARROW_MM
from trainer.scene.flat_picture import (
    Area,
    Arrow,
    FlatHead,
    Polygon,
    Words,
    field_outline,
    flat_picture,
)
from trainer.scene.jaw_skin import skin_points
from trainer.scene.outlines import Flat
from trainer.scene.palette import BONE, INSIDE, MISSED, NERVE, SKIN


def shapes(kind, picture):
    """The shapes of a kind."""
    return [s for s in picture.shapes if isinstance(s, kind)]


@pytest.mark.parametrize("view", list(Flat))
def test_looking_at_the_skin_hides_bone_field_and_marks(view, meshes, unit, placed) -> None:
    """Without looking inside there is skin, support, lights, scale and letters, no more."""
    picture = flat_picture(view, FlatHead(meshes), unit, *placed(), look_inside=False)
    assert [a.fill for a in shapes(Area, picture)] == [SKIN]
    assert not shapes(Arrow, picture)
    assert not any(w.text == "field" for w in shapes(Words, picture))
    assert all(p.opacity == 1.0 for p in shapes(Polygon, picture))


def test_looking_inside_shows_bone_and_field(meshes, unit, placed) -> None:
    """Looking inside shows bone, and the field as one translucent outline."""
    picture = flat_picture(Flat.FRONT, FlatHead(meshes), unit, *placed(), look_inside=True)
    assert BONE in [a.fill for a in shapes(Area, picture)]
    assert len([p for p in shapes(Polygon, picture) if p.opacity < 1.0]) == 1


def test_missed_structures_have_colour_and_hatching(meshes, unit, placed) -> None:
    """Of what is required, what holds is blue and plain, what is cut is vermilion and hatched."""
    placement, steps = placed()
    picture = flat_picture(Flat.FRONT, FlatHead(meshes), unit, placement, steps, True)
    marks = [a for a in shapes(Area, picture) if a.fill in (INSIDE, MISSED)]
    assert sum(a.hatched for a in marks) == sum(not s.holds for s in placement.required) > 0
    assert all(a.hatched == (a.fill == MISSED) for a in marks)
    assert sum(not a.hatched for a in marks) == sum(s.holds for s in placement.required) > 0


@pytest.mark.parametrize("view", list(Flat))
def test_the_arrow_points_the_way_to_go(view, meshes, unit, placed) -> None:
    """With the tooth below the field the arrow goes up from it, and its name stands there."""
    picture = flat_picture(view, FlatHead(meshes), unit, *placed(), look_inside=True)
    (arrow,) = shapes(Arrow, picture)
    assert arrow.end_mm[0] == pytest.approx(arrow.start_mm[0])
    assert arrow.end_mm[1] - arrow.start_mm[1] == pytest.approx(ARROW_MM)
    assert [w.text for w in shapes(Words, picture) if w.colour == MISSED] == ["× tooth 48"]


def test_all_inside_has_no_second_colour(meshes, unit, placed) -> None:
    """When everything required holds there is no vermilion, hatching or arrow."""
    placement, steps = placed(chin_height_mm=-24.0)
    assert placement.all_required_inside
    picture = flat_picture(Flat.SIDE, FlatHead(meshes), unit, placement, steps, True)
    assert not any(a.hatched or a.fill == MISSED for a in shapes(Area, picture))
    assert not shapes(Arrow, picture)


@pytest.mark.parametrize(("view", "across"), [(Flat.FRONT, 1.0), (Flat.SIDE, None)])
def test_a_marker_on_the_patients_left(view, across, meshes, unit, placed) -> None:
    """A ball on the patient's left is right from the front; one ahead is right from the side."""
    at = (55.0, -60.0, -30.0) if view is Flat.FRONT else (0.0, -150.0, -30.0)
    head = FlatHead(with_marker(meshes, at))
    picture = flat_picture(view, head, unit, *placed(), look_inside=True)
    (marker,) = (a for a in shapes(Area, picture) if a.line == NERVE)
    centre = np.concatenate(marker.seen.loops).mean(axis=0) + marker.shift_mm
    assert centre[0] > 40.0


@pytest.mark.parametrize(
    ("view", "letters"), [(Flat.FRONT, ("R", "L")), (Flat.SIDE, ("back", "front"))]
)
@pytest.mark.parametrize("inside", [True, False])
def test_sides_are_named(view, letters, inside, meshes, unit, placed) -> None:
    """R and L stand at the front view's sides, back and front at the side view's."""
    picture = flat_picture(view, FlatHead(meshes), unit, *placed(), look_inside=inside)
    place = {w.text: w.at_mm[0] for w in shapes(Words, picture)}
    assert place[letters[0]] < place[letters[1]]


def test_the_field_stands_still_and_the_head_moves(meshes, unit, placed) -> None:
    """Raising the support moves the skin up by as much, and leaves the field where it is."""
    head = FlatHead(meshes)
    low = flat_picture(Flat.FRONT, head, unit, *placed(chin_height_mm=-30.0), look_inside=True)
    high = flat_picture(Flat.FRONT, head, unit, *placed(chin_height_mm=-20.0), look_inside=True)
    skins = [shapes(Area, p)[0] for p in (low, high)]
    tops = [max(loop[:, 1].max() for loop in s.seen.loops) + s.shift_mm[1] for s in skins]
    assert tops[1] - tops[0] == pytest.approx(10.0)
    fields = [next(p for p in shapes(Polygon, q) if p.opacity < 1.0) for q in (low, high)]
    np.testing.assert_array_equal(fields[0].points_mm, fields[1].points_mm)


def test_a_shift_needs_no_new_outline(meshes, unit, placed) -> None:
    """The same outline is shown again after a shift, and another one after a turn."""
    head = FlatHead(meshes)
    seen = [
        shapes(Area, flat_picture(Flat.FRONT, head, unit, *placed(**v), look_inside=True))[0].seen
        for v in ({}, {"sideways_mm": 5.0}, {"yaw_deg": 5.0})
    ]
    assert seen[0] is seen[1]
    assert seen[0] is not seen[2]


def test_field_outline_shows_what_the_cone_takes(unit, placed) -> None:
    """The corners of an 80 x 80 mm field are lower than its middle: the cone's loss is drawn."""
    placement, steps = placed(region="both-jaws", field="80x80")
    points = field_outline(placement, steps, Flat.FRONT)
    middle = points[np.abs(points[:, 0] - points[:, 0].mean()) < 1.0][:, 1].max()
    corner = points[points[:, 0] == points[:, 0].max()][:, 1].max()
    assert middle - corner > 1.0
    assert np.ptp(points[:, 0]) == pytest.approx(80.0)


def test_the_skins_outline_follows_the_jaw(meshes, unit, placed) -> None:
    """With the jaw open the outline spans just what the moved skin spans, and not what it did."""
    head = FlatHead(meshes)
    spans = []
    for gap in (0.0, 15.0):
        placement, steps = placed(jaw_gap_mm=gap)
        area = shapes(Area, flat_picture(Flat.SIDE, head, unit, placement, steps, False))[0]
        points = np.concatenate(area.seen.loops) + area.shift_mm
        spans.append((points.min(axis=0), points.max(axis=0)))
        skin = apply(steps.skull_to_gantry, skin_points(head.skin, steps))
        flat = np.column_stack([-skin[:, 1], skin[:, 2]])
        np.testing.assert_allclose(spans[-1][0], flat.min(axis=0), atol=1e-6)
        np.testing.assert_allclose(spans[-1][1], flat.max(axis=0), atol=1e-6)
    assert np.abs(np.subtract(*spans)).max() > 2.0
