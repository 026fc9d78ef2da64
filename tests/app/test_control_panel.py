"""The controls of a unit."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGroupBox, QPushButton

from tests.scene.standin import standin_case
from trainer.app.control_panel import LEAST_TARGET_PX, ControlPanel
from trainer.app.entries import ChoiceEntry, NumberEntry
from trainer.models.controls import CONTROLS, ControlGroup, ControlKind, control


@pytest.fixture
def panel(qtbot, bench) -> ControlPanel:
    """The stand-in unit's controls, showing the case's start."""
    made = ControlPanel(bench.unit)
    qtbot.addWidget(made)
    made.show_setup(standin_case().start)
    made.show()
    return made


def test_every_control_is_there(panel) -> None:
    """Each control has one entry, in a group named by what the hand does."""
    assert list(panel.entries) == [c.key for g in ControlGroup for c in CONTROLS if c.group is g]
    assert [b.title() for b in panel.findChildren(QGroupBox)] == [str(g) for g in ControlGroup]


def test_the_setup_is_shown(panel) -> None:
    """The entries show the setup's values and report nothing."""
    setup = standin_case().start
    for c in CONTROLS:
        entry = panel.entries[c.key]
        if isinstance(entry, NumberEntry):
            assert entry.value() == getattr(setup, c.key)
        elif isinstance(entry, ChoiceEntry):
            assert entry.currentData() == str(getattr(setup, c.key))
        else:
            assert entry.isChecked() is setup.arm_turned


@pytest.mark.parametrize("key", [c.key for c in CONTROLS if c.kind is ControlKind.NUMBER])
def test_buttons_step_both_ways(qtbot, panel, bench, key) -> None:
    """The button with the word of a way moves one of the unit's steps that way."""
    less, more = panel.buttons[key]
    assert (less.text(), more.text()) == (control(key).less_word, control(key).more_word)
    before = panel.entries[key].value()
    step = bench.unit.travel[key].step
    for button, sign in ((more, 1), (less, -1), (less, -1)):
        at = panel.entries[key].value()
        lowest = at <= bench.unit.travel[key].lowest and sign < 0
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
        assert panel.entries[key].value() == pytest.approx(at if lowest else at + sign * step)
    assert panel.entries[key].value() <= before


def test_targets_are_large_enough(panel) -> None:
    """Everything to press is at least 24 by 24 pixels (WCAG 2.2, 2.5.8)."""
    for widget in [*panel.findChildren(QPushButton), *panel.entries.values()]:
        assert min(widget.width(), widget.height()) >= LEAST_TARGET_PX >= 24


def test_tab_reaches_every_control(qtbot, panel) -> None:
    """Going on with Tab gives every entry the focus, in the order of the controls."""
    panel.activateWindow()
    first = panel.entries["unit_height_mm"]
    first.setFocus()
    qtbot.waitUntil(first.hasFocus)
    order = []
    for _ in panel.entries:
        order.append(next(k for k, e in panel.entries.items() if e.hasFocus()))
        qtbot.keyClick(panel.focusWidget(), Qt.Key.Key_Tab)
    assert order == list(panel.entries)


@pytest.mark.parametrize("key", [c.key for c in CONTROLS])
def test_keys_change_every_control(qtbot, panel, key) -> None:
    """Every control can be changed with keys alone."""
    entry = panel.entries[key]
    entry.setFocus()
    press = Qt.Key.Key_Space if key == "arm_turned" else Qt.Key.Key_Down
    if key == "jaw_gap_mm":
        press = Qt.Key.Key_Up
    with qtbot.waitSignal(panel.moved, timeout=1000) as caught:
        qtbot.keyClick(entry, press)
    assert caught.args[0] == key


def test_only_fields_that_serve_the_region_are_offered(panel, bench) -> None:
    """The list of fields holds just those that the unit has for the region."""
    setup = standin_case(region="both-jaws", field="80x80").start
    panel.show_setup(setup)
    entry = panel.entries["field"]
    offered = {entry.itemData(i) for i in range(entry.count())}
    assert offered == {f.id for f in bench.unit.fields if "both-jaws" in f.regions}
    assert entry.currentData() == "80x80"
