"""What stands in the beam at an exposure."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.appointments import BEFORE, ENTER, HOLD, OUT, PLACE, SCOUTS, TALK, VISIT, play

from trainer.models.appointment import SpacerIn
from trainer.models.appointment_visit import WornItem
from trainer.models.appointment_words import ArchPlace, SpacerKind, WornPlace
from trainer.models.frames import Side
from trainer.models.subject import Person, Worn
from trainer.services.volumes.in_beam import as_worn, spacer_in_beam
from trainer.services.workbench import open_workbench


def test_what_was_taken_off_is_not_in_the_picture() -> None:
    """The person's phantom wears what is on, and not what was taken off."""
    rings = WornItem("rings", "ear rings", WornPlace.EARS, shown_as=Worn.EARRINGS)
    frame = WornItem("frame", "spectacles", WornPlace.EYES, shown_as=Worn.SPECTACLES)
    visit = replace(VISIT, items=(rings, frame))
    person = Person(worn=(Worn.EARRINGS, Worn.SPECTACLES))
    assert as_worn(person, visit, ("rings", "frame")).worn == person.worn
    assert as_worn(person, visit, ("frame",)).worn == (Worn.SPECTACLES,)
    assert as_worn(person, visit, ()).worn == ()


@pytest.mark.parametrize("both", [True, False])
def test_a_spacer_lies_away_from_what_is_ordered(both: bool) -> None:
    """On one side only it lies opposite the ordered side; without one there is nothing."""
    bench = open_workbench("lower-third-molar")
    state, _ = play([*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT, *SCOUTS[:1]])
    conditions = state.scouts[0].conditions
    assert spacer_in_beam(bench, replace(conditions, spacer=None)) == ()
    spacer = SpacerIn(SpacerKind.ROLL, ArchPlace.MOLARS, both)
    wide = replace(bench.case.start, jaw_gap_mm=12.0)
    found = spacer_in_beam(bench, replace(conditions, spacer=spacer, setup=wide))
    assert bench.case.visit is not None
    assert bench.case.visit.card.prescription.side is Side.RIGHT
    on_left = [bool(s.middle_mm[0] > 0.0) for s in found]
    assert sorted(on_left) == ([False, True] if both else [True])
