"""Dentures lie on gum and stand in for the missing teeth."""

from __future__ import annotations

import numpy as np
import pytest

from tests.anatomy.carried import JAWS, PARTIAL, TOOTHLESS
from trainer.anatomy.bones.jaw_bones import jaw_bone
from trainer.anatomy.things.dentures import GUM_MM, denture_things, replaced_teeth
from trainer.anatomy.things.on_tooth import full_teeth_of, jaw_of, teeth_of
from trainer.anatomy.things.thing import Thing
from trainer.models.subject import Jaw, Mouth, Person, Repair, Repaired, Sex

PEOPLE = [Person(mouth=PARTIAL), Person(Sex.FEMALE, mouth=TOOTHLESS), Person(mouth=TOOTHLESS)]


def _inside(thing: Thing, count: int = 60_000) -> np.ndarray:
    low, high = thing.shape.lower_mm, thing.shape.upper_mm
    found = np.random.default_rng(5).uniform(low, high, (count, 3))
    return found[thing.shape(found) < 0.0]


@pytest.mark.parametrize("person", PEOPLE, ids=range(len(PEOPLE)))
@pytest.mark.parametrize("jaw", JAWS)
def test_bases_leave_room_for_the_gum(person: Person, jaw: Jaw) -> None:
    """No part of a base or its metal comes nearer to the bone than the gum is thick."""
    bone = jaw_bone(person, jaw)
    for thing in denture_things(person, jaw)[1:]:
        points = _inside(thing)
        assert len(points) > 200
        near = bone(points).min()
        assert near > (GUM_MM - 0.15 if "base" in thing.id else 0.2), thing.id


@pytest.mark.parametrize("jaw", JAWS)
def test_a_partial_denture_spares_the_teeth_left(jaw: Jaw) -> None:
    """A partial denture cuts no tooth, and its clasps touch at least two."""
    person = PEOPLE[0]
    things = denture_things(person, jaw)
    assert [t.material for t in things] == ["acrylic", "acrylic", "cobalt-chrome"]
    left = [t for t in teeth_of(person).values() if jaw_of(t.fdi) is jaw]
    for thing in things:
        points = _inside(thing, 20_000)
        assert min(t.solid(points).min() for t in left) > -0.05
    assert things[2].surfaces is not None
    metal = things[2].surfaces[0].vertices_mm
    assert sum(t.crown(metal).min() < 0.1 for t in left) >= 2


@pytest.mark.parametrize("jaw", JAWS)
def test_teeth_stand_where_teeth_are_missing(jaw: Jaw) -> None:
    """The middle of every replaced crown is denture tooth, that of every tooth left is not."""
    person = PEOPLE[0]
    teeth = denture_things(person, jaw)[0]
    gone = replaced_teeth(person, jaw)
    for fdi, tooth in full_teeth_of(person).items():
        middle = tooth.origin_mm + 0.45 * tooth.size.crown_mm * tooth.rotation[:, 2]
        assert (teeth.shape(middle[None])[0] < 0.0) == (fdi in gone)


def test_a_full_upper_denture_covers_the_palate() -> None:
    """Under the middle of the hard palate lie 1 to 4 mm of acrylic, and no metal anywhere."""
    things = denture_things(PEOPLE[2], Jaw.UPPER)
    assert [t.id for t in things] == ["denture-teeth-upper", "denture-base-upper"]
    up = np.arange(-60.0, -20.0, 0.05)
    line = np.column_stack([0.0 * up + 5.0, 0.0 * up - 60.0, up])
    assert 1.0 < 0.05 * (things[1].shape(line) < 0.0).sum() < 4.0


def test_an_implant_is_not_replaced_twice() -> None:
    """A place that has an implant gets no denture tooth, nor does a third molar's."""
    mouth = Mouth((36, 37, 38), (Repaired(36, Repair.IMPLANT),), dentures=(Jaw.LOWER,))
    assert replaced_teeth(Person(mouth=mouth), Jaw.LOWER) == (37,)
