"""What is told while the person is placed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.appointments import BEFORE, ENTER, PLACE, TALK, play
from trainer.app.appointment.hint import NEAR_MM, clearance_words, hint
from trainer.models.clearance import BodyPlace, Clearance
from trainer.models.learning import HelpLevel


def near(distance_mm: float) -> Clearance:
    """A shoulder that is so near to the moving part."""
    return Clearance(distance_mm, "the tube housing", BodyPlace.LEFT_SHOULDER, (0.0, 0.0, 0.0))


@pytest.mark.parametrize(
    ("distance_mm", "words"),
    [(-3.0, "would hit the left shoulder"), (12.0, "would pass the left shoulder at 12 mm")],
)
def test_what_comes_near_is_named(distance_mm: float, words: str) -> None:
    """Part, place and distance are told, with a sign beside the words."""
    told = clearance_words(near(distance_mm))
    assert told.startswith("! The tube housing")
    assert words in told


def test_what_stays_away_is_not_told() -> None:
    """Beyond the near distance, and for a unit without moving parts, nothing is said."""
    assert clearance_words(near(NEAR_MM)) == ""
    assert clearance_words(None) == ""


def test_help_decides_what_is_told() -> None:
    """Open help tells structures and collisions, lines only collisions, less help neither."""
    state, _ = play([*BEFORE, *TALK, *ENTER, *PLACE])
    placement = replace(state.context.placing(state.setup), clearance=near(-3.0))
    told = {level: hint(state, placement, level) for level in HelpLevel}
    assert "required structures lie inside" in told[HelpLevel.OPEN]
    assert "would hit" in told[HelpLevel.OPEN]
    assert told[HelpLevel.LINES] == clearance_words(placement.clearance)
    assert told[HelpLevel.ON_REQUEST] == ""
    assert told[HelpLevel.NONE] == ""


def test_before_anybody_is_at_the_unit_nothing_is_told() -> None:
    """Nobody there, nothing near."""
    state, _ = play(BEFORE)
    placement = replace(state.context.placing(state.setup), clearance=near(-3.0))
    assert hint(state, placement, HelpLevel.OPEN) == ""
