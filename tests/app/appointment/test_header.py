"""The top of the appointment's window."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.appointments import BEFORE, ORDER, PLACE, ROWAN, TALK, VISIT, context, play
from trainer.app.appointment.header import RESTLESS, Header, card_words, status_words
from trainer.engine.appointment.conditions import looks_restless
from trainer.engine.appointment.state import open_appointment
from trainer.models.appointment_words import Trait
from trainer.models.learning import HelpLevel


def test_the_card_names_patient_place_field_and_programme() -> None:
    """One line holds everything that is ordered."""
    words = card_words(ROWAN, ORDER)
    for part in ("Tom Rowan", "3 April 1997", "lower jaw", "right side", "tooth 48", "40x40",
                 "100 µm", "teeth together"):  # fmt: skip
        assert part in words


def test_the_room_is_told_as_it_is() -> None:
    """Person, operator, door, unit, supports and light lines are told, and follow the state."""
    empty = " ".join(status_words(open_appointment(context(), 1)))
    assert "Nobody in the room" in empty
    assert "bite piece" in empty
    full = " ".join(status_words(play([*BEFORE, *TALK, *PLACE])[0]))
    assert "Person at the unit, standing" in full
    assert "chin rest and forehead rest" in full
    assert "Light lines: on" in full


@pytest.mark.parametrize("traits", [frozenset(), frozenset({Trait.FIDGETS})])
def test_a_fidgeting_person_is_seen_while_they_fidget(qtbot, traits) -> None:
    """The sentence stands there exactly while somebody who fidgets does so."""
    where = context(replace(VISIT, traits=traits))
    state, _ = play([*BEFORE, *TALK, *PLACE], where)
    header = Header(where.case, HelpLevel.NONE)
    qtbot.addWidget(header)
    seen = set()
    for second in range(0, 240, 5):
        header.show_time(state, float(second))
        fidgets = looks_restless(state, float(second))
        assert (header.restless.text() == RESTLESS) is fidgets
        seen.add(fidgets)
    assert seen == ({True, False} if traits else {False})
