"""A run as the unit carries it out: views and voxels of every shipped case, and who moves when."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import RunKind
from trainer.models.frames import Frame
from trainer.models.motion import MotionCause, Movement, MovementKind
from trainer.physics.views import project_point
from trainer.services.assets import MESHES, SCENARIOS, UNITS, known_structure_ids
from trainer.services.scenario_io import find_case, load_case
from trainer.services.scouts import WORKING_TUBE
from trainer.services.unit_io import find_unit, named_files
from trainer.services.volumes.record import default_programme, still_ask
from trainer.services.volumes.scan import FOR_LEARNERS, ORDERED_VOXEL, planned_scan, poses_of
from trainer.services.workbench import Workbench, open_workbench

CASES = sorted(named_files(SCENARIOS))


@pytest.fixture(scope="module")
def bench() -> Workbench:
    """The demo case."""
    return open_workbench("lower-third-molar")


def planned(bench: Workbench, effort=FOR_LEARNERS, **programme):
    """The scan and voxels of a case's start as ordered, with some of its programme changed."""
    setup = bench.case.start
    ask = still_ask(bench, setup, replace(default_programme(bench, setup), **programme), 1)
    tube = bench.unit.tube or WORKING_TUBE
    return planned_scan(bench, ask, tube.protocol(ask.programme.protocol), effort)


@pytest.mark.parametrize("name", CASES)
def test_every_shipped_case_has_a_scan_that_fits(name: str, bench: Workbench) -> None:
    """Rays and memory stay in bounds, no voxel is finer than ordered, the field is in the rows.

    The columns hold the round field in every view; rows reach from roof to floor, or as far as the
    unit's detector does.
    """
    case = load_case(find_case(name, SCENARIOS), UNITS, known_structure_ids(MESHES))
    # only unit and case count here: another head is as good, and at hand
    bench = replace(bench, case=case, unit=find_unit(case.unit_id, UNITS))
    scan, grid = planned(bench)
    field = bench.unit.field(bench.case.start.field)
    ordered_um = default_programme(bench, bench.case.start).voxel_um
    assert grid.spacing_mm * 1000.0 >= ordered_um - 1e-9
    rays = scan.views * scan.rows * scan.columns
    assert rays < 1.5 * FOR_LEARNERS.most_rays
    assert 4 * (2 * rays + 4 * math.prod(grid.shape)) < 300e6  # bytes of lines and volumes
    radius = field.diameter_mm / 2.0
    angle = np.linspace(0.0, 2.0 * math.pi, 48)
    wall = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    beam = bench.unit.beam
    for number in (0, scan.views // 3, scan.views - 1):
        view = scan.view(number)
        for z in grid.axis_mm(2)[[0, -1]]:
            at = project_point(view, np.column_stack([wall, np.full(48, z)]))
            assert at[:, 1].min() >= 0.0 and at[:, 1].max() <= scan.columns - 1
            up = scan.top_mm - at[:, 0] * scan.pixel_mm
            assert up.max() <= scan.top_mm + 1e-6 or scan.top_mm == beam.detector_above_mm
            bottom = scan.top_mm - (scan.rows - 1) * scan.pixel_mm
            reaches = bottom <= up.min() + 1e-6
            assert reaches or bottom < -beam.detector_below_mm + scan.pixel_mm
    assert scan.top_mm <= beam.detector_above_mm


def test_a_detector_aside_is_taken_as_the_unit_says(bench: Workbench) -> None:
    """One that reaches 10 mm over the central ray on the right sees all of the field's left."""
    beam = replace(bench.unit.beam, detector_width_mm=60.0, detector_offset_mm=20.0)
    aside = replace(bench, unit=replace(bench.unit, beam=beam))
    scan, _ = planned(aside)
    ends = scan.across_mm[[0, -1]] / scan.to_axis
    assert ends == pytest.approx([-10.0, 30.8], abs=1.0)
    assert scan.columns < 0.75 * planned(bench)[0].columns
    wide = replace(beam, detector_width_mm=200.0, detector_offset_mm=0.0)
    centred = replace(bench, unit=replace(bench.unit, beam=wide))
    assert planned(centred)[0] == planned(bench)[0]


def test_fine_voxels_come_in_a_part_about_what_is_required(bench: Workbench) -> None:
    """The ordered 100 um in a cube of 20 mm that holds the middle of tooth 48."""
    scan, grid = planned(bench, ORDERED_VOXEL)
    assert grid.spacing_mm == pytest.approx(0.1)
    assert grid.shape == (200, 200, 200)
    setup = bench.case.start
    poses = poses_of(bench, still_ask(bench, setup, default_programme(bench, setup), 1), scan)
    tooth = bench.meshes.head.structures["tooth-48"]
    middle = apply(poses[0][1], tooth.hull_mm).mean(axis=0)
    low, high = (np.array([grid.axis_mm(a)[i] for a in range(3)]) for i in (0, -1))
    assert (low <= middle).all() and (middle <= high).all()
    # no more rows than the part needs
    assert scan.rows * scan.pixel_mm < 1.5 * 20.0 * 1.5
    assert scan.views > planned(bench)[0].views


def test_a_voxel_coarser_than_must_be_is_taken_as_ordered(bench: Workbench) -> None:
    """400 um are computed as 400 um; what has to be coarser goes by 5 um."""
    assert planned(bench, voxel_um=400)[1].spacing_mm == pytest.approx(0.4)
    made_um = planned(bench, voxel_um=75)[1].spacing_mm * 1000.0
    assert made_um > 75.0
    assert made_um / 5.0 == pytest.approx(round(made_um / 5.0))


def test_a_preview_has_half_the_views_and_a_short_turn_its_share(bench: Workbench) -> None:
    """Views follow the run's kind and the protocol's rotation."""
    whole = planned(bench)[0]
    assert planned(bench, run_kind=RunKind.PREVIEW)[0].views == whole.views // 2
    short = planned(bench, protocol="short")[0]
    assert short.views == round(whole.views * 210 / 360)
    assert short.arc_rad == pytest.approx(math.radians(210.0))
    assert whole.is_whole_turn and short.arc_is_enough


NOD = Movement(MovementKind.NOD, 4.0, 1.0, 3.0, (0.0, 0.0, 0.0, 1.0, 0.0, 0.0), False, True)


def test_the_head_stands_in_each_view_where_it_was_then(bench: Workbench) -> None:
    """Before a scripted nod it stands as set up, after it 3 mm away at a lever of 80 mm."""
    setup = bench.case.start
    still = still_ask(bench, setup, Programme(), 1)
    ask = replace(still, cause=MotionCause(age_years=40, scripted=(NOD,)), planned_s=16.0)
    scan, _ = planned(bench)
    fixed, moving = poses_of(bench, still, scan), poses_of(bench, ask, scan)
    at_s = scan.turned_rad / scan.arc_rad * 16.0
    contact = bench.meshes.head.chin_contact_mm
    lever = contact + np.array([0.0, 0.0, 80.0])
    for number, time_s in enumerate(at_s):
        gone = chain(moving[number][0], inverse(fixed[number][0]))
        away = float(np.linalg.norm(apply(gone, lever) - lever))
        if time_s < 3.9:
            assert away < 1e-9
        if time_s > 5.1:
            assert away == pytest.approx(3.0, abs=0.01)
        # the teeth stay together: jaw and head go as one
        jaw = chain(moving[number][1], inverse(fixed[number][1]))
        assert jaw.source is Frame.MANDIBLE
        np.testing.assert_allclose(jaw.rotation, gone.rotation, atol=1e-9)
    assert len({id(p) for p in fixed}) == 1
