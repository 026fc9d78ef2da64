"""Teeth in the numbering of the local rules."""

from __future__ import annotations

import pytest

from trainer.models.learning import ToothNumbering
from trainer.services.tooth_names import numbered, universal_number

FDI = [q * 10 + n for q in (1, 2, 3, 4) for n in range(1, 9)]
MILK = [q * 10 + n for q in (5, 6, 7, 8) for n in range(1, 6)]


# Corners and middles of both rows: dental textbooks, from memory.
@pytest.mark.parametrize(
    ("fdi", "universal"),
    [(18, "1"), (11, "8"), (21, "9"), (28, "16"), (38, "17"), (31, "24"), (41, "25"), (48, "32"),
     (16, "3"), (46, "30"), (36, "19"), (23, "11"),
     (55, "A"), (51, "E"), (61, "F"), (65, "J"), (75, "K"), (71, "O"), (81, "P"), (85, "T")],
)  # fmt: skip
def test_teeth_have_their_universal_number(fdi: int, universal: str) -> None:
    """The row begins at the upper right and ends at the lower right."""
    assert universal_number(fdi) == universal


def test_every_tooth_has_a_number_of_its_own() -> None:
    """1 to 32 and A to T, each once."""
    assert sorted(map(universal_number, FDI), key=int) == [str(n) for n in range(1, 33)]
    assert sorted(map(universal_number, MILK)) == list("ABCDEFGHIJKLMNOPQRST")


@pytest.mark.parametrize("number", [0, 10, 19, 56, 90, 99, 100])
def test_other_numbers_are_none(number: int) -> None:
    """They are refused."""
    with pytest.raises(ValueError, match="no tooth"):
        universal_number(number)


def test_names_carry_both_numbers_where_the_rules_want_it() -> None:
    """Two digits stay; what is no tooth stays as it is."""
    name = "the crown of 46"
    assert numbered(name, ToothNumbering.FDI) == name
    assert numbered(name, ToothNumbering.UNIVERSAL) == "the crown of 46 (30)"
    assert numbered("the chin", ToothNumbering.UNIVERSAL) == "the chin"
    assert numbered("90 mm", ToothNumbering.UNIVERSAL) == "90 mm"
