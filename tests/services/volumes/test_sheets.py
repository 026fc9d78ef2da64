"""Where slices through a volume lie, and what they show of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers.volumes import AIR_HU, BALL_HU, ball_volume, placement_of
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.placement import Placement
from trainer.geometry.region import inside
from trainer.geometry.transforms import apply
from trainer.models.images import RecordedVolume
from trainer.models.scenario import ReferencePlane
from trainer.services.volumes.arch import Arch, arch_of, arch_through, to_field
from trainer.services.volumes.sheets import (
    DEEPER,
    FLAT_PLANES,
    UNIT_AXES,
    Plane,
    flat_sheet,
    level_axes,
    moved,
)
from trainer.services.volumes.slices import NOTHING_HU, Sight, SlicedVolume
from trainer.services.workbench import Workbench, open_workbench

BALL_MM = (-7.0, 4.0, 6.0)
SIZE = (140, 160)


@pytest.fixture(scope="module")
def bench() -> Workbench:
    """A case with all teeth of both jaws in its field."""
    return open_workbench("both-jaws")


@pytest.fixture(scope="module")
def tilted(bench: Workbench) -> RecordedVolume:
    """A ball, and a head that is turned about all three axes."""
    setup = replace(bench.case.start, pitch_deg=8.0, yaw_deg=6.0, roll_deg=-5.0)
    return ball_volume(bench, setup, BALL_MM)


@pytest.fixture(scope="module")
def placement(bench: Workbench) -> Placement:
    """What stands where at the case's start."""
    return placement_of(bench, bench.case.start)


@pytest.fixture(scope="module")
def sliced(bench: Workbench, placement: Placement) -> SlicedVolume:
    """A ball in the field of the case's start."""
    volume = ball_volume(bench, bench.case.start, BALL_MM)
    return SlicedVolume(volume, placement.region, placement.required)


@pytest.fixture(scope="module")
def arch(bench: Workbench, sliced: SlicedVolume) -> Arch:
    """The upper arch, along the unit's axes."""
    return arch_of(bench.meshes.head, False, sliced.volume, UNIT_AXES)


@pytest.mark.parametrize("plane", FLAT_PLANES)
def test_a_ball_is_seen_where_it_is(sliced: SlicedVolume, arch: Arch, plane: Plane) -> None:
    """The brightest place of a slice through a ball is the ball, to a voxel."""
    sheet = sliced.sheet(plane, Sight(np.array(BALL_MM)), arch, SIZE)
    found = sliced.slice(sheet)
    rows, columns = np.nonzero(found.values > BALL_HU / 2)
    row, column = sheet.place_of(np.array(BALL_MM))
    assert abs(rows.mean() - row) * sheet.pixel_mm < 0.5
    assert abs(columns.mean() - column) * sheet.pixel_mm < 0.5
    # 3 mm wide, as it was made
    width = np.sqrt(4.0 / np.pi * len(rows)) * sheet.pixel_mm
    assert width == pytest.approx(3.0, abs=0.3)


def test_the_patients_left_is_on_the_right_and_the_front_on_top(sliced, arch) -> None:
    """As if seen from the feet and from in front (common practice in radiology, DICOM's LPS)."""
    size = (SIZE[0] - 1, SIZE[1] - 1)
    middle = (size[0] // 2, size[1] // 2)
    way = {}
    for plane in FLAT_PLANES:
        points = sliced.sheet(plane, Sight(), arch, size).points()
        here = points[middle]
        way[plane] = (points[middle[0], -1] - here, points[0, middle[1]] - here)
    left, back, up = np.eye(3)
    for plane, right, top in (
        (Plane.AXIAL, left, -back),
        (Plane.CORONAL, left, up),
        (Plane.SAGITTAL, -back, up),
    ):
        for found, wanted in zip(way[plane], (right, top), strict=True):
            np.testing.assert_allclose(found / np.linalg.norm(found), wanted, atol=1e-12)


PLACES = st.floats(-15.0, 15.0)


@given(st.sampled_from(FLAT_PLANES), PLACES, PLACES, PLACES, st.floats(-4, 4), st.floats(-4, 4))
def test_a_place_of_the_picture_leads_back_to_its_point(plane, x, y, z, right, down) -> None:
    """From point to pixel and back within half a pixel; a step goes as far as it says."""
    point = np.array([x, y, z])
    sheet = flat_sheet(plane, UNIT_AXES, point, np.zeros(3), 0.4, (120, 120))
    row, column = sheet.place_of(point)
    assert np.linalg.norm(sheet.point_at(row, column) - point) <= 0.2 + 1e-9
    there = moved(sheet, point, right, down)
    assert np.linalg.norm(there - point) == pytest.approx(np.hypot(right, down), abs=1e-9)
    axis, _ = DEEPER[plane]
    assert there[axis] == pytest.approx(point[axis], abs=1e-9)


def test_what_was_not_recorded_holds_nothing(sliced: SlicedVolume, arch: Arch) -> None:
    """Where the region does not reach there is no value, and the rim lies at its edge."""
    sheet = sliced.sheet(Plane.AXIAL, Sight(), arch, SIZE)
    found = sliced.slice(sheet)
    assert (found.recorded == inside(sliced.region, sheet.points())).all()
    assert 0.3 < found.recorded.mean() < 0.9
    assert (found.values[~found.recorded] == NOTHING_HU).all()
    rim = np.hypot(*(sheet.points()[found.rim][:, :2]).T)
    assert (np.abs(rim - sliced.region.radius_mm) < 2.0 * sheet.pixel_mm).all()


def test_marks_lie_on_what_they_name(bench, placement, sliced, arch) -> None:
    """Every pixel of a mark is within its own samples' cells, and every required thing is met."""
    met = set()
    for z in np.arange(-70.0, 70.0, 1.5):
        sheet = sliced.sheet(Plane.AXIAL, Sight(np.array([0.0, 0.0, z])), arch, SIZE)
        for name, mask in sliced.slice(sheet, marked=True).marks.items():
            met.add(name)
            structure = sliced.required[name].structure
            samples = apply(to_field(sliced.volume, structure.frame), structure.samples_mm)
            pixels = sheet.points()[mask]
            gaps = np.linalg.norm(pixels[:, None] - samples[None], axis=2).min(axis=1)
            assert gaps.max() <= 1.2 * structure.cell_mm
    assert met == {s.structure.id for s in placement.required}


def test_no_marks_unless_they_are_asked_for(sliced: SlicedVolume, arch: Arch) -> None:
    """A slice without outlines names nothing."""
    assert not sliced.slice(sliced.sheet(Plane.CORONAL, Sight(), arch, SIZE)).marks


def test_levelled_slices_follow_the_frankfort_plane(bench, tilted: RecordedVolume) -> None:
    """Both porions and the left orbitale are at one height, the midline runs straight.

    The plane is defined by these points (Frankfort agreement of 1884, as `models` states it).
    """
    head = bench.meshes.head
    axes = level_axes(ReferencePlane.FRANKFORT, head, tilted)
    np.testing.assert_allclose(axes.T @ axes, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    marks = head.landmarks_mm
    names = ("porion-left", "porion-right", "orbitale-left", "orbitale-right")
    there = apply(tilted.skull_to_field, np.stack([marks[n] for n in names])) @ axes
    assert np.ptp(there[:, 2]) < 0.05
    assert abs(there[0, 1] - there[1, 1]) < 0.05
    # before, they were not
    assert np.ptp(apply(tilted.skull_to_field, np.stack([marks[n] for n in names]))[:, 2]) > 3.0


@pytest.mark.parametrize("lower", [False, True])
@pytest.mark.parametrize("turned", [False, True])
def test_the_arch_runs_through_the_teeth_from_right_to_left(bench, tilted, lower, turned) -> None:
    """Every tooth's middle lies within 2.5 mm of the line; 18 or 48 comes first."""
    head = bench.meshes.head
    axes = level_axes(ReferencePlane.FRANKFORT, head, tilted) if turned else UNIT_AXES
    arch = arch_of(head, lower, tilted, axes)
    first, last = ("4", "3") if lower else ("1", "2")
    names = [f"tooth-{first}{n}" for n in range(8, 0, -1)]
    names += [f"tooth-{last}{n}" for n in range(1, 9)]
    along = []
    for name in names:
        tooth = head.structures[name]
        x, y, _ = apply(to_field(tilted, tooth.frame), tooth.centre_mm) @ axes
        nearest = arch.nearest(x, y)
        assert np.hypot(*(arch.line[nearest] - [x, y])) < 2.5, name
        along.append(arch.along_mm[nearest])
    assert (np.diff(along) > 0).all()
    # outward is away from the tongue
    middle = arch.line[len(arch.line) // 2]
    assert arch.outward[len(arch.line) // 2] @ (middle - arch.line.mean(axis=0)) > 0


def test_the_arch_is_as_long_as_the_curve() -> None:
    """Through a half circle of 25 mm: 25 pi long, and 18 mm straight on behind at each end."""
    angle = np.linspace(np.pi, 0.0, 15)
    arch = arch_through(25.0 * np.stack([np.cos(angle), -np.sin(angle)], axis=1))
    assert arch.along_mm[-1] == pytest.approx(25.0 * np.pi + 36.0, rel=0.02)
    outside = arch.places(arch.along_mm, 5.0)
    middle = len(outside) // 2
    assert np.hypot(*outside[middle]) == pytest.approx(30.0, abs=0.5)


def test_the_slice_along_the_arch_shows_every_tooth(placement, sliced, arch) -> None:
    """The marks of the upper teeth stand from left to right in the order of the arch."""
    order = [f"tooth-1{n}" for n in range(8, 0, -1)] + [f"tooth-2{n}" for n in range(1, 9)]
    teeth = [s for s in placement.structures if s.structure.id in order]
    upper = SlicedVolume(sliced.volume, sliced.region, teeth)
    marks = upper.slice(upper.sheet(Plane.ARCH, Sight(), arch, (160, 400)), marked=True).marks
    assert marks.keys() == set(order)
    columns = [np.nonzero(marks[n])[1].mean() for n in order]
    assert (np.diff(columns) > 0).all()


def test_the_air_of_the_volume_is_air(sliced: SlicedVolume, arch: Arch) -> None:
    """Away from the ball every recorded place has the value of air, to the last bit."""
    found = sliced.slice(sliced.sheet(Plane.AXIAL, Sight(np.array([0.0, 0.0, -10.0])), arch, SIZE))
    assert (found.values[found.recorded] == AIR_HU).all()
