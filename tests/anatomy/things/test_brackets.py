"""Brackets sit on enamel with a wire through them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from tests.anatomy.carried import BRACED, JAWS
from trainer.anatomy.things.brackets import WIRE_POINTS, bonded_teeth, bracket_things
from trainer.anatomy.things.on_tooth import teeth_of, to_own
from trainer.anatomy.things.thing import Thing
from trainer.models.frames import Frame
from trainer.models.subject import Jaw, Mouth, Person, Profile, Sex, Sizes

PEOPLE = [
    Person(mouth=BRACED),
    Person(Sex.FEMALE, 12, mouth=BRACED),
    Person(Sex.FEMALE, sizes=Sizes(tooth_size=-2.5), mouth=BRACED),
    Person(profile=Profile.CLASS_II, mouth=BRACED),
    Person(profile=Profile.CLASS_III, mouth=Mouth(missing=(14, 24), brackets=JAWS)),
]


def _inside(thing: Thing, count: int = 20_000) -> np.ndarray:
    low, high = thing.shape.lower_mm, thing.shape.upper_mm
    found = np.random.default_rng(5).uniform(low, high, (count, 3))
    return found[thing.shape(found) < 0.0]


def _wire_points(wire: Thing) -> np.ndarray:
    """Points (n, 3) along the wire's middle and on its surface."""
    assert wire.surfaces is not None
    rings = wire.surfaces[0].vertices_mm[:-2].reshape(WIRE_POINTS, -1, 3)
    lines = np.concatenate([rings, rings.mean(axis=1)[:, None]], axis=1)
    share = np.linspace(0.0, 1.0, 12)[:, None, None]
    pieces = [a + share * (b - a) for a, b in pairwise(lines)]
    return np.concatenate(pieces).reshape(-1, 3)


def test_which_teeth_carry_what() -> None:
    """A jaw has ten brackets, four molar tubes and one wire; third molars carry nothing."""
    for jaw in JAWS:
        ids = [t.id for t in bracket_things(PEOPLE[0], jaw)]
        assert sum(i.startswith("bracket-") for i in ids) == 10
        assert sum(i.startswith("tube-") for i in ids) == 4
        assert ids[-1] == f"arch-wire-{jaw}"


def test_only_teeth_that_have_come_through() -> None:
    """At 7, permanent first molars and some front teeth are bonded, primary teeth are not."""
    person = Person(Sex.FEMALE, 8, mouth=BRACED)
    bonded = bonded_teeth(person, Jaw.LOWER)
    assert {36, 46, 31, 41} <= set(bonded)
    assert all(f < 50 and teeth_of(person)[f].erupted for f in bonded)
    assert 34 not in bonded


@pytest.mark.parametrize("person", PEOPLE, ids=range(len(PEOPLE)))
@pytest.mark.parametrize("jaw", JAWS)
def test_brackets_touch_enamel_and_enter_none(person: Person, jaw: Jaw) -> None:
    """A bracket comes within 0.05 mm of its tooth's outer face at mid-crown and cuts no tooth."""
    teeth = teeth_of(person)
    for thing in bracket_things(person, jaw):
        points = _wire_points(thing) if thing.tooth is None else _inside(thing)
        assert len(points) > 50
        for tooth in teeth.values():
            if tooth.erupted and (points.min(axis=0) < tooth.solid.upper_mm).all():
                # teeth together: lower brackets stand clear of the upper teeth too
                assert tooth.solid(points).min() > -0.06, (thing.id, tooth.fdi)
        if thing.tooth is not None:
            tooth = teeth[thing.tooth]
            assert tooth.solid(points).min() < 0.05
            middle = to_own(tooth, points).mean(axis=0)
            assert middle[1] > 0.0  # the cheek's or lip's side
            assert 0.2 < middle[2] / tooth.size.crown_mm < 0.65


@pytest.mark.parametrize("jaw", JAWS)
def test_the_wire_runs_through_every_bracket(jaw: Jaw) -> None:
    """The wire passes each bracket or tube within 0.1 mm and touches no tooth."""
    things = bracket_things(PEOPLE[0], jaw)
    wire = _wire_points(things[-1])
    for thing in things[:-1]:
        assert thing.shape(wire).min() < 0.1, thing.id
        assert thing.shape(wire).min() > -0.02, thing.id
    for tooth in teeth_of(PEOPLE[0]).values():
        assert tooth.solid(wire).min() > 0.0


def test_frames() -> None:
    """The upper appliance goes with the skull, the lower with the mandible."""
    for jaw, frame in zip(JAWS, (Frame.SKULL, Frame.MANDIBLE), strict=True):
        assert {t.frame for t in bracket_things(PEOPLE[0], jaw)} == {frame}
