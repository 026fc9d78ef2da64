"""The locked screen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QMainWindow,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.parts import button, words
from trainer.app.learners.sign_in import PinTry
from trainer.app.look import palette, style_sheet
from trainer.app.notices import NAME
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.services.records.store import Records

LOCKED = "{} is signed in."
SAFE = (
    "The screen locked because nothing was done for a while, or because it was asked to. Whatever "
    "was under way is safe in its log; an attempt's clock stands still until you go on."
)
NO_PIN = "This profile has no PIN, so anybody can go on with it."


class LockScreen(QMainWindow):
    """Covers everything until the PIN is typed, or somebody else signs in.

    All windows are hidden meanwhile and come back as they were.

    Signals
    -------
    opened : no value
        The learner is back.
    other_asked : no value
        Somebody else wants to sign in.
    quit_asked : no value
        The program is to be closed.
    """

    opened = Signal()
    other_asked = Signal()
    quit_asked = Signal()

    def __init__(
        self, jobs: RecordJobs, now: Callable[[], datetime], learner: Learner, where: QRect
    ) -> None:
        super().__init__()
        self.setWindowTitle(f"{NAME} – locked")
        self.setPalette(palette())
        self.setStyleSheet(style_sheet())
        self.setAttribute(Qt.WidgetAttribute.WA_QuitOnClose, False)
        self.setGeometry(where)
        self.learner, self._jobs = learner, jobs
        self._over = False
        self._hidden: list[QWidget] = []
        self._try = PinTry(self, jobs, now, self._on_right)
        self.pin, self.told, self.go_button = self._try.pin, self._try.told, self._try.go
        self.go_button.setText("Go on")
        self.go_button.setDefault(True)
        self.pin.returnPressed.connect(self.go)
        self.other_button = button(
            "Somebody else signs in",
            self._on_other,
            "An attempt under way is closed safely; its owner can go on with it",
        )
        self.quit_button = button("Close the program", self.close)
        self.note = words("", "quiet")
        form = QFormLayout()
        form.addRow("&PIN", self.pin)
        row = QHBoxLayout()
        row.addWidget(self.quit_button)
        row.addWidget(self.other_button)
        row.addStretch(1)
        row.addWidget(self.go_button)
        box = QWidget()
        box.setMaximumWidth(self.fontMetrics().averageCharWidth() * 84)
        inner = QVBoxLayout(box)
        inner.addWidget(words("Locked", "caseTitle"))
        inner.addWidget(words(LOCKED.format(learner.pseudonym)))
        inner.addWidget(words(SAFE, "quiet"))
        inner.addWidget(self.note)
        inner.addLayout(form)
        inner.addWidget(self.told)
        inner.addLayout(row)
        whole = QWidget()
        self.setCentralWidget(whole)
        column = QVBoxLayout(whole)
        column.addStretch(1)
        line = QHBoxLayout()
        line.addStretch(1)
        line.addWidget(box, 4)
        line.addStretch(1)
        column.addLayout(line)
        column.addStretch(2)

    def cover(self) -> None:
        """Show this and hide everything else."""
        self.show()
        self._hidden = [
            w
            for w in QApplication.topLevelWidgets()
            if w is not self and w.isVisible() and w.isWindow()
        ]
        for window in self._hidden:
            window.hide()
        self.activateWindow()
        self.pin.setFocus()
        self._jobs.ask(self, partial(_has_pin, self.learner), self._on_pin, self.told.trouble)

    def _on_other(self) -> None:
        self.other_asked.emit()

    def _on_pin(self, has_pin: bool) -> None:
        if not has_pin:
            self.note.setText(NO_PIN)
            self.pin.setEnabled(False)
            self.go_button.setFocus()

    def go(self) -> None:
        """Try the PIN."""
        self._try.check(self.learner.id)

    def uncover(self) -> None:
        """Bring everything back and go."""
        for window in self._hidden:
            if isValid(window):
                window.show()
        self.drop()

    def drop(self) -> None:
        """Go; what was hidden stays hidden, and dialogs among it are closed."""
        hidden, self._hidden = self._hidden, []
        for window in hidden:
            if isValid(window) and isinstance(window, QDialog) and not window.isVisible():
                window.reject()
        self._over = True
        self.close()
        self.deleteLater()

    def _on_right(self, _: Learner) -> None:
        self.uncover()
        self.opened.emit()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._over:
            self.quit_asked.emit()
        if not self._over:
            event.ignore()  # something else wants to be looked at first
            return
        super().closeEvent(event)


def _has_pin(learner: Learner, records: Records) -> bool:
    return records.learners.has_pin(learner.id)
