"""Panoramic pictures of the shipped case: what the phantom's picture shows, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from functools import partial

import numpy as np
import pytest

from trainer.engine.placement import chain_of, place
from trainer.errors import TrainerError
from trainer.geometry.layer import against_layer, front_middle_mm
from trainer.geometry.pose import region_place
from trainer.geometry.region import recorded_region
from trainer.geometry.transforms import apply
from trainer.models.setup import Setup
from trainer.physics.slit import row_of
from trainer.services.exports.from_case import save_case_scouts, save_case_volume
from trainer.services.panorama import (
    SHOWN_DEPTHS,
    PanoramaPicture,
    grey_of_depths,
    low_tongue,
    panorama_text,
    save_panorama,
    shown_depths,
    take_panorama,
    tooth_marks,
)
from trainer.services.scouts import ScoutHead, person_head, save_scouts
from trainer.services.volumes.record import (
    RecordingCancelled,
    default_programme,
    record_volume,
    still_ask,
)
from trainer.services.volumes.scan import VolumeAsk
from trainer.services.workbench import Workbench, open_workbench

GOOD = {"forward_mm": 0.0, "yaw_deg": 0.0, "sideways_mm": 0.0}
COARSE_MM, PIXEL_MM = 1.0, 0.8


@pytest.fixture(scope="module")
def bench() -> Workbench:
    return open_workbench("panoramic-overview")


@pytest.fixture(scope="module")
def head(bench: Workbench) -> ScoutHead:
    return person_head(bench.case.subject.person, COARSE_MM)


def asked(bench: Workbench, **changes: float) -> VolumeAsk:
    setup = bench.case.start.with_values(GOOD | changes)
    return still_ask(bench, setup, default_programme(bench, setup), seed=1)


def taken(bench: Workbench, head: ScoutHead, ask: VolumeAsk) -> PanoramaPicture:
    return take_panorama(bench, ask, head=head, pixel_mm=PIXEL_MM)


@pytest.fixture(scope="module")
def good(bench: Workbench, head: ScoutHead) -> PanoramaPicture:
    return taken(bench, head, asked(bench))


def seen_at(bench: Workbench, picture: PanoramaPicture, setup: Setup, structure: str) -> np.ndarray:
    """Rows and columns (n, 2) at which a structure's cells are shown."""
    field = bench.unit.fields[0]
    assert field.layer is not None
    s = bench.meshes.head.structure(structure)
    points = apply(chain_of(bench.meshes.head, bench.unit, setup).to_field(s.frame), s.samples_mm)
    found = against_layer(
        field.layer, bench.unit.beam, points - front_middle_mm(field, field.layer)
    )
    place_of_region = region_place(setup, bench.unit)
    ray = recorded_region(field, place_of_region, bench.unit.beam).ray_mm
    rows = [
        row_of(picture.run, bench.unit.beam, ray, float(p[2]), float(o))
        for p, o in zip(points, found.outside_mm, strict=True)
    ]
    return np.stack([np.array(rows), picture.run.column_of(found.along_mm)], axis=1)


def test_it_covers_both_jaws_and_joints(bench: Workbench, good: PanoramaPicture) -> None:
    """Everything the case requires falls on the picture, well inside of its edges."""
    rows, columns = good.projection.values.shape
    for required in bench.case.required:
        at = seen_at(bench, good, asked(bench).setup, required.structure)
        assert (at > 2.0).all()
        assert (at[:, 0] < rows - 2.0).all() and (at[:, 1] < columns - 2.0).all()


def test_teeth_are_paler_than_what_lies_beside_them(
    bench: Workbench, good: PanoramaPicture
) -> None:
    """Where the geometry puts a molar there is more in the way than beside the tooth's rows.

    Two computations meet here: the layer's formulas and the rays through the phantom.
    """
    depths = shown_depths(good)
    for tooth in ("tooth-36-crown", "tooth-46-crown"):
        at = seen_at(bench, good, asked(bench).setup, tooth)
        inside = depths[at[:, 0].round().astype(int), at[:, 1].round().astype(int)].mean()
        above = at[:, 0].min() - 2.5 / PIXEL_MM  # between the arches, which stand apart
        gap = depths[int(above), at[:, 1].round().astype(int)].mean()
        assert inside > gap


def test_the_two_sides_are_alike_when_the_head_stands_straight(good: PanoramaPicture) -> None:
    """The mean head is its own mirror image, and so is its picture, but for grain."""
    depths = shown_depths(good)
    assert np.abs(depths - depths[:, ::-1]).mean() < 0.1


def test_a_low_tongue_leaves_a_dark_band_over_the_upper_roots(
    bench: Workbench, head: ScoutHead, good: PanoramaPicture
) -> None:
    """Courses on panoramic technique: tongue down, dark band over the upper roots."""
    ask = replace(asked(bench), solids=(low_tongue(bench.meshes.head),))
    depths, before = shown_depths(taken(bench, head, ask)), shown_depths(good)
    changed = before - depths
    roots = np.concatenate(
        [seen_at(bench, good, ask.setup, f"tooth-{n}") for n in (12, 13, 14, 22, 23, 24)]
    )
    crowns = np.concatenate(
        [seen_at(bench, good, ask.setup, f"tooth-{n}-crown") for n in (33, 34, 43, 44)]
    )

    def mean(at: np.ndarray) -> float:
        return float(changed[at[:, 0].round().astype(int), at[:, 1].round().astype(int)].mean())

    assert mean(roots) > 0.05
    assert mean(roots) > 5.0 * abs(mean(crowns))
    assert changed.max() > 0.3


def test_the_front_teeth_are_narrow_when_the_head_is_too_far_forward(
    bench: Workbench, head: ScoutHead
) -> None:
    """The edge of a front tooth nearest to the next quadrant moves towards the midline."""
    widths = {}
    for forward in (-6.0, 0.0, 6.0):
        ask = asked(bench, forward_mm=forward)
        picture = taken(bench, head, ask)
        at = seen_at(bench, picture, ask.setup, "tooth-11-crown")
        widths[forward] = float(np.ptp(at[:, 1]))
    assert widths[6.0] < widths[0.0] < widths[-6.0]


def test_it_is_the_same_for_the_same_run_and_has_grain(
    bench: Workbench, head: ScoutHead, good: PanoramaPicture
) -> None:
    """Bit by bit for the same seed; another seed differs by the photons' number alone."""
    again = taken(bench, head, asked(bench))
    assert np.array_equal(again.projection.values, good.projection.values)
    other = taken(bench, head, replace(asked(bench), seed=2)).projection.values
    off = other - good.projection.values
    assert 0.0 < np.abs(off).mean() < 0.01


def test_letting_go_leaves_one_side_empty(bench: Workbench, head: ScoutHead) -> None:
    """Half the run gives half the picture; the rest has no beam and is shown black."""
    whole = asked(bench)
    picture = taken(bench, head, replace(whole, recorded_s=whole.planned_s / 2.0))
    assert picture.recorded == len(picture.run.views) // 2
    empty = picture.photons == 0.0
    assert empty[-10:].all() and not empty[:10].any()
    grey = grey_of_depths(shown_depths(picture), *SHOWN_DEPTHS)
    assert not grey[:, empty].any()
    assert "let go early" in panorama_text(picture)


def test_nothing_is_made_of_no_run_or_of_a_volume(bench: Workbench, head: ScoutHead) -> None:
    """No step, no picture; a field without layer, none either; cancelled, it ends."""
    with pytest.raises(TrainerError, match="before the first step"):
        take_panorama(bench, replace(asked(bench), recorded_s=0.0), head=head)
    with pytest.raises(RecordingCancelled):
        take_panorama(bench, asked(bench), cancelled=lambda: True, head=head)
    volume = open_workbench("lower-third-molar")
    ask = still_ask(volume, volume.case.start, default_programme(volume, volume.case.start), 1)
    with pytest.raises(TrainerError, match="has no sharp layer"):
        take_panorama(volume, ask, head=head)


def test_a_panoramic_unit_makes_no_scouts_and_no_volume(bench: Workbench, tmp_path) -> None:
    """Both are refused before any work, with what to do instead, and nothing is left."""
    with pytest.raises(TrainerError, match="'trainer panorama' draws one"):
        save_scouts(bench, bench.case.start, tmp_path / "scouts", 1.0, None)
    assert not (tmp_path / "scouts").exists()
    with pytest.raises(TrainerError, match="no volumes"):
        record_volume(bench, asked(bench))
    today = datetime(2026, 1, 2, tzinfo=UTC)
    for save in (save_case_volume, partial(save_case_scouts, spacing_mm=1.0)):
        with pytest.raises(TrainerError, match="'trainer panorama' draws one"):
            save(bench, bench.case.start, tmp_path / "dicom", today, 1)
    assert not (tmp_path / "dicom").exists()


def test_it_is_saved_marked_as_simulated(bench: Workbench, good: PanoramaPicture, tmp_path) -> None:
    """A PNG with what it is in its text; the sides stand in its pixels."""
    from PIL import Image

    path = save_panorama(bench, good, tmp_path / "panorama.png")
    with Image.open(path) as image:
        assert image.size == good.projection.values.shape[::-1]
        assert image.text["Title"] == "Simulated picture"
        assert "Not a medical device" in image.text["Disclaimer"]
        assert image.text["View"] == "panoramic"
    assert "SIMULATED" not in path.name


def test_movement_is_in_the_picture(bench: Workbench, head: ScoutHead) -> None:
    """A head that moves during the run is shown where it stood at each step: the picture changes.

    Only from the movement on: what was taken before is the same.
    """
    from trainer.models.motion import MotionCause, Movement, MovementKind

    ask = asked(bench)
    ahead = (0.0, 1.0, 0.0, 0.0, 0.0, 0.0)
    tilt = Movement(MovementKind.FRONT_BACK, 7.0, 0.3, 4.0, ahead, returns=False, seen=True)
    cause = MotionCause(age_years=29, scripted=(tilt,))
    moved = taken(bench, head, replace(ask, cause=cause))
    still = taken(bench, head, replace(ask, cause=MotionCause(age_years=29, scripted=())))
    off = np.abs(shown_depths(moved) - shown_depths(still)).mean(axis=0)
    half = len(off) // 2
    assert off[: half - 12].max() < 0.05
    assert off[half + 12 :].mean() > 0.05


def test_teeth_are_named_where_they_are_shown(bench: Workbench, good: PanoramaPicture) -> None:
    """Each number stands within the tooth's own points; most are sharp."""
    setup = asked(bench).setup
    placement = place(bench.case, bench.meshes.head, bench.points, bench.unit, setup)
    marks = {m.number: m for m in tooth_marks(bench, good, placement)}
    assert len(marks) == 32
    for number in ("11", "16", "27", "33", "46"):
        at = seen_at(bench, good, setup, f"tooth-{number}")
        mark = marks[number]
        assert at[:, 0].min() <= mark.row <= at[:, 0].max()
        assert at[:, 1].min() - 2 <= mark.column <= at[:, 1].max() + 2
    assert marks["16"].column < marks["11"].column < marks["21"].column < marks["26"].column
    assert marks["11"].row < marks["41"].row
    assert sum(m.is_sharp for m in marks.values()) >= 24
    volume = open_workbench("lower-third-molar")
    flat = place(volume.case, volume.meshes.head, volume.points, volume.unit, volume.case.start)
    assert tooth_marks(volume, good, flat) == ()
