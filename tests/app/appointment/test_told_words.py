"""Events in words."""

from __future__ import annotations

import pytest

from tests.helpers.appointments import CLEAN_RUN, VISIT, play
from trainer.app.appointment.told_words import SAYS, Teller, event_words
from trainer.models import appointment_events as ev
from trainer.models.appointment_words import (
    BANDS,
    CutSide,
    IdentityItem,
    Instruction,
    Interlock,
    ScoutKind,
)

PLAIN, EXAM = Teller(VISIT, True), Teller(VISIT, False)


def test_every_event_of_a_clean_appointment_is_a_sentence() -> None:
    """What happens is told in words that begin and end as a sentence does."""
    state, _ = play(CLEAN_RUN)
    for logged in state.log:
        for teller in (PLAIN, EXAM):
            words = event_words(logged.event, teller)
            assert words[0].isupper() or words[0] == "“", words
            assert words.endswith((".", "?", "!", "”")), words


@pytest.mark.parametrize(
    ("event", "secret"),
    [
        (ev.TargetMarked(ScoutKind.FRONTAL, 7.5), "7.5"),
        (ev.CutNamed(ScoutKind.FRONTAL, (), (CutSide.TOP,)), "top"),
        (ev.RecordWritten(("voxel_um",)), "voxel"),
        (ev.HeadNudged(BANDS[0], 0.0, 2.0, 0.0), "2"),
    ],
)
def test_an_exam_tells_less(event: ev.Event, secret: str) -> None:
    """What only the program knows is told with help, and not in an exam."""
    assert secret in event_words(event, PLAIN)
    assert secret not in event_words(event, EXAM)


def test_nobody_is_named_before_they_have_said_who_they_are() -> None:
    """Who comes in has no name yet, and an answer is not judged for the learner."""
    assert "Rowan" not in event_words(ev.PersonCame("rowan"), PLAIN)
    said = ev.IdentityAnswered(IdentityItem.NAME, True, "Hal Rowan", False)
    assert "Hal Rowan" in event_words(said, PLAIN)
    assert "agree" not in event_words(said, PLAIN)


@pytest.mark.parametrize("interlock", list(Interlock))
def test_a_block_says_why_and_what_to_do(interlock: Interlock) -> None:
    """Every interlock is told in words, and that no radiation came out."""
    words = event_words(ev.Blocked((interlock,)), EXAM)
    assert words.startswith("The unit blocks: ")
    assert "; " in words
    assert words.endswith("No radiation came out.")


def test_who_did_not_hear_is_told() -> None:
    """An instruction that was not heard says so."""
    heard = event_words(ev.Instructed(Instruction.STAY_STILL, True), PLAIN)
    missed = event_words(ev.Instructed(Instruction.STAY_STILL, False), PLAIN)
    assert missed.startswith(heard)
    assert "did not hear" in missed


def test_own_words_are_of_events_that_exist() -> None:
    """Every kind with words of its own is an event of the engine."""
    assert all(issubclass(kind, ev.Event) for kind in SAYS)


def test_an_exam_tells_no_angle_of_the_head() -> None:
    """Where angles are not told, moves, nudges and a stiff neck are, but without their degrees."""
    exam = Teller(VISIT, False, False)
    state, _ = play(CLEAN_RUN)
    events = [e.event for e in state.log if isinstance(e.event, ev.SetupMoved | ev.HeadNudged)]
    events.append(ev.NeckResisted("pitch_deg", 14.0, 9.0))
    told = [event_words(e, exam).replace("Arm turned by 90°", "") for e in events]
    assert not any("°" in words for words in told)
    assert any("Head pitch: as you see" in words for words in told)
    assert any("28 mm down" in words for words in told)
