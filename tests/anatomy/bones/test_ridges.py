"""Empty ridges: how far they sink, and what becomes of the jaw's body."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from trainer.anatomy.bones import midface
from trainer.anatomy.bones.alveolus import alveolar_process, joint_mm
from trainer.anatomy.bones.canal import canal_path
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.mandible import mandible, mandible_structures, mental_foramen_mm
from trainer.anatomy.bones.ridges import border_up, crest_mm, lost_places, worn_upper
from trainer.anatomy.shapes.implicit import Shape, both_sides, union
from trainer.anatomy.shapes.meshing import Mesh, surface
from trainer.anatomy.teeth.dentition import dentition, teeth_of
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.models.frames import Frame, Side
from trainer.models.subject import MEAN_MAN, Jaw, Mouth, Person, Repair, Repaired, Sex

Array = NDArray[np.float64]


def toothless(lost: float, sex: Sex = Sex.MALE) -> Person:
    """A person without any tooth."""
    return Person(sex, mouth=Mouth(missing=ALL_TEETH, lost_ridge_upper=lost, lost_ridge_lower=lost))


@pytest.fixture(scope="module")
def worn() -> dict[float, Mesh]:
    """The man's lower jaw without teeth, at several stages."""
    return {lost: surface(mandible(toothless(lost)), 1.2) for lost in (0.0, 0.5, 1.0)}


def _height_mm(mesh: Mesh, near: NDArray[np.bool_]) -> float:
    """How high the bone is over the menton-gonion line and under it, among the chosen points."""
    _, up = border_up(MEAN_MAN)
    return float(np.ptp(mesh.vertices_mm[near] @ up))


def _at_foramen(mesh: Mesh) -> NDArray[np.bool_]:
    v, foramen = mesh.vertices_mm, mental_foramen_mm(MEAN_MAN)
    return (np.abs(v[:, 1] - foramen[1]) < 2.0) & (v[:, 0] > 12.0)


def test_no_teeth_are_left() -> None:
    """Someone who lost all teeth has none, and their ridges are those of 32 places."""
    person = toothless(0.3)
    assert dentition(person) == ()
    assert len(lost_places(person, Frame.MANDIBLE) + lost_places(person, Frame.SKULL)) == 32


def test_an_implant_stands_in_place_of_a_tooth() -> None:
    """Where an implant is the tooth is gone."""
    person = Person(mouth=Mouth(missing=(36,), repairs=(Repaired(36, Repair.IMPLANT),)))
    assert 36 not in {t.fdi for t in dentition(person)}
    assert len(dentition(person)) == 31


@pytest.mark.parametrize("lost", [0.0, 0.5, 1.0])
def test_the_worn_jaw_is_one_closed_surface(worn: dict[float, Mesh], lost: float) -> None:
    """At any stage the toothless jaw is closed and in one piece."""
    mesh = trimesh.Trimesh(worn[lost].vertices_mm, worn[lost].faces, process=False)
    assert mesh.is_watertight
    assert mesh.body_count == 1


def test_a_fresh_ridge_is_nearly_as_high_as_with_teeth(worn: dict[float, Mesh]) -> None:
    """A healed ridge without loss stands 0 to 4 mm below the crest that carried teeth."""
    sound = surface(mandible(MEAN_MAN), 1.2)
    less = _height_mm(sound, _at_foramen(sound)) - _height_mm(worn[0.0], _at_foramen(worn[0.0]))
    assert 0.0 < less < 4.0


def test_a_fully_worn_jaw_is_as_low_as_published(worn: dict[float, Mesh]) -> None:
    """Fully worn, the body is 7 to 12 mm high at the foramen and 10 to 16 at the symphysis."""
    # severe atrophy: 10 mm or less in the body (Luhr et al. 1996), class VI of Cawood & Howell
    # 1988; both from memory
    mesh = worn[1.0]
    middle = np.abs(mesh.vertices_mm[:, 0]) < 1.5
    assert 7.0 <= _height_mm(mesh, _at_foramen(mesh)) <= 12.0
    assert 10.0 <= _height_mm(mesh, middle) <= 16.0


def test_height_falls_with_the_loss(worn: dict[float, Mesh]) -> None:
    """Half the loss takes between a third and two thirds of the height that all of it takes."""
    high, half, low = (_height_mm(worn[x], _at_foramen(worn[x])) for x in (0.0, 0.5, 1.0))
    assert 0.33 < (high - half) / (high - low) < 0.67


def test_the_ramus_is_not_worn(worn: dict[float, Mesh]) -> None:
    """Coronoid process, notch and condyle stay as they were."""
    sound = surface(mandible(MEAN_MAN), 1.2)
    want = sound.vertices_mm[sound.vertices_mm[:, 2] > -28.0]
    for mesh in worn.values():
        ramus = mesh.vertices_mm[mesh.vertices_mm[:, 2] > -28.0]
        np.testing.assert_allclose(ramus.max(axis=0), want.max(axis=0), atol=0.3)
        np.testing.assert_allclose(ramus.min(axis=0), want.min(axis=0), atol=1.0)
        tip, want_tip = (v[v[:, 1] < -30.0][:, 2].max() for v in (ramus, want))
        assert tip == pytest.approx(want_tip, abs=0.3)


def test_the_foramen_comes_near_the_crest() -> None:
    """In a fully worn jaw the mental foramen lies within 4 mm of the crest, in a fresh one not."""
    # class V and VI of Cawood & Howell: foramen at the ridge (from memory)
    _, up = border_up(MEAN_MAN)
    gaps = {}
    for lost in (0.0, 1.0):
        person = toothless(lost)
        crests = [crest_mm(t, person) for t in lost_places(person, Frame.MANDIBLE)
                  if t.fdi in (34, 35)]  # fmt: skip
        gaps[lost] = float(min((c - mental_foramen_mm(person)) @ up for c in crests))
    assert gaps[1.0] < 4.0
    assert gaps[0.0] > 8.0


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("lost", [0.0, 0.5, 1.0])
def test_the_canal_stays_in_the_bone(sex: Sex, lost: float) -> None:
    """The toothless jaw holds the canal: all of it, or all but the roof of it when fully worn."""
    person = toothless(lost, sex)
    path = canal_path(person, Side.LEFT)
    run = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
    inner = path[(run > 4.5) & (run < run[-1] - 4.5)]
    assert mandible(person)(inner).max() < (-1.35 if lost < 1.0 else -0.8)


def test_the_upper_ridge_goes_up_and_in() -> None:
    """A worn upper ridge ends 5 mm or more higher and its outer face 1 mm or more farther in."""
    # "resorbs upwards and inwards": prosthodontic textbooks, from memory
    fresh, gone = (surface(alveolar_process(toothless(x), Jaw.UPPER), 1.0) for x in (0.0, 1.0))
    band = [m.vertices_mm[np.abs(m.vertices_mm[:, 1] + 75.0) < 3.0] for m in (fresh, gone)]
    assert band[1][:, 2].min() - band[0][:, 2].min() > 5.0
    assert np.abs(band[0][:, 0]).max() - np.abs(band[1][:, 0]).max() > 1.0


def test_a_gap_sinks_and_its_neighbours_stay() -> None:
    """Where one tooth is lost the ridge sinks there, and roots beside it stay covered."""
    person = Person(mouth=Mouth(missing=(36,), lost_ridge_lower=1.0))
    bone, sound = mandible(person), mandible(MEAN_MAN)
    whole = {t.fdi: t for t in teeth_of(MEAN_MAN, Jaw.LOWER)}
    way = whole[36].rotation[:, 2]
    depth = np.arange(0.0, 26.0, 0.1)
    line = whole[36].origin_mm - depth[:, None] * way
    top = [float(depth[np.argmax(b(line) < 0)]) for b in (sound, bone)]
    assert top[1] - top[0] > 6.0
    for fdi in (35, 37):
        tips = np.array([r.axis_mm[4] for r in whole[fdi].roots])
        assert bone(tips).max() < -1.0


def test_each_side_has_its_own_canal() -> None:
    """Where only the right molars are lost and worn down, the right canal lies in what is left."""
    person = Person(mouth=Mouth(missing=(44, 45, 46, 47, 48), lost_ridge_lower=1.0))
    bone, plain = mandible(person), canal_path(MEAN_MAN, Side.LEFT)
    np.testing.assert_allclose(canal_path(person, Side.LEFT), plain, atol=1e-9)
    path = canal_path(person, Side.RIGHT)
    assert np.all(path[:, 0] < 0)
    run = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
    inner = path[(run > 4.5) & (run < run[-1] - 4.5)]
    assert bone(inner).max() < -0.8
    assert path[-1][2] < plain[-1][2] - 2.0


def test_parts_behind_lost_teeth_are_left_out() -> None:
    """Without a lower third molar there is no retromolar part; other parts are in worn bone."""
    person = toothless(1.0)
    parts = mandible_structures(person)
    assert "retromolar-left" not in parts
    points = np.random.default_rng(2).uniform([-15, -92, -98], [15, -70, -70], (20000, 3))
    chin = points[parts["chin"](points) < 0]
    assert len(chin) > 300
    assert np.mean(mandible(person)(chin) < 0.3) > 0.98


def _upper(person: Person) -> Shape:
    """The upper jaw, worn and with its ridge, as built for a person with the man's measures."""
    return union(
        worn_upper(cranium(), both_sides(midface.sinus()), person),
        alveolar_process(person, Jaw.UPPER),
        blend_mm=joint_mm(person),
    )


def test_a_worn_upper_ridge_is_round_across() -> None:
    """3.5 mm to the cheek from its middle the worn ridge lies 0.5 mm or more above its crest."""
    person = toothless(0.6)
    bone, up = _upper(person), np.arange(0.0, 14.0, 0.1)
    for fdi in (21, 23, 25):
        tooth = next(t for t in lost_places(person, Frame.SKULL) if t.fdi == fdi)
        middle = crest_mm(tooth, person)
        outward = np.array([middle[0], middle[1] + 45.0, 0.0])
        outward *= 3.5 / np.linalg.norm(outward)
        lines = [p - [0.0, 0.0, 7.0] + up[:, None] * [0.0, 0.0, 1.0]
                 for p in (middle, middle + outward)]  # fmt: skip
        first = [up[np.argmax(bone(line) < 0.0)] for line in lines]
        assert first[1] - first[0] > 0.5, fdi


@pytest.mark.parametrize("lost", [0.3, 1.0])
def test_a_worn_upper_jaw_keeps_sinus_palate_and_pterygoid_plates(lost: float) -> None:
    """1 mm below the sinus there is bone, and palate and pterygoid plates are as they were."""
    worn, sinus = (
        worn_upper(cranium(), both_sides(midface.sinus()), toothless(lost)),
        midface.sinus(),
    )
    mesh = surface(sinus, 1.0).vertices_mm
    floor = mesh[mesh[:, 2] < mesh[:, 2].min() + 4.0]
    down = floor - [0.0, 0.0, 1.0]
    down = down[sinus(down) > 0.4]
    assert len(down) > 50
    assert worn(down).max() < 0.0
    rng = np.random.default_rng(4)
    for low, high in (((0, -60, -29), (12, -45, -24)), ((5, -30, -45), (35, -15, -10))):
        points = rng.uniform(low, high, (4000, 3))
        same = np.sign(worn(points)) == np.sign(cranium()(points))
        assert same.mean() > 0.999


def test_an_upper_jaw_with_its_teeth_is_not_worn() -> None:
    """Without a lost tooth the skull's bone is returned as it is."""
    bone = cranium()
    assert worn_upper(bone, both_sides(midface.sinus()), MEAN_MAN) is bone
