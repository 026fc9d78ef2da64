"""The debrief of a stored attempt, as it was after the appointment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from trainer.app.debrief.debrief_panel import DebriefPanel
from trainer.app.learners.parts import button, words
from trainer.app.sizes import CAUTION

if TYPE_CHECKING:
    from trainer.services.learning.view import Review


class ReviewWindow(QDialog):
    """Shows a replayed attempt; nothing in it can be changed."""

    def __init__(self, found: Review, parent: QWidget) -> None:
        super().__init__(parent)
        case = found.bench.case
        title = case.text(case.title)
        self.setWindowTitle(f"Debrief: {title}")
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._found = found
        self.panel = DebriefPanel(found.bench)
        self.close_button = button("Close", self.reject)
        row = QHBoxLayout()
        row.addWidget(words(CAUTION, "quiet"), 1)
        row.addWidget(self.close_button)
        column = QVBoxLayout(self)
        column.addWidget(
            words(f"{title} – finished {found.attempt.finished_at:%Y-%m-%d}", "caseTitle")
        )
        column.addWidget(self.panel, 1)
        column.addLayout(row)

    def start(self) -> None:
        """Compute and show the debrief."""
        self.panel.reveal(self._found.state)

    def done(self, result: int) -> None:
        self.panel.shut()
        super().done(result)
