"""Cautions, and what is said when something goes wrong."""

from __future__ import annotations

import logging

import pytest
from PySide6.QtWidgets import QLabel, QMessageBox

from trainer.app.main import show_first_notice
from trainer.app.notices import CautionsDialog, cautions_read, on_unforeseen
from trainer.services.cautions import CAUTIONS


@pytest.mark.parametrize("first", [True, False])
def test_every_caution_is_shown(qtbot, first) -> None:
    """Notice and about box hold all cautions, word for word."""
    dialog = CautionsDialog(first_time=first)
    qtbot.addWidget(dialog)
    text = "\n".join(label.text() for label in dialog.findChildren(QLabel))
    for caution in CAUTIONS:
        assert caution in text


def test_the_first_notice_comes_until_it_is_read(qtbot, window) -> None:
    """Dismissing the notice does not count as reading it; its button does."""
    for press, read in (("reject", False), ("button", True)):
        show_first_notice(window)
        (dialog,) = [d for d in window.findChildren(CautionsDialog) if d.isVisible()]
        if press == "reject":
            dialog.reject()
        else:
            dialog.button.click()
        assert cautions_read(window.settings) is read


def test_the_unforeseen_is_told_calmly_and_logged(qtbot, window, caplog) -> None:
    """An unforeseen error shows a sentence on what is safe, and no trace; the log has the trace."""
    try:
        raise ZeroDivisionError("secret detail")
    except ZeroDivisionError as error:
        with caplog.at_level(logging.ERROR, "trainer.app"):
            on_unforeseen(type(error), error, error.__traceback__)
    (box,) = window.findChildren(QMessageBox)
    words = f"{box.text()} {box.informativeText()}"
    assert "Your case and its setup are kept." in words
    assert "secret detail" not in words
    assert "Traceback" not in words
    assert "secret detail" in caplog.text
    box.close()
