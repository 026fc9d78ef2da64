"""Every stored attempt, and the way to its debrief."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from trainer.app.appointment.clock import minutes
from trainer.app.learners.parts import ReadTable, Told, button, words
from trainer.engine.appointment.state import spoken
from trainer.engine.learning.next_case import TASK_TEXT
from trainer.engine.learning.progress import succeeded
from trainer.models.records import StoredAttempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.scoring import HELP_WORDS

if TYPE_CHECKING:
    from trainer.services.learning.view import LearnerView, Shelf

COLUMNS = ("Finished (UTC)", "Case", "Kind of target", "Help", "Points", "Result", "Time")
NONE_YET = (
    "No attempt is stored yet. One is, as soon as an appointment is finished while signed in."
)
LEFT = "Finished, but not stored: {}. The log is kept."


class AttemptsPage(QWidget):
    """The learner's attempts, the latest first.

    Signals
    -------
    debrief_asked : str
        The attempt of that id is to be shown again.
    """

    debrief_asked = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.table = ReadTable("Attempts", COLUMNS, wide=1)
        self.table.cellActivated.connect(self._on_open)
        self.open_button = button("Open the debrief and replay", self._on_open)
        self.told = Told()
        self.left = Told()
        row = QHBoxLayout()
        row.addWidget(self.open_button)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.addWidget(self.left)
        column.addWidget(self.table, 1)
        column.addWidget(self.told)
        column.addLayout(row)
        column.addWidget(words(SHORT_CAUTION, "quiet"))

    def show_view(self, view: LearnerView, shelf: Shelf) -> None:
        """Show the attempts."""
        latest = view.attempts[::-1]
        rows = [
            (
                f"{a.finished_at:%Y-%m-%d %H:%M}",
                shelf.title(a.case_id),
                TASK_TEXT[a.task],
                HELP_WORDS[a.help],
                f"{a.percent:g} %",
                result_of(a),
                minutes(a.duration_s),
            )
            for a in latest
        ]
        self.table.show_rows(rows, [a.id for a in latest])
        self.told.tell("" if rows else NONE_YET)
        self.open_button.setEnabled(bool(rows))

    def show_left(self, left: Sequence[tuple[Path, str]]) -> None:
        """Show finished logs that could not be stored."""
        self.left.warn("\n".join(LEFT.format(f"{path.name}: {why}") for path, why in left))

    def _on_open(self) -> None:
        if self.table.marked():
            self.debrief_asked.emit(self.table.marked())


def result_of(attempt: StoredAttempt) -> str:
    """What came out of an attempt, in a few words."""
    if attempt.critical:
        return "critical: " + ", ".join(spoken(item) for item in attempt.critical)
    if succeeded(attempt):
        return "success"
    if attempt.needless_retake:
        return "repeated without need"
    return "mark reached, with help" if attempt.mastered else "mark not reached"
