"""The skin lies over teeth and their bone in everybody, and stays where it covers them already."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings

from tests.strategies import people
from trainer.anatomy.bones.alveolus import alveolar_process
from trainer.anatomy.people.people import draw_person
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.soft.cover import COVER_MM, STEP_MM, cover, outward
from trainer.anatomy.soft.skin import skin, skin_points
from trainer.anatomy.teeth.dentition import dentition
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Jaw, Mouth, Person, Sex

# The least that is asked of the model everywhere but in the mouth's slit.
LEAST_MM = 2.0
GROWING = [Person(sex, age) for sex in Sex for age in (6, 7, 8, 9, 10, 11, 12, 14, 16, 18)]


def _deepest_lack_mm(person: Person) -> float:
    """The largest distance from skin to the jaws' tooth-bearing bone, negative inside."""
    over = cover(person).over(head_warp(person).shape(skin()))
    # another grid than the one that the cover is made from
    return max(over(surface(alveolar_process(person, j), 1.9).vertices_mm).max() for j in Jaw)


@pytest.mark.parametrize("person", GROWING, ids=lambda p: f"{p.sex} {p.age_years}")
def test_growing_jaws_are_covered(person: Person) -> None:
    """At every age from 6 to 18 the tooth-bearing bone lies 2 mm or more below the skin."""
    assert _deepest_lack_mm(person) < -LEAST_MM


@given(people())
@settings(max_examples=12, deadline=None)
def test_anybodys_jaws_are_covered(person: Person) -> None:
    """The same holds for any person, of any size and with any teeth lost."""
    assert _deepest_lack_mm(person) < -LEAST_MM


def test_without_it_a_childs_jaw_would_come_out() -> None:
    """The map alone leaves a boy's upper jaw more than 3 mm outside his skin."""
    boy = Person(Sex.MALE, 6)
    bone = surface(alveolar_process(boy, Jaw.UPPER), 1.9).vertices_mm
    assert head_warp(boy).shape(skin())(bone).max() > 3.0


@pytest.mark.parametrize("person", [Person(Sex.MALE, 6), draw_person(6, Sex.FEMALE, 6)])
def test_back_teeth_are_covered(person: Person) -> None:
    """Crowns behind the canines lie 1.5 mm or more below the skin."""
    over = cover(person).over(head_warp(person).shape(skin()))
    for tooth in dentition(person):
        if tooth.fdi % 10 > 3:
            assert over(surface(tooth.solid, 1.3).vertices_mm).max() < -1.5, tooth.fdi


@pytest.mark.parametrize("person", [MEAN_MAN, MEAN_WOMAN])
def test_nothing_moves_in_mean_adults(person: Person) -> None:
    """Their skin covers everything by itself, and is returned as it is."""
    led = head_warp(person).shape(skin())
    assert cover(person).over(led) is led
    points = np.random.default_rng(1).uniform(-90, 90, (50, 3))
    np.testing.assert_array_equal(cover(person).moved(points), points)


@pytest.fixture(scope="module")
def girl() -> Person:
    """A girl of 6, whose skin is pushed most."""
    return Person(Sex.FEMALE, 6)


def test_moved_points_lie_where_the_solid_ends(girl: Person) -> None:
    """A corner of the skin, pushed out, lies on the pushed-out solid to within 0.05 mm."""
    led = head_warp(girl).shape(skin())
    over = cover(girl)
    mesh = surface(led, 3.0).vertices_mm
    near = mesh[over.at(mesh) > 0.1]
    assert len(near) > 200
    np.testing.assert_allclose(over.over(led)(over.moved(near)), led(near), atol=0.05)


def test_the_push_is_gentle(girl: Person) -> None:
    """From place to place the push changes by less than 0.6 of the way, so nothing folds."""
    push = cover(girl).push_mm
    assert push.max() > 4.0
    for axis in range(3):
        assert np.abs(np.diff(push, axis=axis)).max() < 0.6 * STEP_MM


def test_the_pushed_skin_is_closed_and_not_folded(girl: Person) -> None:
    """The skin's surface stays closed, grows, and no triangle turns over."""
    mesh = surface(head_warp(girl).shape(skin()), 3.0)
    moved = cover(girl).moved(mesh.vertices_mm)
    before, after = (
        trimesh.Trimesh(v, mesh.faces, process=False) for v in (mesh.vertices_mm, moved)
    )
    assert after.is_watertight
    assert after.volume > before.volume
    turn = np.einsum("ij,ij->i", before.face_normals, after.face_normals)
    large = before.area_faces > 0.5
    assert turn[large].min() > 0.3


def test_far_from_the_mouth_nothing_moves(girl: Person) -> None:
    """Ears, eyes, vault and neck stay."""
    spots = head_warp(girl).to_subject([[72, 0, 0], [32, -84, 17], [0, 0, 130], [0, -40, -150]])
    np.testing.assert_allclose(cover(girl).moved(spots), spots, atol=0.6)
    np.testing.assert_allclose(cover(girl).moved(spots)[[0, 2, 3]], spots[[0, 2, 3]], atol=1e-9)


def test_outward_is_level() -> None:
    """The push goes level and straight away from the axis."""
    out = outward(np.array([[10.0, -38.0, 5.0], [0.0, -90.0, -40.0]]))
    np.testing.assert_allclose(out, [[1, 0, 0], [0, -1, 0]], atol=1e-12)


def test_asked_cover_is_more_than_the_least() -> None:
    """What the cover asks for leaves room for the lattice it is worked out on."""
    assert COVER_MM > LEAST_MM


def toothless(*dentures: Jaw) -> Person:
    """A man without teeth and with worn ridges."""
    mouth = Mouth(missing=ALL_TEETH, lost_ridge_upper=0.6, lost_ridge_lower=0.8, dentures=dentures)
    return Person(mouth=mouth)


def _lips_mm(person: Person) -> float:
    """How far back the middle of the lips has gone from where the map puts it."""
    lips = skin_points()["lip-line"][None]
    return float((cover(person).moved(lips) - lips)[0, 1])


def test_lips_fall_in_over_toothless_jaws() -> None:
    """Without teeth they go back 3 to 7 mm, with both dentures not at all, with one by a part."""
    assert 3.0 < _lips_mm(toothless()) < 7.0
    assert _lips_mm(toothless(Jaw.LOWER, Jaw.UPPER)) == 0.0
    assert 1.0 < _lips_mm(toothless(Jaw.UPPER)) < _lips_mm(toothless()) - 1.0


def test_fallen_lips_still_cover_the_ridges() -> None:
    """Over the worn ridges the skin stays 2 mm or more away."""
    assert _deepest_lack_mm(toothless()) < -LEAST_MM
