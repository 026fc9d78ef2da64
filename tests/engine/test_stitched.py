"""Stitched volumes against a boolean library, against their parts, and by symmetry."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.anatomy.head.structures import named_solids, structure_of
from trainer.engine.placement import chain_of, place
from trainer.engine.points import pack
from trainer.engine.stitched import OVERLAP_NEEDED_MM, Overlap, Part, StitchedPlacement, stitch
from trainer.errors import FrameError, TrainerError
from trainer.geometry.region import region_profile
from trainer.geometry.transforms import apply, attitude_rotation, identity, inverse, turn_about
from trainer.models.device import Region
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN
from trainer.services.assets import UNITS
from trainer.services.unit_io import find_unit

WANTED = ("tooth-38", "tooth-21", "tooth-26-crown", "condyle-left", "canal-left", "sinus-left")


@pytest.fixture(scope="module")
def solid_meshes():
    """A few structures of every kind with the very surfaces they were sampled from."""
    return [structure_of(solid) for solid in named_solids(MEAN_MAN) if solid.id in WANTED]


@pytest.fixture(scope="module")
def few(heads):
    """What the third-molar case requires, and some of everything else: enough for properties."""
    every = list(heads[MEAN_MAN].structures.values())
    near = [x for x in every if x.id in ("tooth-48", "tooth-47", "canal-right", "canal-at-48")]
    assert len(near) == 4
    names = {x.id for x in near}
    return pack([*near, *(x for x in every[::11] if x.id not in names)])


@pytest.fixture(scope="module")
def alder():
    """The unit with fields of every class."""
    return find_unit("alder-bench", UNITS)


def movement(shift_mm, pitch_deg=0.0, yaw_deg=0.0, roll_deg=0.0):
    """The head turned about a point of the skull near the mouth, and shifted."""
    pivot = np.array([0.0, -80.0, -50.0])
    rotation = attitude_rotation(*np.deg2rad([pitch_deg, yaw_deg, roll_deg]))
    return turn_about(Frame.SKULL, Frame.SKULL, rotation, pivot, pivot + np.asarray(shift_mm))


def union_share(mesh, to_fields, regions) -> float:
    """Share of a closed surface inside any of the regions, by the boolean library manifold3d."""
    body = manifold3d.Manifold(
        manifold3d.Mesh(mesh.vertices_mm.astype(np.float32), mesh.faces.astype(np.uint32))
    )
    assert body.status() == manifold3d.Error.NoError
    union = manifold3d.Manifold()
    for to_field, region in zip(to_fields, regions, strict=True):
        cross = manifold3d.CrossSection([region_profile(region, 80)[::-1]])
        back = inverse(to_field)
        matrix = np.column_stack([back.rotation, back.translation_mm])
        union += manifold3d.Manifold.revolve(cross, 256).transform(matrix)
    assert union.volume() > 0
    return float((body ^ union).volume() / body.volume())


def aimed(setup, head, unit, structure, off_mm):
    """The setup with the field's centre that far from the structure's centre."""
    to_field = chain_of(head, unit, setup).to_field(structure.frame)
    x, y, z = apply(to_field, structure.centre_mm) - off_mm
    return replace(
        setup,
        field_sideways_mm=setup.field_sideways_mm + x,
        field_forward_mm=setup.field_forward_mm - y,
        chin_height_mm=setup.chin_height_mm - z,
    )


def cutting_parts(rng, head, unit, start, structure, count):
    """Parts whose edges cut the structure from all sides, with a movement between them."""
    field = min(unit.fields, key=lambda f: f.volume_mm3)
    start = replace(start, field=field.id, region=field.regions[0])
    parts = []
    for k in range(count):
        edge = rng.normal(size=3)
        edge *= rng.uniform(0.85, 1.0) * field.diameter_mm / 2 / np.linalg.norm(edge)
        moved = movement(rng.uniform(-2, 2, 3), *rng.uniform(-3, 3, 3)) if k else None
        parts.append(Part(aimed(start, head, unit, structure, edge), moved))
    return parts


@pytest.mark.parametrize("seed", range(24))
def test_share_of_the_union_against_boolean_library(seed, solid_meshes, heads, bench):
    """The share of two or three cutting regions differs from mesh ∩ union by at most 0.5 points."""
    rng = np.random.default_rng(seed)
    case, unit = bench("both-jaws")
    case = replace(case, guard_rim_mm=0.0)
    structure, mesh = solid_meshes[seed % len(solid_meshes)]
    head = heads[MEAN_MAN]
    parts = cutting_parts(rng, head, unit, case.start, structure, 2 + seed // 6 % 2)
    joined = stitch(case, head, pack([structure]), unit, parts)
    to_fields = [chain_of(head, unit, p.setup, p.moved).to_field(structure.frame) for p in parts]
    expected = union_share(mesh, to_fields, [p.region for p in joined.placements])
    (found,) = joined.structures
    assert found.inside_share == pytest.approx(expected, abs=0.005)
    assert found.inside_share >= max(found.part_shares)


@pytest.mark.parametrize("shared", [-2.0, -0.3, 0.0, 1.0])
@pytest.mark.parametrize("number", range(len(WANTED)))
def test_share_across_a_seam_against_boolean_library(
    shared, number, solid_meshes, heads, bench, alder
):
    """Fields above each other, from a gap to an overlap, cut as the boolean library does."""
    case, unit = bench("lower-third-molar")[0], alder
    case = replace(case, guard_rim_mm=0.0)
    structure, mesh = solid_meshes[number]
    head = heads[MEAN_MAN]
    field = unit.field("40x40")
    start = replace(case.start, field=field.id, region=Region.LOWER_JAW)
    high = (field.height_mm - shared) / 2
    parts = [
        Part(aimed(start, head, unit, structure, np.array([3.0, -2.0, z]))) for z in (high, -high)
    ]
    joined = stitch(case, head, pack([structure]), unit, parts)
    to_fields = [chain_of(head, unit, p.setup).to_field(structure.frame) for p in parts]
    expected = union_share(mesh, to_fields, [p.region for p in joined.placements])
    assert joined.structures[0].inside_share == pytest.approx(expected, abs=0.005)
    assert joined.overlaps[0].shared_mm == pytest.approx(shared, abs=0.01)


def random_parts(data, start, count):
    """Two or three setups near the start, with small movements."""
    near = st.floats(-25, 25)
    small = st.floats(-3, 3)
    parts = []
    for _ in range(count):
        setup = replace(
            start,
            field_sideways_mm=start.field_sideways_mm + data.draw(near),
            field_forward_mm=start.field_forward_mm + data.draw(near),
            chin_height_mm=start.chin_height_mm + data.draw(near),
        )
        shift = [data.draw(small) for _ in range(3)]
        turn = [data.draw(small) for _ in range(3)]
        parts.append(Part(setup, movement(shift, *turn)))
    return parts


@settings(max_examples=20)
@given(data=st.data(), count=st.integers(2, 3))
def test_the_union_holds_what_each_part_holds(data, count, heads, few, bench):
    """Share and margin of the union are no smaller than any part's, the share no more than all."""
    case, unit = bench("lower-third-molar")
    head, points = heads[MEAN_MAN], few
    joined = stitch(case, head, points, unit, random_parts(data, case.start, count))
    assert [s.structure for s in joined.structures] == list(points.structures)
    for number, found in enumerate(joined.structures):
        alone = [p.structures[number] for p in joined.placements]
        assert found.part_shares == tuple(a.inside_share for a in alone)
        assert max(found.part_shares) <= found.inside_share <= 1.0
        assert found.inside_share <= sum(found.part_shares) + 1e-6
        assert found.margin_mm >= max(a.margin_mm for a in alone)
        assert found.holds or not any(a.holds for a in alone)


@settings(max_examples=15)
@given(data=st.data())
def test_order_of_parts_does_not_matter(data, heads, few, bench):
    """The same scans in another order give the same shares, margins and verdicts."""
    case, unit = bench("lower-third-molar")
    head, points = heads[MEAN_MAN], few
    parts = random_parts(data, case.start, 3)
    order = data.draw(st.permutations(range(3)))
    here = stitch(case, head, points, unit, parts)
    there = stitch(case, head, points, unit, [parts[i] for i in order])
    for a, b in zip(here.structures, there.structures, strict=True):
        assert b.inside_share == pytest.approx(a.inside_share, abs=1e-9)
        assert b.margin_mm == pytest.approx(a.margin_mm, abs=1e-9)
    assert here.registrable == there.registrable
    shared = {frozenset((o.first, o.second)): o.shared_mm for o in here.overlaps}
    for o in there.overlaps:
        same = shared[frozenset((order[o.first], order[o.second]))]
        assert o.shared_mm == pytest.approx(same, abs=0.002)


@settings(max_examples=15)
@given(data=st.data())
def test_the_same_scan_twice_adds_nothing(data, heads, few, bench):
    """A scan stitched to itself holds what it held, and shares its whole width or height."""
    case, unit = bench("lower-third-molar")
    head, points = heads[MEAN_MAN], few
    (part,) = random_parts(data, case.start, 1)
    joined = stitch(case, head, points, unit, [part, part])
    alone = place(case, head, points, unit, part.setup, part.moved)
    for one, both in zip(alone.structures, joined.structures, strict=True):
        assert both.inside_share == pytest.approx(one.inside_share, abs=1e-5)
        assert both.inside_share >= one.inside_share
        assert both.holds == one.holds
    field = alone.field
    assert joined.overlaps[0].shared_mm <= min(field.diameter_mm, field.height_mm) + 0.01
    assert joined.registrable


@settings(max_examples=15)
@given(data=st.data())
def test_a_third_part_takes_nothing_away(data, heads, few, bench):
    """With a third scan no structure loses share or margin, and no required one is lost."""
    case, unit = bench("lower-third-molar")
    head, points = heads[MEAN_MAN], few
    parts = random_parts(data, case.start, 3)
    two, three = (stitch(case, head, points, unit, parts[:n]) for n in (2, 3))
    for a, b in zip(two.structures, three.structures, strict=True):
        assert b.inside_share >= a.inside_share - 1e-6
        assert b.holds or not a.holds
    assert three.held >= two.held


def test_a_movement_is_the_same_as_a_field_moved_back(heads, few, bench):
    """A head that slid 3 mm to the left is recorded as by a field 3 mm farther to the right."""
    case, unit = bench("lower-third-molar")
    head, points = heads[MEAN_MAN], few
    s = replace(case.start, pitch_deg=0.0, yaw_deg=0.0, roll_deg=0.0)
    slid = place(case, head, points, unit, s, movement([3.0, 0.0, 0.0]))
    field = replace(s, field_sideways_mm=s.field_sideways_mm - 3.0)
    for a, b in zip(
        slid.structures, place(case, head, points, unit, field).structures, strict=True
    ):
        assert a.margin_mm == pytest.approx(b.margin_mm, abs=1e-9)


def test_no_movement_is_the_plain_placement(heads, few, bench):
    """A head that did not move is placed as without a movement."""
    case, unit = bench("lower-third-molar")
    head, points = heads[MEAN_MAN], few
    still = identity(Frame.SKULL, Frame.SKULL)
    moved = place(case, head, points, unit, case.start, still)
    plain = place(case, head, points, unit, case.start)
    assert moved.structures == plain.structures


@pytest.fixture
def pair(heads, few, bench, alder):
    """Left and right molar fields of one arch, their centres that far apart."""
    case, unit = bench("whole-lower-jaw")[0], alder
    head, points = heads[MEAN_MAN], few

    def make(*sideways_mm: float, gap_mm: float = 0.0) -> StitchedPlacement:
        s = replace(case.start, field="50x50", pitch_deg=0.0, yaw_deg=0.0, roll_deg=0.0)
        parts = [Part(replace(s, field_sideways_mm=x)) for x in sideways_mm]
        parts[-1] = Part(replace(parts[-1].setup, jaw_gap_mm=s.jaw_gap_mm + gap_mm))
        return stitch(case, head, points, unit, parts)

    return make


@pytest.mark.parametrize(
    ("away_mm", "suffices", "apart"),
    [(20.0, True, False), (39.0, True, False), (41.0, False, False), (50.0, False, True)],
)
def test_overlap_decides_over_registration(away_mm, suffices, apart, pair):
    """50 mm fields side by side share 50 mm less their distance; touching ones are flagged."""
    joined = pair(-away_mm / 2, away_mm / 2)
    (overlap,) = joined.overlaps
    assert overlap.shared_mm == pytest.approx(50.0 - away_mm, abs=0.01)
    assert (overlap.suffices, overlap.apart) == (suffices, apart)
    assert joined.registrable is suffices


def test_fields_with_a_gap_are_flagged(pair):
    """Fields 8 mm apart share less than nothing, by as much."""
    joined = pair(-29.0, 29.0)
    assert joined.overlaps[0].shared_mm == pytest.approx(-8.0, abs=0.01)
    assert joined.overlaps[0].apart
    assert not joined.registrable


def test_neighbours_join_a_row_of_three(pair):
    """Three fields in a row are joined by the middle one, in whatever order they were taken."""
    for order in ([-35.0, 0.0, 35.0], [-35.0, 35.0, 0.0], [0.0, 35.0, -35.0]):
        joined = pair(*order)
        assert sorted(o.suffices for o in joined.overlaps) == [False, True, True]
        assert joined.registrable
    # the middle one away from both
    assert not pair(-20.0, -12.0, 40.0).registrable


def test_touching_is_never_enough() -> None:
    """Even when no overlap is asked for, parts that share nothing cannot be put together."""
    assert not Overlap(0, 1, 0.0, 0.0).suffices
    assert not Overlap(0, 1, -1.0, 0.0).suffices
    assert Overlap(0, 1, 0.5, 0.0).suffices


def test_an_open_jaw_between_scans_is_told(pair):
    """A jaw gap that changes between the scans is told, the same gap is not."""
    assert pair(-10.0, 10.0).jaw_stayed
    assert not pair(-10.0, 10.0, gap_mm=4.0).jaw_stayed


def test_two_fields_hold_a_structure_that_neither_holds(heads, bench, alder):
    """A jaw canal longer than a field is held whole by two fields with an ample overlap."""
    case, unit = bench("whole-lower-jaw")[0], alder
    case = replace(case, guard_rim_mm=0.0)
    head = heads[MEAN_MAN]
    canal = head.structure("canal-left")
    s = replace(case.start, field="60x60", region=Region.LOWER_JAW)
    off = np.array([0.0, 16.0, 0.0])
    parts = [Part(aimed(s, head, unit, canal, way * off)) for way in (-1.0, 1.0)]
    joined = stitch(case, head, pack([canal]), unit, parts)
    (found,) = joined.structures
    assert max(found.part_shares) < 1.0
    assert found.inside_share == 1.0
    assert found.margin_mm > 0.0
    assert joined.overlaps[0].shared_mm > OVERLAP_NEEDED_MM


@pytest.mark.parametrize("count", [0, 1, 4])
def test_two_or_three_parts_only(count, heads, few, bench):
    """One scan is no stitched volume, and four are too many."""
    case, unit = bench("lower-third-molar")
    with pytest.raises(TrainerError, match=f"two or three parts, got {count}"):
        stitch(case, heads[MEAN_MAN], few, unit, [Part(case.start)] * count)


def test_a_movement_between_other_frames_is_refused(heads, few, bench):
    """A movement is one of the head: another frame does not fit the chain."""
    case, unit = bench("lower-third-molar")
    parts = [Part(case.start), Part(case.start, identity(Frame.ROOM, Frame.ROOM))]
    with pytest.raises(FrameError):
        stitch(case, heads[MEAN_MAN], few, unit, parts)
