"""The exposure switch."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from trainer.app.appointment.hold_button import HoldButton

NONE = Qt.KeyboardModifier.NoModifier


@pytest.fixture
def sheet(qtbot):
    """A window with a switch and something else that can have the focus."""
    made = QWidget()
    column = QVBoxLayout(made)
    made.button, made.other = HoldButton("Hold"), QLineEdit()
    column.addWidget(made.other)
    column.addWidget(made.button)
    made.said = []
    made.button.pressed_down.connect(lambda: made.said.append("down"))
    made.button.let_go.connect(lambda: made.said.append("up"))
    qtbot.addWidget(made)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.button.setFocus()
    return made


def key(kind, code=Qt.Key.Key_Space, modifiers=NONE, repeats=False) -> QKeyEvent:
    """A key as the keyboard sends it."""
    return QKeyEvent(kind, code, modifiers, " ", repeats)


def send(widget, event) -> None:
    """Hand a key to a widget."""
    QApplication.sendEvent(widget, event)


DOWN, UP = QEvent.Type.KeyPress, QEvent.Type.KeyRelease


def test_it_radiates_while_the_key_is_held(sheet) -> None:
    """A fresh press starts and the release ends."""
    sheet.button.arm(True)
    send(sheet.button, key(DOWN))
    assert sheet.button.held
    send(sheet.button, key(UP))
    assert sheet.said == ["down", "up"]


def test_a_key_before_the_guard_is_lifted_does_nothing(sheet) -> None:
    """Below its guard the switch takes neither key nor mouse."""
    send(sheet.button, key(DOWN))
    assert sheet.said == []
    assert not sheet.button.held


@pytest.mark.parametrize("code", [Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_A, Qt.Key.Key_F5])
def test_other_keys_do_not_expose(sheet, code) -> None:
    """Only the space bar works the switch."""
    sheet.button.arm(True)
    send(sheet.button, key(DOWN, code))
    send(sheet.button, key(UP, code))
    assert sheet.said == []


@pytest.mark.parametrize(
    "modifier", [Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier]
)
def test_a_shortcut_does_not_expose(sheet, modifier) -> None:
    """With Ctrl or Alt the space bar does not count."""
    sheet.button.arm(True)
    send(sheet.button, key(DOWN, modifiers=modifier))
    assert sheet.said == []


def test_a_key_that_was_down_before_does_not_expose(sheet) -> None:
    """Repeats of a key that went down elsewhere are no press: the focus may have moved to here."""
    sheet.button.arm(True)
    for _ in range(3):
        send(sheet.button, key(DOWN, repeats=True))
        send(sheet.button, key(UP, repeats=True))
    assert sheet.said == []


def test_repeats_neither_start_nor_end_anything(sheet) -> None:
    """While a key is held its repeats change nothing."""
    sheet.button.arm(True)
    send(sheet.button, key(DOWN))
    for _ in range(5):
        send(sheet.button, key(UP, repeats=True))
        send(sheet.button, key(DOWN, repeats=True))
    assert sheet.said == ["down"]
    assert sheet.button.held
    send(sheet.button, key(UP))
    assert sheet.said == ["down", "up"]


def test_losing_the_focus_lets_go(sheet) -> None:
    """When the focus goes elsewhere the switch is let go at once, and once."""
    sheet.button.arm(True)
    send(sheet.button, key(DOWN))
    sheet.other.setFocus()
    assert sheet.said == ["down", "up"]
    send(sheet.button, key(UP))
    assert sheet.said == ["down", "up"]


def test_without_the_focus_nothing_starts(sheet) -> None:
    """A press that reaches the button without the focus does not count."""
    sheet.button.arm(True)
    sheet.other.setFocus()
    send(sheet.button, key(DOWN))
    assert sheet.said == []


@pytest.mark.parametrize("how", ["disarm", "disable", "hide"])
def test_what_takes_the_switch_away_lets_go(sheet, how) -> None:
    """Closing the guard, disabling or hiding lets go of what is held."""
    sheet.button.arm(True)
    send(sheet.button, key(DOWN))
    {
        "disarm": lambda: sheet.button.arm(False),
        "disable": lambda: sheet.button.setEnabled(False),
        "hide": sheet.button.hide,
    }[how]()
    assert sheet.said == ["down", "up"]


def test_the_mouse_holds_it_too(qtbot, sheet) -> None:
    """It radiates between press and release of the left button, and of no other."""
    sheet.button.arm(True)
    qtbot.mousePress(sheet.button, Qt.MouseButton.RightButton)
    assert sheet.said == []
    qtbot.mousePress(sheet.button, Qt.MouseButton.LeftButton)
    qtbot.mouseRelease(sheet.button, Qt.MouseButton.LeftButton)
    assert sheet.said == ["down", "up"]
