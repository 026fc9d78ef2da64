"""What the learner expects, before anything is shown."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from trainer.app.debrief.prediction_form import UNANSWERED, PredictionForm
from trainer.models.learning import Prediction

NAMES = {"tooth-46": "tooth 46", "canal": "the mandibular canal"}


@pytest.fixture
def form(qtbot) -> PredictionForm:
    """A shown form for two structures."""
    made = PredictionForm()
    qtbot.addWidget(made)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.show_structures(NAMES)
    qtbot.waitUntil(made.rows["tooth-46"][0].hasFocus)
    return made


def test_it_is_filled_in_by_keyboard_alone(qtbot, form) -> None:
    """Arrow keys choose, Tab goes on, and what was said comes out as it was said."""
    keys = [Qt.Key.Key_Space, Qt.Key.Key_Tab, Qt.Key.Key_Space, Qt.Key.Key_Right, Qt.Key.Key_Tab]
    for key in keys:
        qtbot.keyClick(QApplication.focusWidget(), key)
    assert form.percent.hasFocus()
    qtbot.keyClick(form.percent, Qt.Key.Key_Up)
    qtbot.keyClick(form.percent, Qt.Key.Key_Tab)
    qtbot.keyClick(form.yes, Qt.Key.Key_Space)
    qtbot.keyClick(form.yes, Qt.Key.Key_Right)
    assert form.no.isChecked()
    qtbot.keyClick(form.no, Qt.Key.Key_Tab)
    assert form.say.hasFocus()
    with qtbot.waitSignal(form.predicted) as told:
        qtbot.keyClick(form.say, Qt.Key.Key_Return)
    assert told.args == [Prediction(frozenset({"canal"}), 55, False)]


def test_what_is_not_answered_is_asked_for(qtbot, form) -> None:
    """With a row left open nothing is predicted; it is said, and that row has the focus."""
    form.rows["tooth-46"][0].setChecked(True)
    form.yes.setChecked(True)
    with qtbot.assertNotEmitted(form.predicted):
        form.say.click()
    assert form.told.text() == UNANSWERED
    assert form.told.isVisible()
    assert form.rows["canal"][0].hasFocus()


def test_it_can_be_skipped(qtbot, form) -> None:
    """Skipping says nothing but that."""
    with qtbot.assertNotEmitted(form.predicted), qtbot.waitSignal(form.skipped):
        form.skip.click()


def test_nothing_is_chosen_beforehand(form) -> None:
    """No row and no answer is ticked before the learner does, and names are plain."""
    pairs = [*form.rows.values(), (form.yes, form.no)]
    assert not any(button.isChecked() for pair in pairs for button in pair)
    inside, cut = form.rows["canal"]
    assert inside.accessibleName() == "Mandibular canal: inside, with its margin"
    assert cut.accessibleName() == "Mandibular canal: cut, or too near the edge"


def test_without_an_image_only_points_are_asked(qtbot) -> None:
    """No structures, no question about the image; points alone make a prediction."""
    form = PredictionForm()
    qtbot.addWidget(form)
    form.show()
    form.show_structures({})
    assert not form.yes.isVisible()
    with qtbot.waitSignal(form.predicted) as told:
        form.say.click()
    assert told.args == [Prediction(frozenset(), 50, False)]
