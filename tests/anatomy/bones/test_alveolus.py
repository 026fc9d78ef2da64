"""The bone round the teeth: crest, plates, depth."""

import numpy as np
import pytest
from helpers.mouths import barest_mm

from trainer.anatomy.bones.alveolus import alveolar_process, socket
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.teeth.dentition import Tooth, teeth_of
from trainer.models.subject import MEAN_MAN, Jaw, Person, Sex, Sizes

JAWS = ("upper", "lower")


@pytest.fixture(scope="module")
def jaws() -> dict[str, tuple[Shape, list[Tooth]]]:
    """Process and teeth of both jaws of the man."""
    return {
        str(jaw): (alveolar_process(MEAN_MAN, jaw), list(teeth_of(MEAN_MAN, jaw))) for jaw in Jaw
    }


def _face(tooth: Tooth, depths_mm: np.ndarray, sign: float) -> np.ndarray:
    """Points on the buccal (+1) or lingual (-1) face of the tooth at depths below the neck."""
    low, high = np.zeros(len(depths_mm)), np.full(len(depths_mm), 9.0)
    for _ in range(18):
        mid = (low + high) / 2
        own = np.column_stack([np.zeros_like(mid), sign * mid, -depths_mm])
        inside = tooth.solid(own @ tooth.rotation.T + tooth.origin_mm) < 0
        low, high = np.where(inside, mid, low), np.where(inside, high, mid)
    own = np.column_stack([np.zeros_like(low), sign * low, -depths_mm])
    return own @ tooth.rotation.T + tooth.origin_mm


@pytest.mark.parametrize("jaw", JAWS)
def test_crest_height(jaws: dict[str, tuple[Shape, list[Tooth]]], jaw: str) -> None:
    """On the buccal face the bone begins 1.5 to 2 mm below the neck (give or take 0.3)."""
    # healthy crest 1.5 to 2 mm below the cement-enamel junction (from memory: periodontology texts)
    bone, teeth = jaws[jaw]
    depths = np.arange(0.0, 3.0, 0.05)
    for t in teeth:
        covered = bone(_face(t, depths, 1.0)) < 0
        assert covered.any(), t.fdi
        assert 1.2 <= depths[np.argmax(covered)] <= 2.3, t.fdi


@pytest.mark.parametrize("jaw", JAWS)
def test_roots_are_covered(jaws: dict[str, tuple[Shape, list[Tooth]]], jaw: str) -> None:
    """From 3 mm below the neck every root lies in bone, with 0.3 mm or more over it."""
    bone, teeth = jaws[jaw]
    for t in teeth[8:]:
        v = surface(t.solid, 0.6).vertices_mm
        deep = v[(v - t.origin_mm) @ t.rotation[:, 2] < -3.0]
        assert bone(deep).max() < -0.3, t.fdi


def _plate_mm(bone: Shape, tooth: Tooth, depth_mm: float) -> float:
    start = _face(tooth, np.array([depth_mm]), 1.0)[0]
    steps = np.arange(0.0, 8.0, 0.05)
    outside = bone(start + steps[:, None] * tooth.rotation[:, 1]) > 0
    return float(steps[np.argmax(outside)])


def test_plates_are_thin_in_front_and_thick_at_lower_molars(
    jaws: dict[str, tuple[Shape, list[Tooth]]],
) -> None:
    """Over mid-root the buccal plate is 0.7 to 2.5 mm at single roots, over 2.5 at 37 and 47."""
    # "plates 1 to 2 mm" and the thick buccal bone at lower second molars (5.4 over the canal at the
    # mesial root: J. Endod. 2016); plates from memory
    for jaw in JAWS:
        bone, teeth = jaws[jaw]
        for t in teeth:
            if len(t.roots) == 1:
                assert 0.7 < _plate_mm(bone, t, 0.5 * t.size.root_mm[0]) < 2.5, t.fdi
    bone, lower = jaws["lower"]
    thick = {t.fdi: t for t in lower}
    assert _plate_mm(bone, thick[37], 3.5) > 2.5
    assert _plate_mm(bone, thick[37], 3.5) > _plate_mm(bone, thick[36], 3.2)


@pytest.mark.parametrize("jaw", JAWS)
def test_depth_beyond_the_apices(jaws: dict[str, tuple[Shape, list[Tooth]]], jaw: str) -> None:
    """The bone still stands 3.5 mm beyond the deepest apex of each tooth and ends within 14 mm."""
    bone, teeth = jaws[jaw]
    for t in teeth:
        deep = max(t.roots, key=lambda r: -((r.axis_mm[-1] - t.origin_mm) @ t.rotation[:, 2]))
        apex, down = deep.axis_mm[-1], -t.rotation[:, 2]
        assert bone(apex + 3.5 * down)[0] < 0, t.fdi
        assert bone(apex + 14.0 * down)[0] > 0, t.fdi


@pytest.mark.parametrize("jaw", JAWS)
def test_one_closed_piece(jaws: dict[str, tuple[Shape, list[Tooth]]], jaw: str) -> None:
    """Each jaw's process is one watertight piece within its box."""
    trimesh = pytest.importorskip("trimesh")
    mesh = surface(jaws[jaw][0], 1.0)
    body = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=True)
    assert body.is_watertight
    assert body.body_count == 1


def test_mirror_image(jaws: dict[str, tuple[Shape, list[Tooth]]]) -> None:
    """The process is the same on both sides."""
    rng = np.random.default_rng(3)
    for bone, _ in jaws.values():
        p = rng.uniform(bone.lower_mm, bone.upper_mm, (3000, 3))
        a, b = bone(p), bone(p * [-1.0, 1.0, 1.0])
        near = np.abs(a) < 2.0
        np.testing.assert_allclose(a[near], b[near], atol=1e-6)


def test_socket_is_a_thin_space_and_a_thin_wall() -> None:
    """Round a root comes 0.2 mm of ligament space, then 0.45 mm of dense wall."""
    # 0.15 to 0.38 and 0.2 to 0.6: periodontology textbooks, from memory
    tooth = next(t for t in teeth_of(MEAN_MAN, Jaw.LOWER) if t.fdi == 34)
    found = socket(tooth)
    start = _face(tooth, np.array([7.0]), 1.0)[0]
    steps = np.arange(-1.0, 2.0, 0.005)
    line = start + steps[:, None] * tooth.rotation[:, 1]
    assert np.sum(found.ligament(line) < 0) * 0.005 == pytest.approx(0.2, abs=0.03)
    assert np.sum(found.lamina_dura(line) < 0) * 0.005 == pytest.approx(0.45, abs=0.05)
    assert not np.any((found.ligament(line) < 0) & (tooth.solid(line) < 0))
    assert not np.any((found.ligament(line) < 0) & (found.lamina_dura(line) < 0))


@pytest.mark.parametrize("age", [6, 9, 12, 15])
@pytest.mark.parametrize("jaw", list(Jaw))
def test_germs_and_roots_of_children_are_covered(jaw: Jaw, age: int) -> None:
    """In a child's jaw all germs, and all roots from 3 mm below the neck, lie in bone."""
    child = Person(Sex.FEMALE, age)
    depth, _ = barest_mm(alveolar_process(child, jaw), list(teeth_of(child, jaw)))
    assert depth < -0.3


@pytest.mark.parametrize("deviation", [-2.5, 2.5])
@pytest.mark.parametrize("jaw", list(Jaw))
def test_long_and_short_roots_are_covered(jaw: Jaw, deviation: float) -> None:
    """With the longest and shortest roots, too, roots lie in bone from 3 mm below the neck."""
    person = Person(sizes=Sizes(tooth_size=-deviation, root_length=deviation))
    depth, _ = barest_mm(alveolar_process(person, jaw), list(teeth_of(person, jaw)))
    assert depth < -0.3
