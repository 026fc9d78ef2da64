"""Checks of persons as plain data: what is written is read, what is wrong is told."""

from __future__ import annotations

import pytest
from hypothesis import given

from tests.strategies import people
from trainer.errors import NotValid, TrainerError
from trainer.models.subject import (
    MEAN_MAN,
    Jaw,
    Mouth,
    Person,
    Profile,
    Repair,
    Repaired,
    Sex,
    Sizes,
    Worn,
)
from trainer.services.person_io import (
    EXAMPLES,
    READERS,
    person_data,
    person_from_words,
    person_of,
    person_text,
)

REPAIRS = (Repaired(16, Repair.AMALGAM_FILLING), Repaired(26, Repair.GOLD_CROWN))


@given(people())
def test_a_person_comes_back_as_written(person: Person) -> None:
    """Reading the data of a person gives that person."""
    assert person_of(person_data(person)) == person


def test_words_are_laid_over_the_mean_man() -> None:
    """Each word sets one thing; without words it is the mean man."""
    assert person_from_words([]) == MEAN_MAN
    found = person_from_words(
        [
            "sex=female",
            "age_years=70",
            "head_length_sd=-1.5",
            "profile=class-3",
            "missing=46,36",
            "repairs=26:gold-crown,16:amalgam-filling",
            "dentures=lower",
            "worn=spectacles,earrings",
        ]
    )
    mouth = Mouth(missing=(36, 46), repairs=REPAIRS, dentures=(Jaw.LOWER,))
    sizes = Sizes(head_length=-1.5)
    worn = (Worn.EARRINGS, Worn.SPECTACLES)
    expected = Person(Sex.FEMALE, 70, sizes, Profile.CLASS_III, mouth, worn=worn)
    assert found == expected


def test_every_key_has_an_example_that_is_read() -> None:
    """The examples name every key, and each is accepted alone."""
    assert list(EXAMPLES) == list(READERS)
    for key, value in EXAMPLES.items():
        # a ridge is lost and a denture worn only where teeth are missing
        gap = ["missing=17,47"] if key.startswith(("lost_ridge", "dentures")) else []
        assert person_from_words([*gap, f"{key}={value}"]) != person_from_words(gap)


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("sex", "must be key=value, got 'sex'"),
        ("sex=mail", "must be one of male, female; got 'mail', did you mean 'male'?"),
        ("age_yeers=9", "unknown setting of a person 'age_yeers', did you mean 'age_years'?"),
        ("age_years=5", "age_years 5: must be 6 to 100 years"),
        ("age_years=nine", "must be a whole number, got 'nine'"),
        ("head_length_sd=3", "head_length 3: must be -2.5 to 2.5 SD"),
        ("head_length_sd=nan", "must be a finite number, got 'nan'"),
        ("repairs=16", "must be tooth:repair, got '16'"),
        ("lost_ridge_upper=1.5", "lost_ridge_upper 1.5: must be 0 to 1"),
        ("worn=earings", "got 'earings', did you mean 'earrings'?"),
    ],
)
def test_a_wrong_word_is_told(word: str, told: str) -> None:
    """The message names the word and what is expected."""
    with pytest.raises(NotValid) as caught:
        person_from_words([word])
    assert told in str(caught.value)
    assert word in str(caught.value)


def test_a_fault_names_its_key_once() -> None:
    """The sentence after the word says the key one time, whoever found the fault."""
    for word in ("age_years=3", "age_years=nine", "lost_ridge_upper=1.5"):
        with pytest.raises(NotValid) as caught:
            person_from_words([word])
        (fault,) = caught.value.faults
        assert str(fault).removeprefix(f"--person {word}").count(word.split("=")[0]) == 1


def test_all_wrong_words_are_told_at_once() -> None:
    """Two faults give two messages."""
    with pytest.raises(NotValid) as caught:
        person_from_words(["sex=mail", "age_years=5", "worn=earrings"])
    assert [fault.path.split()[-1] for fault in caught.value.faults] == ["sex=mail", "age_years=5"]


def test_a_mouth_that_cannot_be_is_told() -> None:
    """A filling in a tooth that is missing is refused."""
    with pytest.raises(NotValid, match="16"):
        person_from_words(["missing=16", "repairs=16:amalgam-filling"])


def test_drawn_sizes_yield_to_words() -> None:
    """A drawn person keeps what a word sets, and is the same for the same seed."""
    one = person_from_words(["head_length_sd=1"], draw_seed=7)
    assert one == person_from_words(["head_length_sd=1"], draw_seed=7)
    assert one.sizes.head_length == 1.0
    assert one.sizes != Sizes(head_length=1.0)
    assert one != person_from_words(["head_length_sd=1"], draw_seed=8)


def test_the_line_tells_what_differs() -> None:
    """A plain person is told by sex and age; what differs follows."""
    assert person_text(MEAN_MAN) == "man of 40"
    child = Person(Sex.FEMALE, 9, Sizes(head_length=1.5), Profile.CLASS_II)
    assert person_text(child) == "girl of 9, Class II, head_length_sd +1.5"
    mouth = Mouth(missing=(36,), repairs=REPAIRS[:1], brackets=(Jaw.UPPER,))
    grown = Person(Sex.MALE, 20, mouth=mouth, worn=(Worn.LIP_STUD,))
    assert person_text(grown) == (
        "man of 20, without 36, 16 amalgam filling, upper brackets, lip stud"
    )


def test_missing_teeth_come_in_order() -> None:
    """Teeth out of order or twice are refused by the model, so that equal mouths are equal."""
    with pytest.raises(TrainerError, match="ascend"):
        Mouth(missing=(46, 36))
