"""The desk's entries."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QApplication

from trainer.app.desk.entries import (
    ChoiceEntry,
    LineEntry,
    LongEntry,
    NumberLine,
    NumbersEntry,
    SeveralEntry,
    SwitchEntry,
    entry_for,
)
from trainer.services.drafts.fields import Field, FieldKind, fields_of


@pytest.fixture
def shown(qtbot):
    """Shows an entry and collects what it reports."""

    def show(entry):
        qtbot.addWidget(entry)
        entry.show()
        entry.activateWindow()
        entry.setFocus()
        told: list[object] = []
        entry.edited.connect(told.append)
        entry.refused.connect(told.append)
        return entry, told

    return show


MARGIN = fields_of("case").part("required", "margin_mm")
AGE = fields_of("case").part("subject", "age_years")


def test_a_number_is_reported_when_it_is_confirmed(qtbot, shown) -> None:
    """A number is reported once, whole numbers as such, with point or comma."""
    entry, told = shown(NumberLine(MARGIN))
    entry.show_value(2)
    entry.selectAll()
    qtbot.keyClicks(entry, "3,5")
    assert told == []
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    entry.show_value(3.5)
    entry.selectAll()
    qtbot.keyClicks(entry, "4.0")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert told == [3.5, 4]
    assert isinstance(told[1], int)


def test_what_is_no_number_is_refused(qtbot, shown) -> None:
    """Letters are refused in words, and the value comes back."""
    entry, told = shown(NumberLine(MARGIN))
    entry.show_value(2)
    entry.selectAll()
    qtbot.keyClicks(entry, "two")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert told == ["“two” is no number; it stays as it was."]
    assert entry.text() == "2"


def test_arrow_keys_step(qtbot, shown) -> None:
    """Up and Down change a number by its step."""
    entry, told = shown(NumberLine(AGE))
    entry.show_value(28)
    qtbot.keyClick(entry, Qt.Key.Key_Up)
    entry.show_value(29)
    qtbot.keyClick(entry, Qt.Key.Key_Down)
    assert told == [29, 28]
    spread = fields_of("case").part("subject", "sizes", "head_length_sd")
    entry, told = shown(NumberLine(spread))
    entry.show_value(None)
    qtbot.keyClick(entry, Qt.Key.Key_Down)
    assert told == [-0.1]


def test_what_may_be_left_out_can_be_emptied(qtbot, shown) -> None:
    """An empty entry leaves the key out where that is allowed, else it is refused or told."""
    entry, told = shown(NumberLine(AGE))
    entry.show_value(28)
    entry.selectAll()
    qtbot.keyClick(entry, Qt.Key.Key_Delete)
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert told == [None]
    line, told = shown(LineEntry(fields_of("case").part("visit", "companion")))
    line.show_value("his mother")
    line.selectAll()
    qtbot.keyClick(line, Qt.Key.Key_Delete)
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert told == [None]
    line, told = shown(LineEntry(fields_of("case").part("id")))
    line.show_value("a")
    line.selectAll()
    qtbot.keyClick(line, Qt.Key.Key_Delete)
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert told == [""]


def test_a_long_text_is_reported_when_it_is_left(qtbot, shown) -> None:
    """A text of several lines is taken over when the focus goes, and not before."""
    entry, told = shown(LongEntry(fields_of("case").part("visit", "card", "unclear")))
    qtbot.keyClicks(entry, "Which side?")
    assert told == []
    QApplication.sendEvent(entry, QFocusEvent(QEvent.Type.FocusOut))
    assert told == ["Which side?"]


def test_choices(qtbot, shown) -> None:
    """A choice reports its name, "not said" leaves the key out, an unknown name is shown."""
    entry, told = shown(ChoiceEntry(fields_of("case").part("subject", "profile")))
    entry.show_value("class-2")
    assert entry.currentText() == "class 2"
    qtbot.keyClick(entry, Qt.Key.Key_Down)
    qtbot.keyClick(entry, Qt.Key.Key_Home)
    assert told == ["class-3", None]
    entry.show_value("class-9")
    assert entry.currentText() == "class-9 (unknown here)"


def test_switches_say_yes_no_or_nothing(qtbot, shown) -> None:
    """A switch reports truths; one that must be there has no third state."""
    entry, told = shown(SwitchEntry(fields_of("case").part("visit", "can_be_pregnant")))
    entry.show_value(None)
    qtbot.keyClick(entry, Qt.Key.Key_Down)
    qtbot.keyClick(entry, Qt.Key.Key_Down)
    assert told == [True, False]
    must = SwitchEntry(fields_of("case").part("visit", "scripted_motion", "seen"))
    qtbot.addWidget(must)
    assert [must.itemText(n) for n in range(must.count())] == ["yes", "no"]


def test_several_keep_the_order_of_the_file(qtbot, shown) -> None:
    """Ticking adds behind, unticking takes out, and the file's own order stays."""
    entry, told = shown(SeveralEntry(fields_of("case").part("visit", "traits")))
    entry.show_value(["wheelchair", "tremor"])
    qtbot.keyClick(entry.boxes["anxious"], Qt.Key.Key_Space)
    qtbot.keyClick(entry.boxes["wheelchair"], Qt.Key.Key_Space)
    assert told == [["wheelchair", "tremor", "anxious"], ["tremor", "anxious"]]
    for name in ("tremor", "anxious"):
        qtbot.keyClick(entry.boxes[name], Qt.Key.Key_Space)
    assert told[-1] is None


def test_a_row_of_numbers(qtbot, shown) -> None:
    """One number of a fixed row is changed, the others stay."""
    entry, told = shown(NumbersEntry(fields_of("case").part("visit", "neck", "pitch_deg")))
    entry.show_value([-20, 15])
    second = entry.lines[1]
    second.setFocus()
    second.selectAll()
    qtbot.keyClicks(second, "18")
    qtbot.keyClick(second, Qt.Key.Key_Return)
    assert told == [[-20, 18]]


def test_undo_means_the_case_unless_letters_are_open(qtbot, shown) -> None:
    """The undo keys are left to the window while nothing typed waits to be taken over."""

    def takes(entry) -> bool:
        event = QKeyEvent(
            QEvent.Type.ShortcutOverride, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier
        )
        event.ignore()
        entry.event(event)
        return event.isAccepted()

    entry, _ = shown(LineEntry(fields_of("case").part("id")))
    entry.show_value("one")
    assert not takes(entry)
    qtbot.keyClicks(entry, "x")
    assert takes(entry)


def test_every_simple_field_has_an_entry(qtbot) -> None:
    """For every simple kind of field there is an entry; groups and lists take more than one."""
    simple = set(FieldKind) - {
        FieldKind.GROUP, FieldKind.ROWS, FieldKind.TEETH, FieldKind.TEXTS, FieldKind.NAMES,
    }  # fmt: skip
    for kind in simple:
        entry = entry_for(Field(("key",), kind, "Key", choices=("a",), count=2))
        qtbot.addWidget(entry)
    with pytest.raises(LookupError):
        entry_for(Field(("key",), FieldKind.GROUP, "Key"))
