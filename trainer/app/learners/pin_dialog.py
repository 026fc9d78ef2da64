"""Another PIN: one's own, or one that an instructor gives."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QFormLayout, QHBoxLayout, QVBoxLayout, QWidget

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.new_learner import DIFFER
from trainer.app.learners.parts import Told, button, pin_entry, words
from trainer.errors import TrainerError
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.services.records.store import Records

OWN = "4 to 12 digits. Left empty, anybody at this screen can open the profile."
GIVEN = "{} gets this PIN from you and should change it. Waiting after wrong PINs ends."


class PinDialog(QDialog):
    """Asks for another PIN of ``learner``; ``by`` is the instructor who gives it, if one does.

    Signals
    -------
    changed : no value
        The new PIN holds.
    """

    changed = Signal()

    def __init__(
        self,
        jobs: RecordJobs,
        now: Callable[[], datetime],
        learner: Learner,
        parent: QWidget,
        by: Learner | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Change PIN" if by is None else f"New PIN for {learner.pseudonym}")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._jobs, self._now, self._learner, self._by = jobs, now, learner, by
        self.old = pin_entry("The PIN until now")
        self.new, self.again = pin_entry("New PIN"), pin_entry("The new PIN again")
        self.told = Told()
        form = QFormLayout()
        if by is None:
            form.addRow("&Until now", self.old)
        form.addRow("&New PIN", self.new)
        form.addRow("The same &again", self.again)
        self.change_button = button("Change", self.change)
        self.change_button.setDefault(True)
        self.cancel_button = button("Cancel", self.reject)
        ends = QHBoxLayout()
        ends.addStretch(1)
        ends.addWidget(self.cancel_button)
        ends.addWidget(self.change_button)
        column = QVBoxLayout(self)
        column.addWidget(words(OWN if by is None else GIVEN.format(learner.pseudonym), "quiet"))
        column.addLayout(form)
        column.addWidget(self.told)
        column.addLayout(ends)
        self.setMinimumWidth(self.fontMetrics().averageCharWidth() * 60)

    def change(self) -> None:
        """Change it, if all is well."""
        if self.new.text() != self.again.text():
            self.told.warn(DIFFER)
            self.new.clear()
            self.again.clear()
            self.new.setFocus()
            return
        self.change_button.setEnabled(False)
        own = partial(_changed, self._learner, self.old.text(), self.new.text(), self._now())
        given = partial(_reset, self._learner, self.new.text(), self._by)
        work = own if self._by is None else given
        self._jobs.ask(self, work, self._on_changed, self._on_refused)

    def _on_changed(self, _: object) -> None:
        self.accept()
        self.changed.emit()

    def _on_refused(self, error: TrainerError) -> None:
        self.change_button.setEnabled(True)
        self.old.clear()
        self.told.trouble(error)


def _changed(learner: Learner, old: str, new: str, now: datetime, records: Records) -> None:
    records.learners.change_pin(learner.id, old, new, now)


def _reset(learner: Learner, new: str, by: Learner | None, records: Records) -> None:
    assert by is not None
    records.learners.reset_pin(learner.id, new, by)
