"""Neck base and shoulders against body measures, and how the neck stands in them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.anatomy.people.spreads import NECK_LENGTH_SPREAD_MM
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.soft.skin import skin
from trainer.anatomy.soft.skin_base import CUT_UP_MM, NECK_ROWS
from trainer.anatomy.soft.torso import NeckBend, neck_bend, torso_part
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.subject import (
    FARTHEST_SIZE,
    MEAN_MAN,
    MEAN_WOMAN,
    MEANS,
    Person,
    Posture,
    Sex,
    Sizes,
)

# The upper end of the torso, hidden in the neck [mm].
HIDDEN_MM = 14.0

sizes = st.floats(-FARTHEST_SIZE, FARTHEST_SIZE)
postures = st.builds(Posture, sizes, sizes, st.floats(0.0, 40.0))
people = st.builds(
    lambda sex, age, posture, girth: Person(sex, age, Sizes(neck_girth=girth), posture=posture),
    st.sampled_from(Sex),
    st.integers(6, 20),
    postures,
    sizes,
)


def solid(part: DisplayPart) -> trimesh.Trimesh:
    """The part for trimesh."""
    return trimesh.Trimesh(part.vertices_mm.astype(float), part.faces, process=False)


def posed(person: Person, **posture: float) -> Person:
    """The person in another posture."""
    return replace(person, posture=replace(person.posture, **posture))


def stump(person: Person) -> np.ndarray:
    """The rim of the head's neck where it is cut, (n, 3) [mm]."""
    front, back, half = NECK_ROWS[round(CUT_UP_MM)]
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    y = -(front + back) / 2 - (front - back) / 2 * np.cos(turn)
    rim = np.column_stack([half * np.sin(turn), y, np.full(24, CUT_UP_MM)])
    return np.asarray(head_warp(person).to_subject(rim))


def inside(part: DisplayPart, points: np.ndarray) -> np.ndarray:
    """Whether points lie in a closed part, by its winding number about them."""
    corners = part.vertices_mm.astype(float)[part.faces][None] - points[:, None, None, :]
    a, b, c = (corners[:, :, i] for i in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=-1) for v in (a, b, c))
    top = np.einsum("nij,nij->ni", a, np.cross(b, c))
    dots = [np.einsum("nij,nij->ni", u, v) for u, v in ((a, b), (b, c), (c, a))]
    low = la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb
    return np.asarray(2.0 * np.arctan2(top, low).sum(axis=1) > 2.0 * np.pi)


@pytest.mark.parametrize(("person", "broad"), [(MEAN_MAN, 510.0), (MEAN_WOMAN, 450.0)])
def test_the_mean_shoulders_are_as_broad_as_tabled(person: Person, broad: float) -> None:
    """Breadth over the deltoids is 510 mm (man) and 450 mm (woman), within 5 (half a corner).

    From memory: ANSUR II 2012.
    """
    assert np.ptp(torso_part(person)[0].vertices_mm[:, 0]) == pytest.approx(broad, abs=5.0)


@pytest.mark.parametrize("person", MEANS)
def test_a_size_of_shoulders_is_27_mm(person: Person) -> None:
    """One SD more of shoulder breadth is 27 mm more over the deltoids (from memory: ANSUR II)."""
    plain, broad = (
        np.ptp(torso_part(posed(person, shoulder_breadth=sd))[0].vertices_mm[:, 0])
        for sd in (0.0, 1.0)
    )
    assert broad - plain == pytest.approx(27.0, abs=0.5)


@pytest.mark.parametrize(("person", "down"), [(MEAN_MAN, 184.0), (MEAN_WOMAN, 168.0)])
def test_the_shoulders_stand_below_the_ears_as_tabled(person: Person, down: float) -> None:
    """Over the acromion, 195 / 172 mm aside, the skin stands 184 / 168 mm below the ear.

    Stature less tragion-vertex less acromial height, from memory: ANSUR II 2012; within 8 mm.
    """
    half = 172.0 if person.sex is Sex.FEMALE else 195.0
    corners = torso_part(person)[0].vertices_mm
    near = np.abs(corners[:, 0] - half) < 8.0
    assert corners[near, 2].max() == pytest.approx(-down, abs=8.0)


@settings(max_examples=40)
@given(people)
def test_the_surface_is_closed_and_within_its_budget(person: Person) -> None:
    """Both surfaces are closed, face outwards, and have at most 3000 and 800 triangles."""
    for part, most in zip(torso_part(person), (3000, 800), strict=True):
        body = solid(part)
        assert body.is_watertight and body.volume > 0.0 and body.area_faces.min() > 0.1
        assert len(part.faces) <= most
        assert (part.frame, part.tissue, part.id) == (Frame.TORSO, Tissue.SKIN, "torso")


@settings(max_examples=40)
@given(people)
def test_left_and_right_are_mirror_images(person: Person) -> None:
    """Every corner has one on the other side."""
    corners = {tuple(v) for v in np.round(torso_part(person)[1].vertices_mm, 2) + 0.0}
    assert corners == {(-x + 0.0, y, z) for x, y, z in corners}


@settings(max_examples=40)
@given(people)
def test_the_cut_of_the_neck_is_hidden(person: Person) -> None:
    """The rim of the head's neck lies in the torso, at rest and moving, so no hole is seen.

    It goes with the torso whatever the head does (`test_the_cut_stays_with_the_torso`).
    """
    for part in torso_part(person):
        assert inside(part, stump(person)).all()


def test_the_same_person_has_the_same_torso() -> None:
    """Made twice, the surface is the same byte for byte."""
    person = Person(Sex.FEMALE, 12, posture=Posture(1.0, -1.0, 10.0))
    for one, two in zip(torso_part(person), torso_part(person), strict=True):
        assert one.vertices_mm.tobytes() == two.vertices_mm.tobytes()
        assert one.faces.tobytes() == two.faces.tobytes()


@pytest.mark.parametrize("person", MEANS)
def test_a_short_neck_brings_the_shoulders_up(person: Person) -> None:
    """A neck shorter by one SD brings all of the torso up by that SD, within a tenth."""
    short, plain = (torso_part(posed(person, neck_length=sd))[0].vertices_mm for sd in (-1.0, 0.0))
    up = short[:, 2] - plain[:, 2]
    assert up.min() == pytest.approx(NECK_LENGTH_SPREAD_MM, rel=0.1)
    assert up.max() == pytest.approx(NECK_LENGTH_SPREAD_MM, rel=0.1)


def test_kyphosis_rounds_the_back_and_brings_the_head_forward() -> None:
    """The shoulders stand behind and above their place under the head, and the back bulges."""
    rounded, plain = (
        torso_part(p)[0].vertices_mm for p in (posed(MEAN_MAN, kyphosis_deg=30.0), MEAN_MAN)
    )
    behind, up = (rounded - plain)[:, 1], (rounded - plain)[:, 2]
    # what lies within the neck leans with it
    shoulders = plain[:, 2] < plain[:, 2].max() - HIDDEN_MM
    plain, behind, up = plain[shoulders], behind[shoulders], up[shoulders]
    assert behind.min() > 15.0 and behind.max() - behind.min() > 10.0
    assert behind[np.argmax(plain[:, 1])] > behind[np.argmin(plain[:, 1])] + 5.0
    assert up.min() > 8.0


@pytest.mark.parametrize("kyphosis_deg", [0.0, 20.0, 35.0])
def test_the_top_lies_within_the_neck(kyphosis_deg: float) -> None:
    """However round the back, the upper end of the torso does not come out of the neck."""
    person = posed(MEAN_WOMAN, kyphosis_deg=kyphosis_deg)
    corners = torso_part(person)[0].vertices_mm.astype(float)
    top = corners[corners[:, 2] > corners[:, 2].max() - 2.5]
    assert len(top) > 50
    assert head_warp(person).shape(skin())(top).max() < 0.0


@pytest.mark.parametrize("sex", Sex)
def test_children_have_smaller_shoulders(sex: Sex) -> None:
    """Shoulders grow with age; at 6 they have 0.63 (boys) or 0.69 (girls) of the breadth.

    From memory: Snyder et al. 1977, to 5 %.
    """
    widths = [np.ptp(torso_part(Person(sex, age))[0].vertices_mm[:, 0]) for age in (6, 9, 12, 40)]
    assert all(np.diff(widths) > 0.0)
    assert widths[0] / widths[-1] == pytest.approx(0.63 if sex is Sex.MALE else 0.69, rel=0.05)


def test_the_neck_bends_between_chin_and_cut() -> None:
    """Skin down to the chin goes with the head, skin at the cut with the torso, evenly between."""
    bend = NeckBend(-114.0, -182.0)
    np.testing.assert_array_equal(bend.torso_share(np.array([0.0, -114.0])), [0.0, 0.0])
    np.testing.assert_array_equal(bend.torso_share(np.array([-182.0, -190.0])), [1.0, 1.0])
    assert bend.torso_share(np.array([-148.0]))[0] == pytest.approx(0.5)
    assert (np.diff(bend.torso_share(np.linspace(-190.0, -100.0, 91))) <= 0.0).all()


def test_the_chin_never_goes_with_the_torso() -> None:
    """The bend begins below the chin contact, however high the torso reaches."""
    chin = np.array([0.0, -80.0, -103.0])
    torso = torso_part(MEAN_MAN)[0]
    skin = replace(
        torso, frame=Frame.SKULL, vertices_mm=torso.vertices_mm * [1, 1, 0] - [0, 0, 190]
    )
    bend = neck_bend(torso, skin, chin)
    assert bend.low_mm < bend.high_mm <= chin[2] - 5.0
