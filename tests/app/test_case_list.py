"""Choosing a case."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from tests.scene.standin import standin_case
from trainer.app.case_list import CaseList
from trainer.errors import Fault, NotValid

GOOD, BAD = Path("good.yaml"), Path("bad.yaml")


@pytest.fixture
def dialog(qtbot) -> CaseList:
    """One case that can be opened and one that has faults."""
    fault = NotValid([Fault("bad.yaml", 7, "level", "must be at least 1, got 0")])
    made = CaseList({BAD: fault, GOOD: standin_case()})
    qtbot.addWidget(made)
    made.show()
    return made


def test_title_and_request_are_shown(dialog) -> None:
    """The case stands there by level and title, with its request and aim beside it."""
    assert dialog.list.currentItem().text() == "Level 1: Stand-in case"
    for words in ("Tooth 48.", "Bring 48 into the field.", "Nobody (invented)"):
        assert words in dialog.text.text()


def test_enter_opens_the_marked_case(qtbot, dialog) -> None:
    """The Enter key takes the case that is marked."""
    with qtbot.waitSignal(dialog.accepted):
        qtbot.keyClick(dialog.list, Qt.Key.Key_Return)
    assert dialog.chosen == GOOD


def test_a_broken_case_says_why_and_cannot_be_opened(qtbot, dialog) -> None:
    """A case with faults shows the line and the fault, and its button is off."""
    qtbot.keyClick(dialog.list, Qt.Key.Key_Down)
    assert "bad.yaml:7  level: must be at least 1, got 0" in dialog.text.text()
    assert not dialog.open_button.isEnabled()
    with qtbot.assertNotEmitted(dialog.accepted):
        qtbot.keyClick(dialog.list, Qt.Key.Key_Return)
    assert dialog.chosen is None


def test_escape_chooses_nothing(qtbot, dialog) -> None:
    """Escape leaves everything as it was."""
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.chosen is None
    assert not dialog.isVisible()
