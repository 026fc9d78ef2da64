"""Teeth put together from patterns, against the solids they stand for."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from trainer.anatomy.head.reference import reference
from trainer.anatomy.head.structures import solids_of_tooth, structure_of
from trainer.anatomy.head.tooth_patterns import pattern_of, pieces_of_tooth
from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.models.frames import Side
from trainer.models.subject import MEAN_MAN, Person, Sex, Sizes

LARGE = Person(sizes=Sizes(tooth_size=2.0, root_length=-2.0))
CHILD = Person(Sex.FEMALE, 8)


def pieces(tooth: Tooth):
    """The tooth in its jaw."""
    return pieces_of_tooth(tooth, pattern_of(tooth, reference().teeth))


def teeth_of(person: Person, *numbers: int) -> list[Tooth]:
    """Some teeth of a person."""
    found = {t.fdi: t for t in dentition(person)}
    return [found[n] for n in numbers]


def growing(person: Person) -> list[Tooth]:
    """Left teeth whose roots are not finished."""
    return [t for t in dentition(person) if t.root_share < 1.0 and t.fdi // 10 in (2, 3)]


@pytest.mark.parametrize("person", [MEAN_MAN, LARGE])
@pytest.mark.parametrize("fdi", [21, 16, 34, 47])
def test_a_tooths_surface_lies_on_its_solid(person, fdi):
    """Corners of the fine surface lie within 0.2 mm of the solid's, 0.05 in the mean."""
    (tooth,) = teeth_of(person, fdi)
    off = np.abs(tooth.solid(pieces(tooth).fine[0].vertices_mm.astype(float)))
    assert off.max() < 0.2
    assert off.mean() < 0.05


@pytest.mark.parametrize("person", [MEAN_MAN, LARGE])
@pytest.mark.parametrize("fdi", [11, 26, 33, 45])
def test_a_tooths_structures_are_those_of_its_solids(person, fdi):
    """Volumes within 1 %, centres within 0.05 mm, ids and names equal to the exact ones."""
    (tooth,) = teeth_of(person, fdi)
    found = pieces(tooth).structures
    exact = {
        solid.id: structure_of(solid, 2 if "apex" in solid.id else 1)[0]
        for solid in solids_of_tooth(tooth)
    }
    assert list(found) == list(exact)
    for key, there in exact.items():
        here = found[key]
        assert (here.name, here.kind, here.side, here.frame) == (
            there.name, there.kind, there.side, there.frame,
        )  # fmt: skip
        assert here.volume_mm3 == pytest.approx(there.volume_mm3, rel=0.01)
        assert here.weights.sum() == pytest.approx(1.0)
        off = here.weights @ here.samples_mm - there.weights @ there.samples_mm
        assert np.linalg.norm(off) < 0.05


def test_left_and_right_are_mirror_images():
    """36 and 46 have equal samples and surfaces but for the sign of x."""
    left, right = (pieces(t) for t in teeth_of(MEAN_MAN, 36, 46))
    np.testing.assert_allclose(
        left.structures["tooth-36"].samples_mm * [-1, 1, 1],
        right.structures["tooth-46"].samples_mm,
        atol=1e-9,
    )
    assert left.structures["tooth-36"].side is Side.LEFT
    assert right.structures["tooth-46"].side is Side.RIGHT
    np.testing.assert_allclose(
        left.fine[0].vertices_mm * [-1, 1, 1], right.fine[0].vertices_mm, atol=1e-5
    )


def test_growing_teeth_end_where_their_roots_do():
    """Volumes of an 8-year-old's unfinished teeth are within 3 % of their own solids'."""
    teeth = growing(CHILD)
    assert len(teeth) >= 10
    for tooth in teeth[::3]:
        found = pieces(tooth)
        structure = found.structures[f"tooth-{tooth.fdi}"]
        exact = structure_of(next(solids_of_tooth(tooth)))[0]
        assert structure.volume_mm3 == pytest.approx(exact.volume_mm3, rel=0.03), tooth.fdi
        ways = np.vstack([np.eye(3), -np.eye(3)])
        off = (structure.hull_mm @ ways.T).max(axis=0) - (exact.hull_mm @ ways.T).max(axis=0)
        assert np.abs(off).max() < 0.3, tooth.fdi
        centre = structure.weights @ structure.samples_mm - exact.weights @ exact.samples_mm
        assert np.linalg.norm(centre) < 0.1, tooth.fdi


def test_a_resorbed_tooth_is_its_own_solid():
    """A primary molar with dissolved roots keeps the volume of its solid to 3 %."""
    resorbed = [t for t in dentition(CHILD) if t.resorbed and t.fdi // 10 in (6, 7)]
    assert resorbed
    for tooth in resorbed[:2]:
        found = pieces(tooth).structures[f"tooth-{tooth.fdi}"]
        exact = structure_of(next(solids_of_tooth(tooth)))[0]
        assert found.volume_mm3 == pytest.approx(exact.volume_mm3, rel=0.03)
        off = found.weights @ found.samples_mm - exact.weights @ exact.samples_mm
        assert np.linalg.norm(off) < 0.1


@pytest.mark.parametrize("person", [MEAN_MAN, CHILD])
def test_every_tooths_surfaces_are_closed(person):
    """Fine and coarse surfaces and marks of all teeth are watertight and face outwards."""
    for tooth in dentition(person):
        found = pieces(tooth)
        for part in (*found.fine, *found.coarse, *found.marks.values()):
            mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
            assert mesh.is_watertight and mesh.volume > 0, part.id
