"""Which structures a person lacks, and why."""

from __future__ import annotations

import pytest

from trainer.models.subject import MEAN_MAN, Mouth, Person, Repair, Repaired, Sex
from trainer.services.assets import known_structure_ids, load_head
from trainer.services.person_names import missing_teeth_among, mouth_contradictions

NO_36 = Person(Sex.FEMALE, mouth=Mouth(missing=(36,)))
IMPLANT = Person(Sex.FEMALE, mouth=Mouth(missing=(36,), repairs=(Repaired(36, Repair.IMPLANT),)))
BOY = Person(Sex.MALE, 7)


@pytest.mark.parametrize(
    ("person", "structure", "words"),
    [
        (MEAN_MAN, "tooth-36", ""),
        (MEAN_MAN, "tooth-55", "a person of 40 years has no tooth 55"),
        (NO_36, "tooth-36-crown", "this person has lost 36"),
        (NO_36, "canal-at-36", "this person has lost 36"),
        (NO_36, "canal-left", ""),
        (IMPLANT, "tooth-36-apex-mesial", "an implant stands in place of 36"),
        (BOY, "tooth-55", ""),
        (BOY, "tooth-13", ""),
        (BOY, "tooth-13-apex", "the root of 13 is not formed yet"),
        (BOY, "tooth-48", "a person of 7 years has no tooth 48"),
        (BOY, "condyle-left", ""),
    ],
)
def test_what_a_person_lacks_is_told(person: Person, structure: str, words: str) -> None:
    """Teeth that are lost, replaced, of another age or without a root yet lack; bones never do."""
    assert missing_teeth_among(person, structure) == words


def test_a_mean_head_has_what_the_names_say() -> None:
    """Of all known structures exactly those that no reason speaks against are in the built head."""
    told = {s for s in known_structure_ids() if not missing_teeth_among(MEAN_MAN, s)}
    assert told == set(load_head(MEAN_MAN).head.structures)


@pytest.mark.slow
@pytest.mark.parametrize("person", [BOY, IMPLANT], ids=["boy", "implant"])
def test_a_special_head_has_what_the_names_say(person: Person) -> None:
    """The same is true of a child and of a person with an implant."""
    told = {s for s in known_structure_ids() if not missing_teeth_among(person, s)}
    assert told == set(load_head(person).head.structures)


def test_a_mouth_that_cannot_be_is_told() -> None:
    """An implant beside its own tooth is a contradiction; a sound mouth has none."""
    both = Person(Sex.MALE, mouth=Mouth(repairs=(Repaired(36, Repair.IMPLANT),)))
    assert mouth_contradictions(MEAN_MAN) == []
    assert any("36" in text for text in mouth_contradictions(both))
