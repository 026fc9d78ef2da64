"""Source and detector of the scouts, and where points fall."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import trainer
from trainer.errors import FrameError, NotFound, TrainerError
from trainer.geometry.pose import gantry_to_field
from trainer.geometry.transforms import apply, inverse
from trainer.models.device import Unit
from trainer.models.frames import Frame
from trainer.models.setup import Setup
from trainer.physics.views import (
    ViewGeometry,
    beside_centre,
    magnification,
    pixel_place,
    project_point,
    scout_geometry,
    seen_in_both,
    shift_from_marks,
)
from trainer.services.unit_io import load_unit

UNITS = [
    load_unit(p)
    for p in sorted((Path(trainer.__file__).parents[1] / "scenarios" / "units").glob("*.yaml"))
]
each_unit = pytest.mark.parametrize("unit", UNITS, ids=lambda u: u.id)
each_view = pytest.mark.parametrize("view", ["frontal", "lateral"])


def setup_on(unit: Unit, **values: float) -> Setup:
    """A setup with the unit's first region and that region's first field."""
    region = next(iter(unit.regions))
    field = next(f for f in unit.fields if region in f.regions)
    plain = Setup(
        unit_height_mm=1300.0,
        chin_height_mm=-5.0,
        sideways_mm=0.0,
        forward_mm=0.0,
        pitch_deg=0.0,
        yaw_deg=0.0,
        roll_deg=0.0,
        jaw_gap_mm=0.0,
        region=region,
        field=field.id,
        field_sideways_mm=12.0,
        field_forward_mm=-7.0,
        arm_turned=False,
    )
    return replace(plain, **values)


def axis_point(unit: Unit, setup: Setup) -> np.ndarray:
    """Where the central ray meets the rotation axis, in the gantry frame [mm]."""
    centre = apply(inverse(gantry_to_field(setup, unit)), np.zeros(3))
    return np.array([centre[0], centre[1], unit.regions[setup.region].central_ray_mm])


@each_unit
@each_view
def test_distances_are_those_of_the_unit(unit: Unit, view: str) -> None:
    """Source, axis and detector stand as far apart as the unit says."""
    setup = setup_on(unit)
    geometry = scout_geometry(unit, setup, view)
    axis = axis_point(unit, setup)
    assert np.linalg.norm(axis - geometry.source_mm) == pytest.approx(unit.beam.source_to_axis_mm)
    to_plane = (geometry.first_pixel_mm - geometry.source_mm) @ geometry.normal
    assert abs(to_plane) == pytest.approx(unit.beam.source_to_detector_mm)


@each_unit
@each_view
def test_things_on_the_axis_are_magnified_by_sdd_over_sid(unit: Unit, view: str) -> None:
    """Two points across the axis lie SDD / SID times as far apart on the detector."""
    setup = setup_on(unit)
    geometry = scout_geometry(unit, setup, view)
    axis = axis_point(unit, setup)
    for direction in (geometry.column_step_mm, geometry.row_step_mm):
        step = 10.0 * direction / geometry.pixel_mm
        ends = project_point(geometry, np.array([axis - step, axis + step]))
        apart_mm = np.linalg.norm(ends[1] - ends[0]) * geometry.pixel_mm
        m = unit.beam.source_to_detector_mm / unit.beam.source_to_axis_mm
        assert apart_mm == pytest.approx(20.0 * m, rel=1e-9)
        assert magnification(geometry, axis) == pytest.approx(m, rel=1e-12)


@each_unit
@each_view
def test_the_picture_covers_the_detector(unit: Unit, view: str) -> None:
    """The picture's edges stand at the detector's lower and upper limits, to a pixel."""
    setup = setup_on(unit)
    geometry = scout_geometry(unit, setup, view)
    assert max(geometry.shape) == 400
    heights = geometry.pixel_centres_mm()[..., 2] - unit.regions[setup.region].central_ray_mm
    half = geometry.pixel_mm / 2.0
    assert heights[0].max() + half == pytest.approx(unit.beam.detector_above_mm, abs=half)
    assert heights[-1].min() - half == pytest.approx(-unit.beam.detector_below_mm, abs=half)


@each_unit
@each_view
def test_the_widest_field_fits_into_the_picture(unit: Unit, view: str) -> None:
    """A cylinder of the widest diameter touches the picture's sides and does not leave it.

    Its outermost ray is a tangent: sin of half the fan is r / SID.
    """
    setup = setup_on(unit)
    geometry = scout_geometry(unit, setup, view)
    radius = max(f.diameter_mm for f in unit.fields) / 2.0
    angles = np.linspace(0.0, 2.0 * np.pi, 20001)
    rim = axis_point(unit, setup) + radius * np.stack(
        [np.cos(angles), np.sin(angles), np.zeros_like(angles)], axis=1
    )
    columns = project_point(geometry, rim)[:, 1]
    last = geometry.shape[1] - 0.5
    assert columns.min() >= -0.5 - 1e-3
    assert columns.max() <= last + 1e-3
    if geometry.shape[1] == 400:  # the width is the longer side
        assert columns.max() - columns.min() == pytest.approx(400.0, abs=0.01)


@each_unit
def test_left_is_on_the_right_of_a_frontal_picture(unit: Unit) -> None:
    """What is to the patient's left lies further right, and what is higher lies further up."""
    setup = setup_on(unit)
    geometry = scout_geometry(unit, setup, "frontal")
    here = axis_point(unit, setup)
    middle, left, high, ahead = project_point(
        geometry, here + np.array([[0, 0, 0], [10, 0, 0], [0, 0, 10], [0, -10, 0]])
    )
    assert left[1] > middle[1] + 10.0
    assert high[0] < middle[0] - 10.0
    np.testing.assert_allclose(ahead, middle, atol=1e-9)  # along the central ray
    assert geometry.left_is_patients == "right"


@each_unit
def test_a_lateral_picture_looks_to_the_right(unit: Unit) -> None:
    """What is ahead lies further right; the patient's left side is the one at the detector."""
    setup = setup_on(unit)
    geometry = scout_geometry(unit, setup, "lateral")
    here = axis_point(unit, setup)
    middle, ahead = project_point(geometry, here + np.array([[0, 0, 0], [0, -10, 0]]))
    assert ahead[1] > middle[1] + 10.0
    assert magnification(geometry, here + np.array([20.0, 0, 0])) < magnification(geometry, here)
    assert geometry.left_is_patients == "back"


@each_view
def test_the_scout_moves_with_the_field(view: str) -> None:
    """The field's middle stays in the same column wherever the field is moved."""
    unit = UNITS[0]
    columns = []
    for sideways, forward in ((0.0, 0.0), (30.0, -40.0)):
        setup = setup_on(unit, field_sideways_mm=sideways, field_forward_mm=forward)
        geometry = scout_geometry(unit, setup, view)
        columns.append(project_point(geometry, axis_point(unit, setup))[1])
    assert columns[0] == pytest.approx(columns[1], abs=1e-9)
    assert columns[0] == pytest.approx((geometry.shape[1] - 1) / 2.0, abs=1e-9)


@given(st.floats(0.0, 200.0), st.floats(0.0, 399.0), st.floats(0.05, 0.95))
def test_a_point_on_a_ray_falls_on_its_pixel(row: float, column: float, share: float) -> None:
    """Any point between source and pixel falls on that pixel."""
    g = scout_geometry(UNITS[0], setup_on(UNITS[0]), "lateral")
    pixel = g.first_pixel_mm + row * g.row_step_mm + column * g.column_step_mm
    point = g.source_mm + share * (pixel - g.source_mm)
    np.testing.assert_allclose(project_point(g, point), [row, column], atol=1e-8)


def test_what_is_behind_the_source_falls_nowhere() -> None:
    """Points behind the source, or level with it, are not on the picture."""
    g = scout_geometry(UNITS[0], setup_on(UNITS[0]), "frontal")
    towards = (g.first_pixel_mm - g.source_mm) @ g.normal * g.normal
    points = g.source_mm + np.array([[0.0], [-0.1], [0.1]]) * towards
    found = project_point(g, points)
    assert np.isnan(found[:2]).all()
    assert np.isfinite(found[2]).all()


# --- marks on scouts ------------------------------------------------------------------------------

in_the_field = st.tuples(*[st.floats(-60.0, 60.0)] * 3).map(np.array)


@given(st.floats(-50.0, 450.0), st.floats(-50.0, 450.0))
def test_a_pixels_place_falls_on_the_pixel(row: float, column: float) -> None:
    """Place and projection undo each other, also beside the picture."""
    g = scout_geometry(UNITS[0], setup_on(UNITS[0]), "frontal")
    np.testing.assert_allclose(
        project_point(g, pixel_place(g, [row, column])), [row, column], atol=1e-9
    )


@given(st.sampled_from(UNITS), in_the_field, st.floats(-30.0, 30.0), st.floats(-30.0, 10.0))
def test_two_marks_tell_the_move(
    unit: Unit, beside: np.ndarray, sideways: float, forward: float
) -> None:
    """Marks on both scouts give the move that brings the point to the field's centre, exactly."""
    setup = setup_on(unit, field_sideways_mm=sideways, field_forward_mm=forward)
    frontal, lateral = (scout_geometry(unit, setup, v) for v in ("frontal", "lateral"))
    centre = apply(inverse(gantry_to_field(setup, unit)), np.zeros(3))
    point = centre + beside
    marks = project_point(frontal, point), project_point(lateral, point)
    move = shift_from_marks(frontal, marks[0], lateral, marks[1], centre)
    np.testing.assert_allclose(move, -beside, atol=1e-7)
    found, miss = seen_in_both(frontal, marks[0], lateral, marks[1])
    np.testing.assert_allclose(found, point, atol=1e-7)
    assert miss == pytest.approx(0.0, abs=1e-7)


@given(st.sampled_from(UNITS), in_the_field)
def test_after_the_move_the_point_is_in_the_middle(unit: Unit, beside: np.ndarray) -> None:
    """Moved by what its marks say, the point falls on both scouts where the centre falls."""
    setup = setup_on(unit)
    views = [scout_geometry(unit, setup, v) for v in ("frontal", "lateral")]
    centre = apply(inverse(gantry_to_field(setup, unit)), np.zeros(3))
    marks = [project_point(g, centre + beside) for g in views]
    moved = centre + beside + shift_from_marks(views[0], marks[0], views[1], marks[1], centre)
    for g in views:
        np.testing.assert_allclose(project_point(g, moved), project_point(g, centre), atol=1e-6)


def test_marks_on_different_things_tell_it() -> None:
    """Two marks 10 mm apart in height: the middle between them, and 5 mm missed by each."""
    unit = UNITS[0]
    setup = setup_on(unit)
    frontal, lateral = (scout_geometry(unit, setup, v) for v in ("frontal", "lateral"))
    axis = axis_point(unit, setup)
    ends = axis + np.array([[0.0, 0.0, 5.0], [0.0, 0.0, -5.0]])
    point, miss = seen_in_both(
        frontal, project_point(frontal, ends[0]), lateral, project_point(lateral, ends[1])
    )
    np.testing.assert_allclose(point, axis, atol=0.1)
    assert miss == pytest.approx(5.0, abs=0.01)


@each_unit
@each_view
def test_one_mark_is_read_at_the_centres_depth(unit: Unit, view: str) -> None:
    """What is as deep as the centre is read right; what is deeper by its magnification too near."""
    setup = setup_on(unit)
    g = scout_geometry(unit, setup, view)
    centre = axis_point(unit, setup)
    right = g.column_step_mm / g.pixel_mm
    beside = 17.0 * right + np.array([0.0, 0.0, -9.0])
    found = beside_centre(g, project_point(g, centre + beside), centre)
    np.testing.assert_allclose(found, beside, atol=1e-9)
    deeper = centre + beside - 25.0 * (g.source_mm - centre) / unit.beam.source_to_axis_mm
    found = beside_centre(g, project_point(g, deeper), centre)
    sid = unit.beam.source_to_axis_mm
    np.testing.assert_allclose(found, beside * sid / (sid + 25.0), atol=1e-9)


def test_rays_that_run_the_same_way_are_refused() -> None:
    """One view twice shows no depth; views of different frames do not meet."""
    g = scout_geometry(UNITS[0], setup_on(UNITS[0]), "frontal")
    with pytest.raises(TrainerError, match="no depth"):
        seen_in_both(g, [3.0, 4.0], g, [3.0, 4.0])
    with pytest.raises(FrameError, match="gantry and field"):
        seen_in_both(g, [3.0, 4.0], replace(g, frame=Frame.FIELD), [3.0, 4.0])


# --- refusals -------------------------------------------------------------------------------------


def test_an_unknown_view_is_refused() -> None:
    """There are two scouts, and the message names them."""
    with pytest.raises(NotFound, match="'oblique'; there are frontal and lateral"):
        scout_geometry(UNITS[0], setup_on(UNITS[0]), "oblique")


def test_a_view_with_oblong_pixels_is_refused() -> None:
    """Pixels must be square, since a picture has one pixel size."""
    with pytest.raises(TrainerError, match="square"):
        ViewGeometry(
            Frame.GANTRY,
            np.zeros(3),
            np.array([0.0, -100.0, 0.0]),
            np.array([0.0, 0.0, -1.0]),
            np.array([2.0, 0.0, 0.0]),
            (4, 4),
            "right",
        )


def test_the_fan_is_the_one_of_the_formula() -> None:
    """The picture's width W gives the widest field's radius by r = SID sin(atan(W / 2 / SDD)).

    The outermost ray is a tangent of the field: plane trigonometry, worked out the other way round.
    """
    unit = next(u for u in UNITS if u.id == "alder-bench")
    g = scout_geometry(unit, setup_on(unit), "frontal")
    width = g.shape[1] * g.pixel_mm
    radius = 400.0 * math.sin(math.atan(width / 2.0 / 600.0))
    assert radius == pytest.approx(70.0, rel=1e-9)
