"""The course of an appointment on a line."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from tests.engine.debrief.attempts import attempt
from tests.helpers.appointments import VISIT
from trainer.app.debrief.timeline import Timeline
from trainer.engine.debrief.course import course_of
from trainer.services.event_words import event_text

COURSE = course_of(attempt("clean"))


@pytest.fixture
def timeline(qtbot) -> Timeline:
    """A shown line with a clean appointment on it."""
    made = Timeline(VISIT)
    qtbot.addWidget(made)
    made.show_moments(COURSE)
    made.show()
    return made


def test_arrow_keys_go_event_by_event(qtbot, timeline) -> None:
    """One key, one event: its time, its words and its number are told."""
    told = []
    timeline.moved.connect(told.append)
    for _ in range(3):
        qtbot.keyClick(timeline.slider, Qt.Key.Key_Right)
    qtbot.keyClick(timeline.slider, Qt.Key.Key_PageUp)
    assert told == [1, 2, 3, 13]
    words = timeline.words.text()
    assert event_text(COURSE[13].event, VISIT) in words
    assert f"(14 of {len(COURSE)})" in words


def test_it_plays_and_pauses(qtbot, timeline) -> None:
    """Playing goes on by itself; a step by hand pauses it, and the end does too."""
    timeline._ticks.setInterval(5)
    timeline.play.click()
    assert timeline.play.text() == "Pause"
    qtbot.waitUntil(lambda: timeline.number >= 3)
    timeline.back.click()
    assert not timeline.plays
    at = timeline.number
    timeline.go_to(len(COURSE) - 2)
    timeline.play.click()
    qtbot.waitUntil(lambda: not timeline.plays)
    assert timeline.number == len(COURSE) - 1 > at
    timeline.play.click()
    assert timeline.number == 0


def test_radiation_is_marked_by_shape(timeline) -> None:
    """A triangle stands where radiation was, a dot where something was placed: other pixels."""
    picture = timeline.line.grab().toImage()
    colours = {picture.pixelColor(x, 13).name() for x in range(picture.width())}
    assert len(colours) > 3


def test_without_events_nothing_can_be_gone_through(qtbot) -> None:
    """An empty course is told, and no button does anything."""
    timeline = Timeline(VISIT)
    qtbot.addWidget(timeline)
    timeline.show_moments(())
    assert not timeline.play.isEnabled()
    assert timeline.words.text() == "Nothing has happened."
