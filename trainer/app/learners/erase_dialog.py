"""Erasing a record: says what goes, and asks for the pseudonym to be typed."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.parts import Told, button, set_name, words
from trainer.errors import TrainerError
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.services.records.store import Records

GOES = (
    "This erases {0} for good: profile and PIN, every attempt with its log, attempts under way, "
    "and the supervised cases and observations kept of {0}. It cannot be undone. Export the record "
    "first if it may still be wanted; check with your practice what it has to keep."
)
UNTYPED = "What was typed is not {}. Nothing was erased."


class EraseDialog(QDialog):
    """Asks whether a learner is to be erased.

    Signals
    -------
    erased : str
        It is done; in words, what that did not reach.
    """

    erased = Signal(str)

    def __init__(self, jobs: RecordJobs, learner: Learner, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"Erase the record of {learner.pseudonym}")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._jobs, self._learner = jobs, learner
        self.typed = QLineEdit()
        set_name(self.typed, f"Type {learner.pseudonym} to erase")
        self.told = Told()
        self.erase_button = button("Erase", self.erase)
        self.cancel_button = button("Keep the record", self.reject)
        self.cancel_button.setDefault(True)
        ends = QHBoxLayout()
        ends.addStretch(1)
        ends.addWidget(self.erase_button)
        ends.addWidget(self.cancel_button)
        column = QVBoxLayout(self)
        column.addWidget(words(GOES.format(learner.pseudonym)))
        column.addWidget(words(f"Type “{learner.pseudonym}” to go on:"))
        column.addWidget(self.typed)
        column.addWidget(self.told)
        column.addLayout(ends)
        self.setMinimumWidth(self.fontMetrics().averageCharWidth() * 76)
        self.typed.setFocus()

    def erase(self) -> None:
        """Erase, if the pseudonym was typed."""
        if self.typed.text().strip() != self._learner.pseudonym:
            self.told.warn(UNTYPED.format(self._learner.pseudonym))
            self.typed.setFocus()
            return
        self.erase_button.setEnabled(False)
        self._jobs.ask(self, partial(_erase, self._learner), self._on_erased, self._on_refused)

    def _on_erased(self, told: str) -> None:
        self.accept()
        self.erased.emit(told)

    def _on_refused(self, error: TrainerError) -> None:
        self.erase_button.setEnabled(True)
        self.told.trouble(error)


def _erase(learner: Learner, records: Records) -> str:
    from trainer.services.records.erase import erase_learner

    return erase_learner(records, learner.id)
