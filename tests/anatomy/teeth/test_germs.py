"""Unerupted teeth in a child's jaws: clear of each other, below the primary teeth."""

from __future__ import annotations

import pytest
from helpers.mouths import deepest_overlap_mm, surface_points

from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.anatomy.teeth.tooth_tables import is_primary
from trainer.models.subject import Person, Sex

AGES = range(6, 18)


def _teeth(person: Person) -> dict[int, Tooth]:
    return {t.fdi: t for t in dentition(person)}


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("age", AGES)
def test_no_teeth_run_into_each_other(sex: Sex, age: int) -> None:
    """At every age no tooth, germ or root enters another by more than 0.1 mm."""
    depth, *which = deepest_overlap_mm(Person(sex, age))
    assert depth < 0.1, which


@pytest.mark.parametrize("age", [6, 8, 10])
def test_germs_lie_deeper_than_the_crowns_above(age: int) -> None:
    """A germ below a primary tooth has its biting end deeper than that tooth's neck."""
    teeth = _teeth(Person(Sex.FEMALE, age))
    for tooth in teeth.values():
        over = teeth.get(tooth.fdi + 40)
        if tooth.erupted or over is None or tooth.fdi % 10 > 5:
            continue
        tip = tooth.origin_mm + tooth.rotation[:, 2] * tooth.size.crown_mm
        assert (tip - over.origin_mm) @ over.rotation[:, 2] < -1.0, tooth.fdi


def test_front_germs_lie_to_the_tongue_of_primary_roots() -> None:
    """At six the permanent incisors' crowns lie on the tongue's side of the primary roots."""
    # dental anatomy textbooks, from memory
    teeth = _teeth(Person(Sex.MALE, 6))
    for fdi in (21, 31):
        germ, over = teeth[fdi], teeth[fdi + 40]
        tip = germ.origin_mm + germ.rotation[:, 2] * germ.size.crown_mm
        assert (tip - over.origin_mm) @ over.rotation[:, 1] < -1.0


@pytest.mark.parametrize("age", [6, 8, 10])
def test_follicles_have_dissolved_primary_roots(age: int) -> None:
    """Within 0.7 mm of a germ nothing of a primary tooth is left."""
    teeth = _teeth(Person(Sex.MALE, age))
    germs = [t for t in teeth.values() if not t.erupted]
    for tooth in teeth.values():
        if is_primary(tooth.fdi):
            points = surface_points(tooth)
            points = points[tooth.solid(points) < 0.02]
            for germ in germs:
                if germ.frame is tooth.frame:
                    assert germ.solid(points).min() > 0.7, (tooth.fdi, germ.fdi)


def test_a_loose_tooth_has_lost_its_roots() -> None:
    """The last primary molar of a boy of twelve has lost nearly all of its roots."""
    teeth = _teeth(Person(Sex.MALE, 12))
    assert teeth[75].resorbed
    for root in teeth[75].roots:
        assert (teeth[75].origin_mm - root.axis_mm[-1]) @ teeth[75].rotation[:, 2] < 6.0


@pytest.mark.parametrize("age", AGES)
def test_both_sides_are_mirror_images(age: int) -> None:
    """The right side's teeth stand where the left side's mirror images do."""
    teeth = _teeth(Person(Sex.FEMALE, age))
    for tooth in teeth.values():
        quadrant = tooth.fdi // 10
        other = teeth[
            {1: 2, 2: 1, 3: 4, 4: 3, 5: 6, 6: 5, 7: 8, 8: 7}[quadrant] * 10 + tooth.fdi % 10
        ]
        assert tooth.origin_mm * [-1, 1, 1] == pytest.approx(other.origin_mm, abs=1e-9)
