"""All that people carry: apart from each other, closed, few triangles, made of known materials."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.anatomy.carried import PEOPLE, deepest_overlap_mm
from trainer.anatomy.materials import MATERIALS
from trainer.anatomy.shapes.meshing import Mesh, is_closed, volume_mm3
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.anatomy.things.things import MOST_TRIANGLES, thing_parts, things_of
from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.models.meshes import Tissue
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Mouth, Person, Repair, Repaired, Sex, Worn

CROWN_REPAIRS = [r for r in Repair if r not in (Repair.IMPLANT, Repair.ROOT_FILLING)]


def test_a_plain_person_carries_nothing() -> None:
    """Who has sound teeth and wears nothing has no things and no parts."""
    for person in (MEAN_MAN, MEAN_WOMAN, Person(Sex.MALE, 9)):
        assert things_of(person) == ()
        assert thing_parts(person) == ((), ())


@pytest.mark.parametrize("kind", PEOPLE)
def test_things_do_not_overlap(kind: str) -> None:
    """No two things of a person share a point deeper than 0.05 mm."""
    assert deepest_overlap_mm(things_of(PEOPLE[kind])) < 0.05


@pytest.mark.parametrize("kind", PEOPLE)
def test_surfaces_are_closed_and_few(kind: str) -> None:
    """Every surface is closed and faces outwards; 6000 triangles at rest, 1500 moving at most."""
    for parts, most in zip(thing_parts(PEOPLE[kind]), MOST_TRIANGLES, strict=True):
        assert 0 < sum(len(p.faces) for p in parts) <= most
        for part in parts:
            mesh = Mesh(part.vertices_mm.astype(float), part.faces)
            assert is_closed(mesh), part.id
            assert volume_mm3(mesh) > 0.0, part.id
            assert part.tissue in {Tissue.METAL, Tissue.CERAMIC, Tissue.PLASTIC, Tissue.TOOTH}


def test_things_at_once_stay_within_the_budget() -> None:
    """Someone with a full mouth of repairs and all that is worn keeps to the triangles too."""
    mouth, worn = PEOPLE["repaired"].mouth, PEOPLE["dressed"].worn
    fine, coarse = thing_parts(Person(mouth=mouth, worn=worn))
    assert sum(len(p.faces) for p in fine) <= 6000
    assert sum(len(p.faces) for p in coarse) <= 1500


@pytest.mark.parametrize("kind", PEOPLE)
def test_ids_materials_and_boxes(kind: str) -> None:
    """Ids are unique, materials are in the table, boxes hold the things' surfaces."""
    things = things_of(PEOPLE[kind])
    assert len({t.id for t in things}) == len(things)
    for thing in things:
        assert thing.material in MATERIALS
        low, high = thing.shape.lower_mm, thing.shape.upper_mm
        rng = np.random.default_rng(2)
        around = rng.uniform(low - 3.0, high + 3.0, (4000, 3))
        out = ((around < low - 1e-6) | (around > high + 1e-6)).any(axis=1)
        assert (thing.shape(around[out]) > -0.05).all(), thing.id


def test_what_can_be_taken_off() -> None:
    """Dentures and all worn things are removable, repairs and brackets are not."""
    for kind, person in PEOPLE.items():
        removable = {t.removable for t in things_of(person)}
        assert removable == {kind in ("partial", "toothless", "dressed")}


def test_what_moves_with_the_lower_jaw() -> None:
    """Things on lower teeth, in the lower lip and in the tongue go with the mandible."""
    for person in PEOPLE.values():
        for thing in things_of(person):
            if thing.tooth is not None:
                lower = thing.tooth // 10 in (3, 4)
                assert thing.frame is (Frame.MANDIBLE if lower else Frame.SKULL)
    frames = {t.id: t.frame for t in things_of(PEOPLE["dressed"])}
    assert frames["lip-stud"] is frames["tongue-stud"] is Frame.MANDIBLE
    assert frames["spectacles"] is frames["nose-stud"] is Frame.SKULL
    assert frames["necklace"] is Frame.TORSO


def test_a_contradiction_is_refused() -> None:
    """A mouth that contradicts itself is refused with the sentence that says why."""
    mouth = Mouth((36,), (Repaired(36, Repair.GOLD_CROWN),))
    with pytest.raises(TrainerError, match="gold crown of tooth 36: the tooth is missing"):
        things_of(Person(mouth=mouth))


def test_age_of_an_adult_changes_nothing() -> None:
    """Two adults who differ only in age share the very same things."""
    young, old = (Person(age_years=age, worn=(Worn.NOSE_STUD,)) for age in (20, 70))
    assert things_of(young) is things_of(old)


@settings(max_examples=6)
@given(st.dictionaries(st.sampled_from(ALL_TEETH), st.sampled_from(CROWN_REPAIRS), min_size=1,
                       max_size=5), st.booleans())  # fmt: skip
def test_any_repairs_together(repairs: dict[int, Repair], rooted: bool) -> None:
    """Any repairs of crowns, with root fillings or without, stay apart and are closed."""
    made = [Repaired(fdi, repair) for fdi, repair in repairs.items()]
    made += [Repaired(fdi, Repair.ROOT_FILLING) for fdi in repairs if rooted]
    person = Person(mouth=Mouth(repairs=tuple(made)))
    things = things_of(person)
    assert len(things) == len(repairs) * (3 if rooted else 1)
    assert deepest_overlap_mm(things) < 0.05
    for part in thing_parts(person)[0]:
        assert is_closed(Mesh(part.vertices_mm.astype(float), part.faces)), part.id
