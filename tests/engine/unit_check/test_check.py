"""What is found about units: each defect by itself, and no error in the shipped ones."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from trainer.engine.unit_check.beam import covered_radius_mm
from trainer.engine.unit_check.check import check_unit_geometry
from trainer.engine.unit_check.finding import Finding
from trainer.engine.unit_check.places import SUPPORT_RADIUS_MM
from trainer.engine.unit_check.reach import head_findings, placed_for, targets_of
from trainer.models.device import (
    FieldSize,
    LightAxis,
    LightPlace,
    LightPlane,
    MovingPart,
    Region,
    RegionPlace,
    Travel,
    Turn,
    Unit,
)
from trainer.models.meshes import HeadMeshes
from trainer.services.unit_check import mean_heads
from trainer.services.unit_io import load_unit

UNITS = Path(__file__).resolve().parents[3] / "scenarios" / "units"
ALDER = load_unit(UNITS / "alder_bench.yaml")
UPPER = Region.UPPER_JAW


@pytest.fixture(scope="module")
def heads() -> tuple[HeadMeshes, ...]:
    return mean_heads()


def with_beam(**values: float) -> Unit:
    return replace(ALDER, beam=replace(ALDER.beam, **values))


def with_place(region: Region, **values: float) -> Unit:
    return replace(
        ALDER, regions={**ALDER.regions, region: replace(ALDER.regions[region], **values)}
    )


def with_field(field: FieldSize) -> Unit:
    return replace(ALDER, fields=(*ALDER.fields, field))


def with_travel(key: str, lowest: float, highest: float) -> Unit:
    return replace(ALDER, travel={**ALDER.travel, key: Travel(lowest, highest, 1.0)})


def with_tube(**values: float) -> Unit:
    assert ALDER.tube is not None
    return replace(ALDER, tube=replace(ALDER.tube, **values))


def with_protocol(**values: float) -> Unit:
    assert ALDER.tube is not None
    first, *others = ALDER.tube.protocols
    return replace(ALDER, tube=replace(ALDER.tube, protocols=(replace(first, **values), *others)))


def with_part(**values: float) -> Unit:
    tube, *others = ALDER.moving_parts
    return replace(ALDER, moving_parts=(replace(tube, **values), *others))


def with_lights(keep: Callable[[LightPlane], bool]) -> Unit:
    return replace(ALDER, lights=tuple(x for x in ALDER.lights if keep(x)))


@pytest.mark.parametrize("path", sorted(UNITS.glob("*.yaml")), ids=lambda p: p.stem)
def test_a_shipped_unit_has_no_error(path: Path, heads: tuple[HeadMeshes, ...]) -> None:
    """Every shipped unit takes mean heads and breaks no rule."""
    assert not [f for f in check_unit_geometry(load_unit(path), heads) if f.is_error]


def test_the_unit_that_is_changed_below_is_sound(heads: tuple[HeadMeshes, ...]) -> None:
    """Nothing at all is found about the bench unit."""
    assert check_unit_geometry(ALDER, heads) == ()


def test_the_covered_width_is_that_of_the_handbook_example() -> None:
    """A detector of 304 mm, 750 mm from the source, covers 99.4 mm about an axis at 500 mm.

    Half fan 11.46 deg: r = SID sin(atan(W/2/SDD)), `reference/physics_and_dose.md` section 3.
    """
    unit = with_beam(source_to_axis_mm=500.0, source_to_detector_mm=750.0)
    radius = covered_radius_mm(unit, 152.0)
    assert radius == pytest.approx(99.3, abs=0.1)  # mm
    assert math.degrees(math.asin(radius / 500.0)) == pytest.approx(11.46, abs=0.005)


TALL = FieldSize("60x80", 60.0, 80.0, (UPPER,), (200,))
LOW = FieldSize("40x30", 40.0, 30.0, (UPPER,), (200,))
FINE = FieldSize("30x40", 30.0, 40.0, (UPPER,), (60,))
THIN = FieldSize("20x40", 20.0, 40.0, (UPPER,), (200,))
SIDEWAYS = ("sideways_mm", "field_sideways_mm")
BAR = MovingPart("low-bar", 35.0, 200.0, 20.0, -46.0, -20.0, 90.0)

# Each unit has one defect: what it is, the foremost key, and words of the sentence.
ERRORS: dict[str, tuple[Unit, tuple[str | int, ...], str]] = {
    "detector before the axis": (
        with_beam(source_to_detector_mm=390.0), ("beam", "source_to_detector_mm"),
        "390 mm from the source, not behind the axis at 400 mm"),
    "detector too narrow": (
        # 140 mm need 2 * 600 * tan(asin(70 / 400)) = 213.3 mm
        with_beam(detector_width_mm=213.0), ("fields", 7, "diameter_mm"),
        "covers 140 mm about the axis, field 140x60 needs 140"),
    "detector moved too far": (
        with_beam(detector_width_mm=240.0, detector_offset_mm=-120.0),
        ("beam", "detector_offset_mm"), "no longer sees the axis"),
    "half a detector and a short turn": (
        replace(with_beam(detector_width_mm=150.0, detector_offset_mm=40.0),
                turn=Turn(-110.0, 220.0)),
        ("turn", "sweep_deg"), "needs a whole turn; this arm turns 220 deg"),
    "upper jaw not above the lower": (
        with_place(UPPER, start_mm=0.0), ("regions", "upper-jaw", "start_mm"),
        "start at 0 mm, not above those for the lower jaw (0 mm)"),
    "field ahead of the face": (
        replace(ALDER, front_line_mm=36.0, fields=(*ALDER.fields, THIN)),
        ("fields", 8, "diameter_mm"), "ends 16 mm ahead of the chin support"),
    "part in the support": (
        replace(ALDER, moving_parts=(*ALDER.moving_parts, BAR)),
        ("moving_parts", 4, "nearest_mm"), "the low bar turns 35 mm from the axis and hits"),
    "too little filter": (
        # computed for 90 kV behind 2.5 mm Al: 3.09 mm (spekpy); at least 3.2 (IEC 60601-1-3:2008,
        # from memory)
        with_tube(aluminium_mm=2.5), ("tube", "aluminium_mm"), "at least 3.20 mm"),
}  # fmt: skip

DOUBTS: dict[str, tuple[Unit, tuple[str | int, ...], str]] = {
    "source near": (
        with_beam(source_to_axis_mm=345.0, source_to_detector_mm=520.0,
                  detector_below_mm=64.0, detector_above_mm=64.0),
        ("beam", "source_to_axis_mm"), "345 mm; 350 to 500 mm are in use"),
    "detector far": (
        with_beam(source_to_axis_mm=500.0, source_to_detector_mm=760.0),
        ("beam", "source_to_detector_mm"), "760 mm; 500 to 750 mm are in use"),
    "large magnification": (
        with_beam(source_to_detector_mm=740.0, detector_below_mm=80.0, detector_above_mm=80.0),
        ("beam", "source_to_detector_mm"), "1.85 times as large"),
    "cut by the cone": (
        # at 30 mm from the axis 41.33 * (1 - 30 / 400) = 38.2 mm above the ray are seen, 70 needed
        with_field(TALL), ("fields", 8, "height_mm"), "the cone takes 31.8 of 80 mm"),
    "voxels finer than pixels": (
        with_field(FINE), ("fields", 8, "voxels_um", 0), "are 67 µm at the axis"),
    "ray outside": (
        replace(with_place(UPPER, central_ray_mm=61.0),
                fields=tuple(f for f in ALDER.fields if UPPER not in f.regions) + (LOW,)),
        ("regions", "upper-jaw", "central_ray_mm"), "outside every upper-jaw field (30 to 60 mm)"),
    "short turn": (
        # 180 + 2 asin(70 / 400) = 200.2 deg
        with_protocol(rotation_deg=195.0), ("tube", "protocols", 0, "rotation_deg"),
        "field 140x60 needs 200"),
    "wide gap": (
        with_place(UPPER, start_mm=45.0, central_ray_mm=60.0),
        ("regions", "upper-jaw", "start_mm"), "is 45 mm; about 30 mm is common"),
    "front line in the mouth": (
        replace(ALDER, front_line_mm=10.0), ("front_line_mm",), "behind the foremost front tooth"),
    "front line far out": (
        replace(ALDER, front_line_mm=30.0), ("front_line_mm",), "16 mm before the foremost"),
    "same light twice": (
        replace(ALDER, lights=(*ALDER.lights, replace(ALDER.lights[0], id="second"))),
        ("lights", 4, "place"), "light second marks the same as light midline"),
    "no middle": (
        with_lights(lambda x: x.axis is not LightAxis.SIDEWAYS), ("lights",), "a turned head"),
    "no height": (
        with_lights(lambda x: x.axis is not LightAxis.HEIGHT), ("lights",), "shows a height"),
    "no front": (
        with_lights(lambda x: x.place is not LightPlace.FIELD_FRONT), ("lights",),
        "from front to back"),
    "weak current": (
        with_protocol(turn_mas=4.0), ("tube", "protocols", 0, "turn_mas"), "0.889 mA"),
    "slow": (
        with_protocol(scan_s=45.0), ("tube", "protocols", 0, "scan_s"), "45 s for a run"),
    "short beam": (
        with_protocol(beam_on_s=1.8), ("tube", "protocols", 0, "beam_on_s"), "1.8 s of beam"),
}  # fmt: skip


def told(unit: Unit, heads: tuple[HeadMeshes, ...] = ()) -> tuple[Finding, ...]:
    return check_unit_geometry(unit, heads)


@pytest.mark.parametrize("name", ERRORS)
def test_each_error_is_found_by_itself(name: str) -> None:
    """A unit with one defect has that one error, at its key, and no other error."""
    unit, key, words = ERRORS[name]
    errors = [f for f in told(unit) if f.is_error]
    assert {f.keys[0] for f in errors} == {key}, errors
    assert all(words in f.text for f in errors), errors


@pytest.mark.parametrize("name", DOUBTS)
def test_each_doubt_is_found_by_itself(name: str) -> None:
    """A unit with one odd number is told about that number, without an error."""
    unit, key, words = DOUBTS[name]
    found = told(unit)
    assert not [f for f in found if f.is_error]
    assert any(f.keys[0] == key and words in f.text for f in found), found
    if name not in ("ray outside", "no front"):  # what else these bring along is true, too
        assert {f.keys[0] for f in found} == {key}, found


def test_a_wide_enough_detector_is_not_told() -> None:
    """A detector of 214 mm, or one of 150 mm moved by 35 mm in a whole turn, covers 140 mm."""
    assert told(with_beam(detector_width_mm=214.0)) == ()
    assert told(with_beam(detector_width_mm=150.0, detector_offset_mm=35.0)) == ()


def test_a_unit_without_tube_has_nothing_said_of_it() -> None:
    """No tube, no finding about it."""
    assert told(replace(ALDER, tube=None)) == ()


@pytest.mark.parametrize(
    ("unit", "missed"),
    [
        # the field of 140 mm holds both joints where it stands, and the head can be moved to others
        (with_travel("field_sideways_mm", 0.0, 0.0), ""),
        # joints 51 mm to the side are out of a field of 60 mm if neither field nor head moves
        (
            replace(
                ALDER,
                fields=tuple(f for f in ALDER.fields if f.id != "140x60"),
                travel={**ALDER.travel, **dict.fromkeys(SIDEWAYS, Travel(0.0, 0.0, 1.0))},
            ),
            "condyle-left, condyle-right",
        ),
        # the chin cannot go down far enough: front teeth end 49 mm above it, their field at 80 mm
        (with_travel("chin_height_mm", 32.0, 40.0), "tooth-31"),
    ],
)
def test_travel_that_reaches_too_little_is_an_error(
    unit: Unit, missed: str, heads: tuple[HeadMeshes, ...]
) -> None:
    """Teeth and joints that no travel brings into a field are named."""
    texts = [f.text for f in told(unit, heads) if f.keys[0] == ("travel", "chin_height_mm")]
    assert bool(texts) == bool(missed)
    assert not missed or missed in texts[0]


def test_a_housing_that_is_too_near_hits_a_mean_head(heads: tuple[HeadMeshes, ...]) -> None:
    """A tube housing 120 mm from the axis reaches into the back of a mean head, once told."""
    unit = with_part(nearest_mm=120.0)
    errors = [f for f in told(unit, heads) if f.is_error]
    assert {f.keys[0] for f in errors} == {("moving_parts", 0, "nearest_mm")}
    assert all("the tube housing hits a mean" in f.text for f in errors)
    assert len(errors) == len(heads)


def test_a_detector_inside_the_head_is_told(heads: tuple[HeadMeshes, ...]) -> None:
    """40 mm from the axis the detector turns through the face; once for each head.

    Without housings: those of the shipped unit are found already by their own numbers. A head is
    about 150 wide and 195 long (Farkas, from memory), so a circle of 80 mm lies in it.
    """
    unit = replace(with_beam(source_to_detector_mm=440.0), moving_parts=())
    key = ("beam", "source_to_detector_mm")
    found = [f for f in head_findings(unit, heads) if f.keys[0] == key]
    assert len(found) == len(heads) and all(f.is_error for f in found)
    assert all("the detector goes through a mean" in f.text for f in found)


def test_the_shipped_detectors_go_round_every_mean_head(heads: tuple[HeadMeshes, ...]) -> None:
    """No shipped unit's detector meets a head."""
    for path in UNITS.glob("*.yaml"):
        unit = replace(load_unit(path), moving_parts=())
        assert not [f for f in head_findings(unit, heads) if "goes through" in f.text]


def test_targets_stand_where_the_region_holds_them(heads: tuple[HeadMeshes, ...]) -> None:
    """For the upper jaw the middle of its teeth is set to the middle of the field's height."""
    targets = targets_of(heads[0].head, ALDER)
    assert len(targets) == 32 + 2
    field = ALDER.field("80x50")
    setup = placed_for(UPPER, field, ALDER, targets)
    mine = [t for t in targets if t.id.startswith(("tooth-1", "tooth-2"))]
    middle = (min(t.bottom_mm for t in mine) + max(t.top_mm for t in mine)) / 2.0
    expected = ALDER.regions[UPPER].start_mm + field.height_mm / 2.0
    assert setup.chin_height_mm + middle == pytest.approx(expected)


def test_the_support_is_left_room() -> None:
    """A bar that turns just outside the support's reach is no error."""
    away = max(abs(ALDER.front_line_mm - f.diameter_mm / 2.0) for f in ALDER.fields)
    bar = replace(BAR, nearest_mm=away + SUPPORT_RADIUS_MM)
    assert not told(replace(ALDER, moving_parts=(*ALDER.moving_parts, bar)))


def test_errors_come_first() -> None:
    """Errors stand before doubts."""
    unit = replace(with_tube(aluminium_mm=2.5), front_line_mm=10.0)
    assert [f.is_error for f in told(unit)] == [True, False]


def test_a_place_that_is_missing_is_no_crash() -> None:
    """A unit with one region only is checked like any other."""
    only = {Region.LOWER_JAW: RegionPlace(0.0, 40.0)}
    fields = tuple(
        replace(f, regions=(Region.LOWER_JAW,))
        for f in ALDER.fields
        if Region.LOWER_JAW in f.regions
    )
    assert told(replace(ALDER, regions=only, fields=fields)) == ()
