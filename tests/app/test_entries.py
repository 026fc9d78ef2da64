"""Entries speak of the patient."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QValidator, QWheelEvent
from PySide6.QtWidgets import QApplication

from trainer.app.entries import ChoiceEntry, NumberEntry, SlideEntry, SwitchEntry
from trainer.models.controls import control
from trainer.models.device import Region, Travel


@pytest.fixture
def entry(qtbot) -> NumberEntry:
    """Head sideways, 40 mm either way."""
    made = NumberEntry(control("sideways_mm"), Travel(-40.0, 40.0, 0.5))
    qtbot.addWidget(made)
    return made


@pytest.mark.parametrize(
    ("value", "text"),
    [(6.0, "6 mm left"), (-6.5, "6.5 mm right"), (0.0, "0 mm")],
)
def test_values_are_shown_in_words(entry, value, text) -> None:
    """A value is shown as an amount and a way, without a sign."""
    entry.show_value(value)
    assert entry.text() == text


@pytest.mark.parametrize(
    ("typed", "value"),
    [("6 mm left", 6.0), ("6 left", 6.0), ("6l", 6.0), ("6.5 right", -6.5), ("6,5 r", -6.5),
     ("-3", -3.0), ("3", 3.0), ("0", 0.0), ("6 MM RIGHT", -6.0), ("-4 mm", -4.0)],
)  # fmt: skip
def test_words_signs_and_commas_can_be_typed(entry, typed, value) -> None:
    """What a person may type for a value is understood."""
    assert entry.validate(typed, 0)[0] == QValidator.State.Acceptable
    assert entry.valueFromText(typed) == value


@pytest.mark.parametrize(
    "typed", ["", "left", "6 up", "41", "-41 mm", "6 7", "abc", ".", "-6 left", "-6 r", "+6 right"]
)
def test_nonsense_is_not_taken(entry, typed) -> None:
    """What is no value, another way or out of reach is not accepted, and the value stays."""
    entry.show_value(5.0)
    assert entry.validate(typed, 0)[0] == QValidator.State.Intermediate
    assert entry.valueFromText(typed) == 5.0


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("99", "Head sideways must be -40 to 40 mm, got 99."),
        ("41 right", "Head sideways must be -40 to 40 mm, got -41."),
        ("abc", "Head sideways: “abc” is no value; type 6 left, 6 right or -6."),
        ("-6 left", "Head sideways: “-6 left” has a sign and a way; type 6 left, 6 right or -6."),
    ],
)
def test_what_is_not_taken_is_told(qtbot, entry, typed, says) -> None:
    """What is typed, not taken and confirmed is answered by a sentence, and the value stays."""
    entry.show_value(5.0)
    entry.show()
    entry.selectAll()
    qtbot.keyClicks(entry, typed)
    with qtbot.assertNotEmitted(entry.moved), qtbot.waitSignal(entry.refused) as caught:
        qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert caught.args == [f"{says} It stays at 5 mm left."]
    assert entry.value() == 5.0
    assert entry.text() == "5 mm left"


def test_what_is_taken_is_not_refused(qtbot, entry) -> None:
    """A value that is in order is reported and nothing is refused."""
    entry.show()
    entry.selectAll()
    qtbot.keyClicks(entry, "6 right")
    with qtbot.assertNotEmitted(entry.refused), qtbot.waitSignal(entry.moved) as caught:
        qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert caught.args == ["sideways_mm", -6.0]


def test_angles_are_read_with_their_sign(qtbot) -> None:
    """An angle is shown with its degree sign and read with or without it."""
    entry = NumberEntry(control("pitch_deg"), Travel(-25.0, 25.0, 1.0))
    qtbot.addWidget(entry)
    entry.show_value(-4.0)
    assert entry.text() == "4° chin down"
    assert entry.valueFromText("3° chin up") == 3.0
    assert entry.valueFromText("3 chin down") == -3.0
    assert entry.validate("3 chin", 0)[0] == QValidator.State.Intermediate


def test_a_length_that_has_one_way_only(qtbot) -> None:
    """A control that starts at zero or above is shown without a way."""
    entry = NumberEntry(control("jaw_gap_mm"), Travel(0.0, 20.0, 1.0))
    qtbot.addWidget(entry)
    entry.show_value(3.0)
    assert entry.text() == "3 mm"
    for typed in ("3 closed", "3 xyz", "-3"):
        assert entry.validate(typed, 0)[0] == QValidator.State.Intermediate


def test_keys_step_small_and_large(qtbot, entry) -> None:
    """Up and Down go by a step, Page Up and Page Down by ten, and each is reported."""
    moved = []
    entry.moved.connect(lambda key, value: moved.append((key, value)))
    for key in (Qt.Key.Key_Up, Qt.Key.Key_PageUp, Qt.Key.Key_Down, Qt.Key.Key_PageDown):
        qtbot.keyClick(entry, key)
    assert moved == [("sideways_mm", v) for v in (0.5, 5.5, 5.0, 0.0)]


def test_a_shown_value_is_not_reported(qtbot, entry) -> None:
    """Showing a value that came from elsewhere reports nothing."""
    with qtbot.assertNotEmitted(entry.moved):
        entry.show_value(7.0)


def test_scrolling_past_moves_nothing(qtbot, entry) -> None:
    """The wheel over an entry that has no focus does not move the patient."""
    wheel = QWheelEvent(
        QPointF(5, 5), QPointF(5, 5), QPoint(0, 120), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(entry, wheel)
    assert entry.value() == 0.0


def test_choice_reports_its_value(qtbot) -> None:
    """A choice reports the value behind the words; a region as a region."""
    entry = ChoiceEntry(control("region"))
    qtbot.addWidget(entry)
    entry.offer({"lower-jaw": "Lower jaw", "upper-jaw": "Upper jaw"})
    entry.show_value("lower-jaw")
    with qtbot.waitSignal(entry.moved) as caught:
        qtbot.keyClick(entry, Qt.Key.Key_Down)
    assert caught.args == ["region", Region.UPPER_JAW]


def test_switch_reports_on_and_off(qtbot) -> None:
    """The space bar turns a switch on, and that is reported."""
    entry = SwitchEntry(control("arm_turned"))
    qtbot.addWidget(entry)
    with qtbot.waitSignal(entry.moved) as caught:
        qtbot.keyClick(entry, Qt.Key.Key_Space)
    assert caught.args == ["arm_turned", True]


@pytest.fixture
def slide(qtbot) -> SlideEntry:
    """Head pitch without its number, in steps of half a degree."""
    made = SlideEntry(control("pitch_deg"), Travel(-20.0, 15.0, 0.5))
    qtbot.addWidget(made)
    return made


def test_a_slide_has_no_number_and_moves_by_steps(qtbot, slide) -> None:
    """Arrow keys move by the unit's step, from a value between two steps too; no number shows."""
    told = []
    slide.moved.connect(lambda key, value: told.append((key, value)))
    slide.show_value(1.3)
    assert told == []
    qtbot.keyClick(slide, Qt.Key.Key_Right)
    qtbot.keyClick(slide, Qt.Key.Key_PageDown)
    slide.stepDown()
    assert [key for key, _ in told] == ["pitch_deg"] * 3
    assert [value for _, value in told] == pytest.approx([1.8, -3.2, -3.7])
    assert not any(c.isdigit() for c in slide.toolTip() + slide.accessibleName())


def test_a_slide_stays_within_its_travel(slide) -> None:
    """At the end of the travel the value is the end's."""
    told = []
    slide.moved.connect(lambda key, value: told.append(value))
    slide.show_value(14.7)  # shows as 14.5, one step below the end
    slide.stepUp()
    slide.stepUp()
    assert told == [15.0]
