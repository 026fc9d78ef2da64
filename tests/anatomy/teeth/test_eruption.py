"""What stands in the mouth at an age, against the chronology of the textbooks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.anatomy.teeth.eruption import EMERGENCE, JAWS, emergence_years, places, root_share, row
from trainer.models.subject import Person, Sex

# Ages of emergence, years: Nelson & Ash, Wheeler's Dental Anatomy, app. B and flash cards, with a
# chronology table of paediatric emergency medicine; first molars come through at "6-7"
RANGES = {
    "upper": ((7, 8), (8, 9), (11, 12), (10, 11), (10, 12), (6, 7), (12, 13), (17, 21)),
    "lower": ((6, 7), (7, 8), (9, 10), (10, 12), (11, 12), (6, 7), (11, 13), (17, 21)),
}
EARLY_YEARS = 0.1  # first molars are let come a month early, so that they show at six


def _permanent_in_the_mouth(sex: Sex, age: int, jaw: str) -> list[int]:
    return [p.place for p in places(Person(sex, age), jaw) if p.erupted and p.place < 9]


@pytest.mark.parametrize("jaw", JAWS)
def test_emergence_lies_in_the_published_ranges(jaw: str) -> None:
    """The mean age of emergence of every permanent tooth lies in its published range."""
    for age, (low, high) in zip(EMERGENCE[jaw], RANGES[jaw], strict=True):
        assert low - EARLY_YEARS <= age <= high


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("sex", list(Sex))
def test_at_nine(sex: Sex, jaw: str) -> None:
    """A nine-year-old has exactly incisors and first molars as permanent teeth in each quadrant."""
    # reference check: section 5.2, exactly 1, 2, 6
    assert _permanent_in_the_mouth(sex, 9, jaw) == [1, 2, 6]


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("sex", list(Sex))
def test_at_six(sex: Sex, jaw: str) -> None:
    """At six all primary teeth stand, first molars come through, 1 to 5 and 7 are in the bone."""
    found = {p.place: p for p in places(Person(sex, 6), jaw)}
    assert [n for n in found if n > 10] == [11, 12, 13, 14, 15]
    assert found[6].erupted
    assert 0.0 < found[6].risen < 1.0
    assert [n for n in found if n < 10 and not found[n].erupted] == [1, 2, 3, 4, 5, 7]


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("sex", list(Sex))
def test_at_twelve(sex: Sex, jaw: str) -> None:
    """At twelve second molars are on their way and third molars are crowns in the bone."""
    found = {p.place: p for p in places(Person(sex, 12), jaw)}
    assert 0.3 < found[7].risen < 1.0
    assert found[8].root_share == 0.0
    assert not found[8].erupted
    assert set(_permanent_in_the_mouth(sex, 12, jaw)) >= {1, 2, 3, 4, 6}


def test_a_last_primary_tooth_at_twelve() -> None:
    """A boy of twelve has one primary tooth left in each lower quadrant, the second molar."""
    left = [p.place for j in JAWS for p in places(Person(Sex.MALE, 12), j) if p.place > 10]
    assert left == [15]


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("sex", list(Sex))
def test_at_fifteen(sex: Sex, jaw: str) -> None:
    """At fifteen 1 to 7 stand in the mouth, 8 is in the bone and no primary tooth is left."""
    assert _permanent_in_the_mouth(sex, 15, jaw) == [1, 2, 3, 4, 5, 6, 7]
    assert {p.place for p in places(Person(sex, 15), jaw)} == set(range(1, 9))


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("place", range(1, 9))
def test_girls_are_some_months_ahead(jaw: str, place: int) -> None:
    """Every tooth of a girl comes three to six months before a boy's."""
    ahead = emergence_years(Sex.MALE, jaw, place) - emergence_years(Sex.FEMALE, jaw, place)
    assert 0.25 <= ahead <= 0.5


def test_first_molar_roots_finish_at_nine_to_ten() -> None:
    """The roots of first molars are open at 7 and finished between 8 and 10."""
    # Wheeler flash card
    for sex in Sex:
        assert root_share(sex, 7.0, "upper", 6) < 0.9
        assert root_share(sex, 10.0, "upper", 6) == 1.0


@given(st.sampled_from(Sex), st.integers(6, 17), st.sampled_from(JAWS))
def test_every_place_is_taken_once(sex: Sex, age: int, jaw: str) -> None:
    """At any age each place from the midline to the second premolar holds one tooth of the row."""
    standing = row(places(Person(sex, age), jaw))
    assert [n % 10 for n in standing] == list(range(1, len(standing) + 1))


@given(st.sampled_from(Sex), st.integers(6, 16), st.sampled_from(JAWS), st.integers(1, 8))
def test_teeth_only_grow_and_rise(sex: Sex, age: int, jaw: str, place: int) -> None:
    """A year later no permanent tooth has less root or stands deeper."""
    now, then = (
        {p.place: p for p in places(Person(sex, a), jaw)}.get(place) for a in (age, age + 1)
    )
    if now is None:
        return
    assert then is not None
    assert then.root_share >= now.root_share
    assert then.risen >= now.risen
    assert then.erupted >= now.erupted


def test_adults_have_eight_finished_teeth() -> None:
    """An adult has the eight permanent teeth of each quadrant in the bite, whatever the age."""
    for age in (18, 90):
        for jaw in JAWS:
            found = places(Person(age_years=age), jaw)
            assert [p.place for p in found] == list(range(1, 9))
            assert all(p.risen == p.root_share == 1.0 for p in found)
