"""Unit files: what is read, the trade's check values, and which faults are found."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from trainer.errors import Fault, NotFound, NotValid
from trainer.models.controls import NUMBER_KEYS
from trainer.models.device import LightAxis, LightPlace, MovingPart, Region, Turn, Unit
from trainer.physics.dose import spectrum_of
from trainer.physics.spectrum import air_kerma_ugy
from trainer.services.scenario_io import check_file
from trainer.services.unit_io import find_unit, load_unit

UNITS = Path(__file__).resolve().parents[2] / "scenarios" / "units"
FILES = sorted(UNITS.glob("*.yaml"))
ALDER = UNITS / "alder_bench.yaml"


@pytest.fixture(scope="module")
def alder() -> Unit:
    return load_unit(ALDER)


@pytest.fixture(scope="module")
def units() -> list[Unit]:
    """Those that make volumes."""
    return [unit for unit in map(load_unit, FILES) if not unit.is_panoramic]


def faults_of(tmp_path: Path, text: str) -> list[Fault]:
    path = tmp_path / "unit.yaml"
    path.write_text(text, encoding="utf-8")
    return list(check_file(path, UNITS))


def span(unit: Unit, region: Region, height_mm: float) -> tuple[float, float]:
    """Floor and roof above the zero plane of the fields of that height which serve the region."""
    found = {f.height_mm for f in unit.fields if region in f.regions and f.height_mm == height_mm}
    assert found == {height_mm}
    start = unit.regions[region].start_mm
    return start, start + height_mm


@pytest.mark.parametrize(
    ("region", "height_mm", "expected"),
    [
        (Region.UPPER_JAW, 50.0, (30.0, 80.0)),
        (Region.LOWER_JAW, 50.0, (0.0, 50.0)),
        (Region.BOTH_JAWS, 80.0, (0.0, 80.0)),
    ],
)
def test_fields_start_where_the_trade_has_them(
    alder: Unit, region: Region, height_mm: float, expected: tuple[float, float]
) -> None:
    """A 50 mm field spans 30-80 mm (upper) or 0-50 mm (lower), both jaws 0-80 mm.

    Common practice, no source.
    """
    assert span(alder, region, height_mm) == expected


def test_the_free_gap_under_the_upper_jaw_is_30_mm(alder: Unit) -> None:
    """The upper-jaw field leaves 30 mm free above the zero plane (common practice, no source)."""
    assert alder.regions[Region.UPPER_JAW].start_mm == 30.0


def test_the_finest_voxel_is_75_um_on_the_smallest_fields(alder: Unit) -> None:
    """75 um is the finest voxel, on the smallest fields only (common practice, no source)."""
    finest = min(v for f in alder.fields for v in f.voxels_um)
    assert finest == 75
    having = [f.volume_mm3 for f in alder.fields if finest in f.voxels_um]
    others = [f.volume_mm3 for f in alder.fields if finest not in f.voxels_um]
    assert max(having) < min(others)


def test_an_arch_field_is_80_or_100_mm_wide(alder: Unit) -> None:
    """The fields for whole jaws are 80 or 100 mm wide (common practice, no source)."""
    for height_mm in (50.0, 80.0):
        widths = {f.diameter_mm for f in alder.fields if f.height_mm == height_mm}
        assert widths - {50.0} == {80.0, 100.0}


def test_the_front_edge_stands_just_before_the_front_teeth(units: list[Unit]) -> None:
    """The front line stands 2 to 3 mm before the foremost front tooth of the mean man.

    The tooth stands 94.5 - 80.5 = 14 mm ahead of the chin contact (the project's constructed
    landmarks); "just before" is common practice, no source. The 100 mm field then runs 100 mm back.
    """
    for unit in units:
        assert 2.0 <= unit.front_line_mm - (94.5 - 80.5) <= 3.0


def test_an_unmoved_80_mm_field_stands_on_the_parked_axis(alder: Unit) -> None:
    """The parked axis is in the middle of an unmoved 80 mm field, as the file's comment says."""
    assert alder.support_forward_mm + alder.front_line_mm - 80.0 / 2 == 0.0


def test_the_beam_lies_in_the_usual_ranges(units: list[Unit]) -> None:
    """Source-axis 350-500 mm, source-detector 500-750 mm, magnification 1.3-1.6.

    From memory: technical reviews 2013-2021, pooled.
    """
    for unit in units:
        axis, detector = unit.beam.source_to_axis_mm, unit.beam.source_to_detector_mm
        assert 350 <= axis <= 500 and 500 <= detector <= 750
        assert 1.3 <= detector / axis <= 1.6


def test_the_detector_holds_every_field_on_the_axis_with_a_small_reserve(
    units: list[Unit],
) -> None:
    """On the axis every field is seen whole; the tallest loses 1 to 6 mm at its nearest rim.

    Similar triangles: a height z at distance d from the source falls on the detector at z SDD / d.
    """
    for unit in units:
        beam, losses, reserves = unit.beam, [], []
        for field in unit.fields:
            for region in field.regions:
                place = unit.regions[region]
                below = place.central_ray_mm - place.start_mm
                above = field.height_mm - below
                for need, have in (
                    (below, beam.detector_below_mm),
                    (above, beam.detector_above_mm),
                ):
                    at_axis = have * beam.source_to_axis_mm / beam.source_to_detector_mm
                    near = beam.source_to_axis_mm - field.diameter_mm / 2
                    reserves.append(at_axis - need)
                    losses.append(need - have * near / beam.source_to_detector_mm)
        assert 0.0 < min(reserves) < 3.0
        assert 1.0 < max(losses) < 6.0


def test_every_number_control_has_its_travel(units: list[Unit]) -> None:
    """Each unit gives travel for every number control; all but the height contain 0."""
    for unit in units:
        assert tuple(unit.travel) == NUMBER_KEYS
        for key, travel in unit.travel.items():
            assert travel.lowest < travel.highest and travel.step > 0
            if key != "unit_height_mm":
                assert travel.lowest <= 0 <= travel.highest


def test_a_joint_lies_within_the_travel_of_the_field(units: list[Unit]) -> None:
    """The smallest joint field of every unit can be centred on either joint of the mean man.

    Condyle centre 51 mm to the side and 69 mm behind the chin contact (the project's constructed
    landmarks, from CT-1 and Bonwill's triangle).
    """
    for unit in units:
        diameter = min(f.diameter_mm for f in unit.fields if Region.JOINTS in f.regions)
        forward = -69.0 - unit.front_line_mm + diameter / 2
        assert unit.travel["field_forward_mm"].lowest <= forward
        assert unit.travel["field_sideways_mm"].lowest <= -51
        assert unit.travel["field_sideways_mm"].highest >= 51


def test_the_units_differ(units: list[Unit]) -> None:
    """Three units are shipped; fields, gap, travel, lights and beam differ between any two."""
    assert len(units) == 3
    for n, a in enumerate(units):
        for b in units[:n]:
            assert not {f.id for f in a.fields} & {f.id for f in b.fields}
            assert a.regions[Region.UPPER_JAW] != b.regions[Region.UPPER_JAW]
            assert a.travel != b.travel and a.lights != b.lights and a.beam != b.beam


def test_the_units_say_that_they_are_invented() -> None:
    """The note and the first line of every unit file say that the unit is invented."""
    for path in FILES:
        unit = load_unit(path)
        assert unit.note.startswith("Invented unit for training; no real machine")
        assert "invented" in path.read_text(encoding="utf-8").splitlines()[0]


def test_field_ids_say_diameter_and_height(units: list[Unit]) -> None:
    """A field's id is its diameter and height, so that a person can read it."""
    for unit in units:
        for field in unit.fields:
            assert field.id == f"{field.diameter_mm:g}x{field.height_mm:g}"
            assert field.volume_mm3 == pytest.approx(
                math.pi * (field.diameter_mm / 2) ** 2 * field.height_mm, rel=1e-12
            )


def test_lights_are_read(alder: Unit) -> None:
    """The front edge's light faces forward and is seen only with the arm turned."""
    front = next(light for light in alder.lights if light.place is LightPlace.FIELD_FRONT)
    assert front.axis is LightAxis.FORWARD and front.arm_turned_only is True
    assert [light.arm_turned_only for light in alder.lights].count(True) == 1


def test_moving_parts_are_read(alder: Unit) -> None:
    """The detector housing faces the tube, and its numbers are the file's."""
    tube, detector = alder.moving_parts[:2]
    assert detector == MovingPart("detector-housing", 188.0, 260.0, 95.0, -46.0, 300.0, 180.0)
    assert detector.name == "the detector housing"
    assert abs(detector.angle_deg - tube.angle_deg) == 180.0
    assert alder.turn == Turn(0.0, 360.0)


def test_the_housings_hold_source_and_detector(units: list[Unit]) -> None:
    """Tube and detector housing reach round the source and the detector of the beam.

    At every height that a region's central ray and the detector's reach ask for.
    """
    for unit in units:
        beam = unit.beam
        tube, detector = unit.moving_parts[:2]
        assert tube.nearest_mm < beam.source_to_axis_mm < tube.farthest_mm
        behind = beam.source_to_detector_mm - beam.source_to_axis_mm
        assert detector.nearest_mm < behind < detector.farthest_mm
        for place in unit.regions.values():
            assert tube.bottom_mm < place.central_ray_mm < tube.top_mm
            assert detector.bottom_mm < place.central_ray_mm - beam.detector_below_mm
            assert detector.top_mm > place.central_ray_mm + beam.detector_above_mm


def test_a_short_turn_holds_half_a_turn_and_the_fan(units: list[Unit]) -> None:
    """A turn is whole, or at least 180 deg and the fan of the widest field (short-scan formula)."""
    for unit in units:
        widest = max(f.diameter_mm for f in unit.fields) / 2.0
        fan = math.degrees(math.asin(widest / unit.beam.source_to_axis_mm))
        assert unit.turn.sweep_deg >= min(360.0, 180.0 + 2.0 * fan)


def test_a_unit_is_found_by_id() -> None:
    """`alder-bench` is the file `alder_bench.yaml`."""
    assert find_unit("alder-bench", UNITS).name == "Alder bench unit"


@pytest.mark.parametrize("name", ["alder-bank", "../units/alder-bench", "alder_bench"])
def test_an_unknown_unit_offers_the_nearest(name: str) -> None:
    """A name that is no unit is told with the nearest; a name is never taken for a path."""
    with pytest.raises(NotFound, match="did you mean 'alder-bench'"):
        find_unit(name, UNITS)


def test_a_unit_under_another_name_is_not_found(tmp_path: Path) -> None:
    """A file whose id is not its name is told, not silently taken."""
    (tmp_path / "birch_wall.yaml").write_bytes(ALDER.read_bytes())
    with pytest.raises(NotFound, match="holds unit 'alder-bench', expected 'birch-wall'"):
        find_unit("birch-wall", tmp_path)


def test_a_folder_without_units_says_so(tmp_path: Path) -> None:
    """An empty or missing folder is told as one without units."""
    for folder in (tmp_path, tmp_path / "gone"):
        with pytest.raises(NotFound, match="there are none"):
            find_unit("alder-bench", folder)


# what is wrong: old text, new text, lines below the change, key, words
# Lines on which a fault is told that a change elsewhere brings.
FIRST_PROTOCOL, COARSE_VOXEL = "      rotation_deg: 360", "    voxels_um: [250, 400]"
ONE_FAULT = {
    "unknown key": ("name: Alder", "qqq: x\nname: Alder", 0, "qqq",
                    "unknown key; known here: schema_version, kind, id, name, note, "
                    "support_forward_mm, front_line_mm, regions, fields, travel, lights, beam, "
                    "turn, moving_parts, tube"),
    "field height": ("    height_mm: 40\n", "    height_mm: 4\n", 0, "fields[0].height_mm",
                     "must be 20 to 250 mm, got 4"),
    "field too tall": ("    height_mm: 40\n", "    height_mm: 55\n", 0, "fields[0].height_mm",
                       "on the axis the detector sees -41.3 to 41.3 mm about the central ray, "
                       "the upper-jaw field needs -10 to 45"),
    "field id twice": ("  - id: 50x50", "  - id: 40x40", 0, "fields[1].id",
                       "'40x40' is used twice, first in line {first}"),
    "region not there": ("  joints:\n    start_mm: 70\n    central_ray_mm: 100\n", "", None,
                         "fields[2].regions[1]",
                         "joints is not among this unit's regions (lower-jaw, upper-jaw, "
                         "both-jaws)"),
    "region twice": ("    regions: [joints]", "    regions: [joints, joints]", 0,
                     "fields[7].regions[1]", "'joints' is listed twice"),
    "unknown region": ("    regions: [joints]", "    regions: [joint]", 0,
                       "fields[7].regions[0]",
                       "must be one of lower-jaw, upper-jaw, both-jaws, joints; got 'joint', "
                       "did you mean 'joints'?"),
    "no regions": ("    regions: [joints]", "    regions: []", 0, "fields[7].regions",
                   "must hold 1 to 4 entries, got 0"),
    "voxel no whole number": ("    voxels_um: [250, 400]", "    voxels_um: [250, 0.4]", 0,
                              "fields[7].voxels_um[1]", "must be a whole number, got 0.4"),
    "voxel too fine": ("    voxels_um: [250, 400]", "    voxels_um: [25, 400]", 0,
                       "fields[7].voxels_um[0]", "must be 50 to 1000 µm, got 25"),
    "travel upside down": ("    lowest: -60\n", "    lowest: 60\n", 1,
                           "travel.chin_height_mm.highest",
                           "must be at least lowest (60), got 40"),
    "step too long": ("    lowest: -60\n    highest: 40\n    step: 1\n",
                      "    lowest: 0\n    highest: 2\n    step: 3\n", 2,
                      "travel.chin_height_mm.step", "must be at most the whole way (2), got 3"),
    "no step": ("    highest: 15\n    step: 0.5", "    highest: 15\n    step: 0", 1,
                "travel.field_forward_mm.step", "must be above 0 mm and at most 50 mm, got 0"),
    "light faces the wrong way": ("    axis: sideways", "    axis: height", 0, "lights[0].axis",
                                  "a light at the unit-midline faces sideways, got 'height'"),
    "light place": ("    place: field-front", "    place: field-from", 0, "lights[3].place",
                    "must be one of unit-midline, zero-plane, field-front, field-centre, "
                    "field-floor, field-roof, groove; got 'field-from', did you mean "
                    "'field-front'?"),
    "detector before the axis": ("  source_to_detector_mm: 600", "  source_to_detector_mm: 390",
                                 0, "beam.source_to_detector_mm",
                                 "must be above source_to_axis_mm (400 mm), got 390"),
    "part inside out": ("    farthest_mm: 260\n    half_width_mm: 95",
                        "    farthest_mm: 160\n    half_width_mm: 95", 0,
                        "moving_parts[1].farthest_mm",
                        "must be above nearest_mm (188 mm), got 160"),
    "part upside down": ("    bottom_mm: -46", "    bottom_mm: 346", 1, "moving_parts[1].top_mm",
                         "must be above bottom_mm (346 mm), got 300"),
    "part in the field": ("    nearest_mm: 188", "    nearest_mm: 60", 0,
                          "moving_parts[1].nearest_mm", "reaches into the field 140x60, got 60"),
    "part twice": ("  - id: arm-over-tube", "  - id: tube-housing", 0, "moving_parts[2].id",
                   "'tube-housing' is used twice, first in line {tube}"),
    "voltage": ("  kvp: 90", "  kvp: 140", 0, "tube.kvp", "must be 60 to 120, got 140"),
    "thin filter": ("  aluminium_mm: 3", "  aluminium_mm: 2", 0, "tube.aluminium_mm",
                    "must be 2.5 to 20 mm, got 2"),
    "turn beyond the arm": ("  sweep_deg: 360", "  sweep_deg: 300", FIRST_PROTOCOL,
                            "tube.protocols[0].rotation_deg",
                            "must be at most the arm's sweep_deg (300 deg), got 360"),
    "beam beyond the run": ("      beam_on_s: 2.62", "      beam_on_s: 26.2", 0,
                            "tube.protocols[3].beam_on_s",
                            "must be at most scan_s (9.33 s), got 26.2"),
    "protocol twice": ("    - id: large-adult", "    - id: child", 0, "tube.protocols[2].id",
                       "'child' is used twice, first in line {child}"),
    "voxels fall": ("    - up_to_um: 200", "    - up_to_um: 90", 0,
                    "tube.voxel_factors[1].up_to_um",
                    "must be above the one before (100 µm), got 90"),
    "coarse costs more": ("      mas_factor: 0.7", "      mas_factor: 1.7", 0,
                          "tube.voxel_factors[2].mas_factor",
                          "coarser voxels cannot cost more than finer ones (1), got 1.7"),
    "voxel without a charge": ("    - up_to_um: 400", "    - up_to_um: 300", COARSE_VOXEL,
                               "fields[7].voxels_um[1]",
                               "the tube's voxel_factors end at 300 µm, got 400"),
    "turn too short": ("  sweep_deg: 360", "  sweep_deg: 90", 0, "turn.sweep_deg",
                       "must be 180 to 360 deg, got 90"),
}  # fmt: skip


@pytest.mark.parametrize("name", ONE_FAULT)
def test_one_fault_is_told_with_line_key_and_words(tmp_path: Path, name: str) -> None:
    """A unit file with one fault gives that fault first, on the line where it stands."""
    old, new, below, key, words = ONE_FAULT[name]
    text = ALDER.read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    broken = text.replace(old, new)
    fault = faults_of(tmp_path, broken)[0]
    first = text.splitlines().index("  - id: 40x40") + 1
    tube = text.splitlines().index("  - id: tube-housing") + 1
    child = text.splitlines().index("    - id: child") + 1
    if isinstance(below, str):
        line = broken.splitlines().index(below) + 1
    elif below is None:
        line = broken.splitlines().index("    regions: [lower-jaw, joints]") + 1
    else:
        line = text[: text.index(old)].count("\n") + 1 + below
    path = str(tmp_path / "unit.yaml")
    assert fault == Fault(path, line, key, words.format(first=first, tube=tube, child=child))


def test_a_region_without_a_field_is_told(tmp_path: Path) -> None:
    """A region that no field serves is a fault of the region."""
    text = ALDER.read_text(encoding="utf-8").replace("[both-jaws]", "[lower-jaw]")
    found = [f for f in faults_of(tmp_path, text) if f.key == "regions.both-jaws"]
    line = text.splitlines().index("  both-jaws:") + 1
    assert [(f.line, f.text) for f in found] == [(line, "no field of this unit serves the region")]


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """Faults in travel, lights, fields and beam are all told in one go."""
    text = ALDER.read_text(encoding="utf-8")
    for old, new in (
        ("    lowest: -60\n", "    lowest: 60\n"),
        ("    axis: sideways", "    axis: height"),
        ("  - id: 50x50", "  - id: 40x40"),
        ("  detector_above_mm: 62", "  detector_above_mm: 0"),
    ):
        text = text.replace(old, new)
    path = tmp_path / "unit.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(NotValid) as told:
        load_unit(path)
    assert [f.key for f in told.value.faults] == [
        "fields[1].id", "travel.chin_height_mm.highest", "lights[0].axis",
        "beam.detector_above_mm",
    ]  # fmt: skip


def test_the_tube_is_read(alder: Unit) -> None:
    """Voltage, filters, presets and factors arrive as written; children's take less charge."""
    tube = alder.tube
    assert tube is not None
    assert (tube.kvp, tube.aluminium_mm, tube.copper_mm) == (90.0, 3.0, 0.0)
    assert [p.id for p in tube.protocols] == ["adult", "child", "large-adult", "short"]
    adult, child, large, short = tube.protocols
    assert (adult.turn_mas, adult.beam_on_s, adult.scan_s) == (28.0, 4.5, 16.0)
    assert child.turn_mas == pytest.approx(0.6 * adult.turn_mas)
    assert large.turn_mas == pytest.approx(1.4 * adult.turn_mas)
    assert short.mas == pytest.approx(adult.mas * 210.0 / 360.0)
    assert tube.voxel_factor(75) == 1.4 and tube.voxel_factor(400) == 0.7


@pytest.mark.parametrize("path", sorted(UNITS.glob("*.yaml")), ids=lambda p: p.stem)
def test_a_shipped_tube_serves_every_field(path: Path) -> None:
    """Every voxel of every field has a charge, every preset a length, the voltage a spectrum."""
    unit = load_unit(path)
    assert unit.tube is not None
    assert air_kerma_ugy(spectrum_of(unit.tube)) > 0.0
    for field in unit.fields:
        for voxel in field.voxels_um:
            assert unit.tube.voxel_factor(voxel) > 0.0
    for protocol in unit.tube.protocols:
        assert protocol.rotation_deg <= unit.turn.sweep_deg


def test_a_unit_may_leave_its_tube_out(tmp_path: Path) -> None:
    """Then nothing is known of how it exposes."""
    text = ALDER.read_text(encoding="utf-8").split("\n# All invented, within what such tubes")[0]
    path = tmp_path / "unit.yaml"
    path.write_text(text, encoding="utf-8")
    assert load_unit(path).tube is None
