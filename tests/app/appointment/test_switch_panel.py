"""Guard, ready light and switches."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from tests.helpers.appointments import BEFORE, ENTER, HOLD, OUT, PLACE, TALK, act, play
from trainer.app.appointment.switch_panel import STEADY, SwitchPanel
from trainer.models import appointment_commands as do

READY_RUN = [*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT]


@pytest.fixture(scope="module")
def ready():
    """An appointment in which the unit stands ready."""
    return play(READY_RUN)[0]


@pytest.fixture
def panel(qtbot, ready):
    """A panel with one switch, shown ready and steady, and a neighbour for the focus."""
    sheet = QWidget()
    column = QVBoxLayout(sheet)
    made = SwitchPanel("Exposure", {"run": "Hold"})
    made.neighbour = QLineEdit()
    column.addWidget(made.neighbour)
    column.addWidget(made)
    made.said = []
    made.pressed.connect(lambda name, stays: made.said.append((name, stays)))
    made.released.connect(lambda: made.said.append("released"))
    made.sheet = sheet
    qtbot.addWidget(sheet)
    sheet.show()
    sheet.activateWindow()
    qtbot.waitUntil(sheet.isActiveWindow)
    made.show_state(ready, ready.room.ready_from_s + 1.0)
    return made


def test_without_the_ready_state_the_guard_stays(qtbot) -> None:
    """Before the unit is ready the guard cannot be lifted, and the switch is dead."""
    state, _ = play(READY_RUN[:-1])
    made = SwitchPanel("Exposure", {"run": "Hold"})
    qtbot.addWidget(made)
    made.show_state(state, state.at_s)
    assert not made.guard.isEnabled()
    assert not made.switches["run"].isEnabled()
    assert "Not ready" in made.light.text()


def test_the_light_counts_down_and_stands_steady(panel, ready) -> None:
    """The light says how long it takes until it stands steady, and then that it does."""
    panel.show_state(ready, ready.room.ready_from_s - 2.0)
    assert "2 s" in panel.light.text()
    panel.show_state(ready, ready.room.ready_from_s)
    assert panel.light.text() == STEADY


def test_guard_then_hold(qtbot, panel) -> None:
    """Lifting the guard gives the switch the focus; holding the space bar exposes."""
    panel.guard.setFocus()
    qtbot.keyClick(panel.guard, Qt.Key.Key_Space)
    switch = panel.switches["run"]
    assert switch.hasFocus()
    assert panel.said == []
    qtbot.keyPress(switch, Qt.Key.Key_Space)
    assert panel.said == [("run", False)]
    qtbot.keyRelease(switch, Qt.Key.Key_Space)
    assert panel.said == [("run", False), "released"]
    assert not panel.guard.isChecked()


def test_the_guard_falls_when_the_focus_goes(qtbot, panel) -> None:
    """A change of the focus closes the guard: coming back, the switch is dead."""
    panel.guard.setChecked(True)
    panel.neighbour.setFocus()
    assert not panel.guard.isChecked()
    panel.switches["run"].setFocus()
    qtbot.keyPress(panel.switches["run"], Qt.Key.Key_Space)
    assert panel.said == []


def test_the_guard_falls_with_the_ready_state(panel, ready) -> None:
    """When the unit is not ready any longer the guard closes by itself."""
    panel.guard.setChecked(True)
    left = play([*READY_RUN, act(do.EnterRoom)])[0]
    panel.show_state(left, left.at_s)
    assert not panel.guard.isChecked()
    assert not panel.switches["run"].armed


def test_without_holding_it_asks_first(qtbot, panel) -> None:
    """Without holding, a press only asks; "not now" has the focus and starts nothing."""
    panel.without_holding.setChecked(True)
    panel.guard.setChecked(True)
    qtbot.keyClick(panel.switches["run"], Qt.Key.Key_Space)
    assert panel.said == []
    assert panel.ask.isVisible()
    assert panel.no.hasFocus()
    qtbot.keyClick(panel.no, Qt.Key.Key_Return)
    assert panel.said == []
    assert not panel.ask.isVisible()
    assert not panel.guard.isChecked()


def test_without_holding_it_starts_when_confirmed(qtbot, panel) -> None:
    """Confirmed, it starts once, as a press that stays."""
    panel.without_holding.setChecked(True)
    panel.guard.setChecked(True)
    qtbot.keyClick(panel.switches["run"], Qt.Key.Key_Space)
    qtbot.keyClick(panel.yes, Qt.Key.Key_Return)
    assert panel.said == [("run", True)]
    assert not panel.guard.isChecked()


def test_a_hidden_panel_has_its_guard_closed(panel) -> None:
    """Going to another phase closes the guard."""
    panel.guard.setChecked(True)
    panel.hide()
    assert not panel.guard.isChecked()
