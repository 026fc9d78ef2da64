"""Placement against a boolean library, symmetry, and the trade's own numbers."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.anatomy.head.structures import mirror_name, named_solids, structure_of
from trainer.anatomy.shapes.meshing import Mesh
from trainer.engine.placement import Edge, Way, attitude_against, chain_of, place
from trainer.engine.points import pack
from trainer.geometry.cylinders import target_cylinder
from trainer.geometry.region import RecordedRegion, region_profile
from trainer.geometry.transforms import apply, attitude_rotation
from trainer.models.device import Region
from trainer.models.frames import Frame, Side
from trainer.models.scenario import ReferencePlane
from trainer.models.structures import StructureKind
from trainer.models.subject import MEAN_MAN, MEANS

MIRRORED_KEYS = ("sideways_mm", "yaw_deg", "roll_deg", "field_sideways_mm")


@pytest.fixture(scope="module")
def solid_meshes():
    """A few structures of every kind with the very surfaces they were sampled from."""
    wanted = {
        "tooth-38",
        "tooth-21",
        "tooth-26-crown",
        "condyle-left",
        "canal-left",
        "chin",
        "sinus-left",
        "tooth-36-apex-distal",
    }
    found = {}
    for solid in named_solids(MEAN_MAN):
        if solid.id in wanted:
            found[solid.id] = structure_of(solid)
    assert set(found) == wanted
    return found


def boolean_share(mesh: Mesh, matrix: np.ndarray, region: RecordedRegion) -> float:
    """Share of a closed surface inside the region, by the boolean library manifold3d."""
    body = manifold3d.Manifold(
        manifold3d.Mesh(mesh.vertices_mm.astype(np.float32), mesh.faces.astype(np.uint32))
    )
    assert body.status() == manifold3d.Error.NoError
    body = body.transform(matrix[:3])
    # revolving (radius, height) about the height axis makes the region
    cross = manifold3d.CrossSection([region_profile(region, 200)[::-1]])
    solid = manifold3d.Manifold.revolve(cross, 720)
    assert solid.volume() > 0
    return float((body ^ solid).volume() / body.volume())


@pytest.mark.parametrize("seed", range(40))
def test_share_against_boolean_library(seed, solid_meshes, heads, bench):
    """The inside share differs from mesh ∩ region by at most 0.5 points."""
    rng = np.random.default_rng(seed)
    case, unit = bench("both-jaws")
    case = replace(case, guard_rim_mm=0.0)
    setup = replace(
        case.start,
        pitch_deg=rng.uniform(-15, 15),
        yaw_deg=rng.uniform(-15, 15),
        roll_deg=rng.uniform(-10, 10),
        jaw_gap_mm=rng.uniform(0, 15),
    )
    head = heads[MEAN_MAN]
    structure, mesh = list(solid_meshes.values())[seed % len(solid_meshes)]
    # put the field so that its edge cuts the structure
    field = min(unit.fields, key=lambda f: f.volume_mm3)
    setup = replace(setup, field=field.id, region=field.regions[0])
    chain = chain_of(head, unit, setup)
    centre = apply(chain.to_field(structure.frame), structure.centre_mm)
    edge = rng.normal(size=3)
    edge *= 0.9 * field.diameter_mm / 2 / np.linalg.norm(edge)
    setup = replace(
        setup,
        field_sideways_mm=setup.field_sideways_mm + centre[0] - edge[0],
        field_forward_mm=setup.field_forward_mm - centre[1] + edge[1],
        chin_height_mm=setup.chin_height_mm - centre[2] + edge[2],
    )
    placement = place(case, head, pack([structure]), unit, setup)
    to_field = chain_of(head, unit, setup).to_field(structure.frame)
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = to_field.rotation, to_field.translation_mm
    expected = boolean_share(mesh, matrix, placement.region)
    assert placement.structures[0].inside_share == pytest.approx(expected, abs=0.005)


@settings(max_examples=30)
@given(data=st.data())
def test_moving_head_and_unit_together_changes_nothing(data, heads, packed, bench):
    """Head and field moved the same way leave every share and margin as they were."""
    case, unit = bench("whole-lower-jaw")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    sideways, forward, height = (data.draw(st.floats(-20, 20)) for _ in range(3))
    before = place(case, head, points, unit, case.start)
    s = case.start
    after = place(
        case,
        head,
        points,
        unit,
        replace(
            s,
            sideways_mm=s.sideways_mm + sideways,
            field_sideways_mm=s.field_sideways_mm + sideways,
            forward_mm=s.forward_mm + forward,
            field_forward_mm=s.field_forward_mm + forward,
            unit_height_mm=s.unit_height_mm + height,
        ),
    )
    for a, b in zip(before.structures, after.structures, strict=True):
        assert b.margin_mm == pytest.approx(a.margin_mm, abs=1e-9)
        assert b.inside_share == pytest.approx(a.inside_share, abs=1e-4)


@settings(max_examples=30)
@given(data=st.data())
def test_mirroring_left_and_right_keeps_shares(data, heads, packed, bench):
    """The mirrored setup gives each structure what its mirror image had."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    values = {k: data.draw(st.floats(-15, 15)) for k in MIRRORED_KEYS}
    here = place(case, head, points, unit, replace(case.start, **values))
    there = place(
        case, head, points, unit, replace(case.start, **{k: -v for k, v in values.items()})
    )
    found = {s.structure.id: s for s in there.structures}
    opposite = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT, Side.MIDLINE: Side.MIDLINE}
    paired = 0
    for s in here.structures:
        if s.structure.side is not Side.LEFT:
            continue
        other = found[mirror_name(s.structure.id)]
        assert other.structure.side is opposite[s.structure.side]
        assert other.margin_mm == pytest.approx(s.margin_mm, abs=1e-6)
        assert other.inside_share == pytest.approx(s.inside_share, abs=1e-3)
        paired += 1
    assert paired > 60


def test_share_is_one_exactly_when_nothing_sticks_out(heads, packed, bench):
    """A share of 1 goes with a margin of at least the guard rim, and a lower one with less."""
    case, unit = bench("both-jaws")
    assert case.guard_rim_mm > 0
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    shares = set()
    for found in place(case, head, points, unit, case.start).structures:
        assert (found.inside_share == 1.0) == (found.margin_mm >= case.guard_rim_mm)
        shares.add(min(1.0, np.ceil(found.inside_share)))
    assert shares == {0.0, 1.0}


def test_the_guard_rim_adds_to_what_is_asked(heads, packed, bench):
    """Margins count to the field's own edge; the rim is added to what the case asks."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    bare = replace(case, guard_rim_mm=0.0)
    with_rim, without = (place(c, head, points, unit, c.start) for c in (case, bare))
    for a, b in zip(with_rim.required, without.required, strict=True):
        assert a.margin_mm == b.margin_mm
        assert a.required_margin_mm == b.required_margin_mm + case.guard_rim_mm
        assert a.inside_share <= b.inside_share


@pytest.mark.parametrize(
    ("key", "by", "edge", "way"),
    [
        ("chin_height_mm", -60, Edge.FLOOR, Way.UP),
        ("chin_height_mm", 60, Edge.ROOF, Way.DOWN),
        ("field_sideways_mm", 60, Edge.WALL, Way.LEFT),
        ("field_sideways_mm", -60, Edge.WALL, Way.RIGHT),
        ("field_forward_mm", 60, Edge.WALL, Way.FORWARD),
        ("field_forward_mm", -60, Edge.WALL, Way.BACK),
    ],
)
def test_the_way_back_is_named(key, by, edge, way, heads, packed, bench):
    """A target moved out on one side is told to come back the other way."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    middle = _centred(case, head, points, unit)
    moved = replace(middle, **{key: getattr(middle, key) + by})
    worst = min(place(case, head, points, unit, moved).required, key=lambda s: s.margin_mm)
    assert (worst.edge, worst.way) == (edge, way)


def _centred(case, head, points, unit):
    """The case's start with the field centre on the target."""
    target = place(case, head, points, unit, case.start).target
    x, y, z = target.centre_mm
    s = case.start
    return replace(
        s,
        field_sideways_mm=s.field_sideways_mm + x,
        field_forward_mm=s.field_forward_mm - y,
        chin_height_mm=s.chin_height_mm - z,
    )


def test_centring_the_field_centres_the_target(heads, packed, bench):
    """Moving the field by the target's offset leaves no offset."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    target = place(case, head, points, unit, _centred(case, head, points, unit)).target
    np.testing.assert_allclose(target.centre_mm, 0.0, atol=1e-6)


def test_third_molar_fits_the_published_cylinder(heads):
    """48 with the canal below it fits the published smallest field for a lower third molar."""
    # BMC Oral Health 2021 (50 scans): smallest cylinder 32.1 (diameter) x 31.6 (height) mm.
    head = heads[MEAN_MAN]
    corners = np.concatenate([head.structure(i).hull_mm for i in ("tooth-48", "canal-at-48")])
    target = target_cylinder(corners)
    assert target.diameter_mm < 32.1
    assert target.height_mm < 31.6


def test_third_molar_lies_in_the_published_placement(heads):
    """The published cylinder, set by the second molar as published, holds 48 and its canal."""
    # Same source: top 2.2 mm above the second molar's cusps, front edge 6.7 mm in front of the most
    # distal point of its crown. The lingual edge, 7.9 mm inside the lingual wall of the jaw, is
    # taken from the crown's lingual side here, since the wall there is not a structure of its own.
    # The jaw is levelled by its teeth: incisal edge and second-molar cusps at one height.
    head = heads[MEAN_MAN]
    front_end = head.landmarks_mm["lower-incisor-edge"]
    back = max(head.structure("tooth-47-crown").hull_mm, key=lambda p: p[2])
    low = np.arctan2(back[2] - front_end[2], back[1] - front_end[1])
    level = attitude_rotation(low, 0.0, 0.0)
    crown = head.structure("tooth-47-crown").hull_mm @ level.T
    target = np.concatenate(
        [head.structure(i).hull_mm @ level.T for i in ("tooth-48", "canal-at-48")]
    )
    top = crown[:, 2].max() + 2.2
    front = crown[:, 1].max() - 6.7
    radius = 32.1 / 2
    # The published teeth were to be removed and mostly not fully erupted. This one stands in the
    # curve of Spee with its crown 3 mm above 47's cusps, so the cylinder is set a little higher.
    higher = target[:, 2].max() - top
    assert 0.0 < higher < 1.0
    assert target[:, 2].min() >= top + higher - 31.6
    # somewhere sideways the circle with that front edge holds the target
    centres_x = np.linspace(-60, 0, 601)
    away = np.hypot(target[:, 0, None] - centres_x, target[:, 1, None] - (front + radius))
    assert away.max(axis=0).min() <= radius


@pytest.mark.parametrize(
    ("region", "height", "span"),
    [
        (Region.LOWER_JAW, 50, (0, 50)),
        (Region.UPPER_JAW, 50, (30, 80)),
        (Region.BOTH_JAWS, 80, (0, 80)),
    ],
)
def test_fields_stand_where_the_trade_has_them(region, height, span, heads, bench):
    """50 mm spans 0-50 for the lower, 30-80 for the upper jaw, and 80 mm 0-80 for both."""
    # common practice, no source
    case, unit = bench("whole-lower-jaw")
    field = next(f for f in unit.fields if f.height_mm == height and region in f.regions)
    setup = replace(case.start, region=region, field=field.id, chin_height_mm=0.0)
    to_field = chain_of(heads[MEAN_MAN], unit, setup).gantry_to_field
    floor = -to_field.translation_mm[2] - field.height_mm / 2
    assert (floor, floor + field.height_mm) == pytest.approx(span)


def test_front_line_stands_just_before_the_teeth(heads, bench):
    """With the chin on the support, the field starts 1 to 5 mm before the upper front teeth."""
    # common practice, no source: the front light line stands just before the foremost front tooth,
    # and the field runs its whole diameter back from there
    case, unit = bench("whole-lower-jaw")
    head = heads[MEAN_MAN]
    for field in unit.fields:
        s = replace(
            case.start,
            field=field.id,
            region=field.regions[0],
            field_forward_mm=0.0,
            forward_mm=0.0,
            sideways_mm=0.0,
            yaw_deg=0.0,
            roll_deg=0.0,
            pitch_deg=0.0,
            jaw_gap_mm=0.0,
        )
        to_field = chain_of(head, unit, s).to_field(Frame.SKULL)
        teeth = np.concatenate(
            [apply(to_field, head.structure(f"tooth-{n}").hull_mm) for n in (11, 21)]
        )
        ahead = teeth[:, 1].min() - (-field.diameter_mm / 2)
        assert 1.0 <= ahead <= 5.0


@pytest.mark.parametrize("person", MEANS)
def test_root_tips_lie_in_their_own_field(person, heads, bench):
    """With the chin on the zero plane all root tips of a jaw lie in that jaw's 50 mm."""
    # common practice, no source: 0-50 mm for the lower jaw, 30-80 mm for the upper jaw. The crowns
    # reach the top of the lower field: man's incisors stand at 50.1 mm, second molars at 53.4.
    case, unit = bench("whole-lower-jaw")
    head = heads[person]
    setup = replace(
        case.start, chin_height_mm=0.0, pitch_deg=4.9, yaw_deg=0.0, roll_deg=0.0, jaw_gap_mm=0.0
    )
    chain = chain_of(head, unit, setup)
    seen = 0
    for structure in head.structures.values():
        if structure.kind is StructureKind.APEX:
            lower = structure.frame is Frame.MANDIBLE
            step = chain.mandible_to_gantry if lower else chain.skull_to_gantry
            heights = apply(step, structure.hull_mm)[:, 2]
            low, high = (0, 50) if lower else (30, 80)
            assert low <= heights.min(), structure.id
            assert heights.max() <= high, structure.id
            seen += 1
    # ISO 3950 and table 3.1: 22 lower and 30 upper roots
    assert seen == 52


@pytest.mark.parametrize("plane", ReferencePlane)
@pytest.mark.parametrize(
    ("key", "name"), [("yaw_deg", "yaw_off_deg"), ("roll_deg", "roll_off_deg")]
)
def test_attitude_follows_yaw_and_roll(plane, key, name, heads, packed, bench):
    """A head turned or leaning by 5 degrees is measured so against every plane."""
    case, unit = bench("lower-third-molar")
    case = replace(case, attitude=replace(case.attitude, reference_plane=plane))
    start = replace(case.start, yaw_deg=0.0, roll_deg=0.0, pitch_deg=0.0)
    head, points = heads[MEAN_MAN], packed[MEAN_MAN]
    found = place(case, head, points, unit, replace(start, **{key: 5.0})).attitude
    assert getattr(found, name) == pytest.approx(5.0, abs=0.06)


def test_the_occlusal_plane_is_level_with_the_chin_up(heads, packed, bench):
    """The front of the upper occlusal plane is 8 (4) degrees low when Frankfort is level."""
    # Downs +9.3, adults 8 +- 4 (project reference, section 2.1)
    case, unit = bench("lower-third-molar")
    upper = replace(
        case, attitude=replace(case.attitude, reference_plane=ReferencePlane.UPPER_OCCLUSAL)
    )
    setup = replace(case.start, pitch_deg=0.0, yaw_deg=0.0, roll_deg=0.0)
    found = place(upper, heads[MEAN_MAN], packed[MEAN_MAN], unit, setup).attitude
    assert -12.0 <= found.pitch_off_deg <= -4.0


def test_opening_the_jaw_on_the_support_lifts_the_skull(heads, bench):
    """An open jaw on the same support puts the upper teeth higher over the zero plane."""
    case, unit = bench("whole-lower-jaw")
    head = heads[MEAN_MAN]
    heights = [
        apply(
            chain_of(head, unit, replace(case.start, jaw_gap_mm=gap)).skull_to_gantry,
            head.landmarks_mm["upper-incisor-edge"],
        )[2]
        for gap in (0.0, 5.0, 10.0)
    ]
    assert heights[0] < heights[1] < heights[2]


def test_the_smallest_field_really_holds_and_smaller_ones_do_not(heads, packed, bench):
    """Put round the target as well centred as now, that field holds it and smaller ones do not."""
    case, unit = bench("lower-third-molar")
    head, points = heads[case.subject.person.shape], packed[case.subject.person.shape]
    for off in (0.0, 3.0, 6.0, 9.0):
        middle = _centred(case, head, points, unit)
        setup = replace(middle, field_sideways_mm=middle.field_sideways_mm + off)
        best = place(case, head, points, unit, setup).smallest_field
        offset = place(case, head, points, unit, setup).target.centre_mm
        for field in unit.fields:
            if setup.region not in field.regions:
                continue
            # the same offset between target and field centre, by moving the head
            trial = replace(setup, field=field.id)
            now = place(case, head, points, unit, trial).target.centre_mm
            trial = replace(
                trial,
                field_sideways_mm=trial.field_sideways_mm + (now - offset)[0],
                field_forward_mm=trial.field_forward_mm - (now - offset)[1],
                chin_height_mm=trial.chin_height_mm - (now - offset)[2],
            )
            holds = place(case, head, points, unit, trial).all_required_inside
            if field.volume_mm3 < best.volume_mm3:
                assert not holds, (off, field.id)
            if field.id == best.id:
                assert holds, (off, field.id)


@pytest.mark.parametrize(
    "lost", ["lower-first-molar-cusp-right", "lower-incisor-edge"], ids=["molar", "incisor"]
)
def test_a_lost_tooth_leaves_the_plane_to_the_upper_jaw(lost, heads, bench):
    """Without a lower first molar or incisor the attitude is that of the upper teeth."""
    case, unit = bench("lower-third-molar")
    person = case.subject.person.shape
    head = heads[person]
    marks = {name: mark for name, mark in head.landmarks_mm.items() if name != lost}
    without = replace(head, landmarks_mm=marks)
    steps = chain_of(head, unit, case.start)
    found = attitude_against(ReferencePlane.LOWER_OCCLUSAL, without, steps)
    assert found == attitude_against(ReferencePlane.UPPER_OCCLUSAL, head, steps)
