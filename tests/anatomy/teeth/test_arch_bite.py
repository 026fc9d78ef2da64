"""How both arches meet, in Class I, II and III and in children."""

import itertools

import numpy as np
import pytest

from trainer.anatomy.teeth.arch_bite import clearance_mm, gap_mm, left_arches, tip_of
from trainer.anatomy.teeth.arch_form import ADULT, ArchPlan
from trainer.anatomy.teeth.dentition import arch_plan
from trainer.models.subject import Person, Profile, Sex, Sizes

CLASSES = [Profile.CLASS_II, Profile.CLASS_III]
AGES = [6, 9, 12, 40]


@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("profile", CLASSES)
def test_the_drop_of_the_lower_arch(profile: Profile, age: int) -> None:
    """In Class II and III the lower arch need not be let down by more than 1.5 mm."""
    for sex in Sex:
        assert left_arches(arch_plan(Person(sex, age, profile=profile))).down_mm <= 1.5 + 1e-9


@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("profile", list(Profile))
def test_crowns_of_both_jaws_keep_apart(profile: Profile, age: int) -> None:
    """No upper crown enters a lower one by more than 0.1 mm, and upper back teeth touch."""
    plan = arch_plan(Person(age_years=age, profile=profile))
    stands = left_arches(plan).stands
    lower = {n: stands["lower", n] for n in plan.lower}
    for n in plan.upper:
        room = clearance_mm(n, stands["upper", n], lower)
        assert room > -0.1, n
        if n % 10 > 3:
            assert room < 0.1, n


@pytest.mark.parametrize("age", AGES)
def test_neighbours_touch(age: int) -> None:
    """Neighbours are within 0.3 mm of contact, but for spaced primary front teeth (0.6)."""
    plan = arch_plan(Person(Sex.FEMALE, age))
    stands = left_arches(plan).stands
    for jaw in ("upper", "lower"):
        row = plan.row(jaw)
        for a, b in itertools.pairwise(row):
            gap = gap_mm(jaw, a, stands[jaw, a], b, stands[jaw, b])
            assert -0.1 < gap < (0.6 if a in (11, 12) else 0.3), (jaw, a, b)


@pytest.mark.parametrize(
    ("profile", "low", "high"), [(Profile.CLASS_II, 6, 8), (Profile.CLASS_III, -4, -1)]
)
def test_overjet(profile: Profile, low: float, high: float) -> None:
    """Overjet is 6 to 8 mm in Class II and reversed, -1 to -4, in Class III."""
    # typical figures, from memory: orthodontic textbooks
    stands = left_arches(arch_plan(Person(profile=profile))).stands
    upper, lower = (tip_of(jaw, 1, stands[jaw, 1])[1] for jaw in ("upper", "lower"))
    assert low <= lower - upper <= high


def test_class_two_molars_are_half_a_premolar_back() -> None:
    """In Class II the lower first molar stands back by half a premolar's width or more."""
    plain = left_arches(ADULT).stands["lower", 6].origin_mm
    back = left_arches(arch_plan(Person(profile=Profile.CLASS_II))).stands["lower", 6].origin_mm
    assert back[1] - plain[1] > 3.5


def test_asking_again_costs_nothing() -> None:
    """Persons who differ only in sizes share their arches."""
    one = left_arches(arch_plan(Person(sizes=Sizes(tooth_size=1.0, head_breadth=2.0))))
    assert one is left_arches(ADULT)


def test_primary_canine_widths() -> None:
    """At six the canine tips stand about 29 mm apart in the upper and 23 in the lower jaw (3)."""
    # from memory: Moyers et al., Standards of Human Occlusal Development, 1976
    plan = arch_plan(Person(Sex.MALE, 6))
    stands = left_arches(plan).stands
    widths = [2 * tip_of(jaw, 13, stands[jaw, 13])[0] for jaw in ("upper", "lower")]
    np.testing.assert_allclose(widths, [29.0, 23.0], atol=3.0)


def test_plans_are_rows_of_places() -> None:
    """The default plan is the adult row in both jaws."""
    assert ArchPlan().row("upper") == ArchPlan().row("lower") == tuple(range(1, 9))
