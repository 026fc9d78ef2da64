"""One learner's progress: what next, charts, attempts, and apart from them supervised work."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QDialog, QHBoxLayout, QTabWidget, QVBoxLayout

from trainer.app.learners.attempts_page import AttemptsPage
from trainer.app.learners.next_page import CaseSet, NextPage
from trainer.app.learners.parts import Told, button, words
from trainer.app.learners.plot_pane import PlotPane
from trainer.app.learners.review_window import ReviewWindow
from trainer.app.learners.supervised_page import SupervisedPage
from trainer.app.sizes import CAUTION
from trainer.engine.learning.next_case import TASK_TEXT
from trainer.engine.wording import sentence_start
from trainer.models.learning import Task
from trainer.models.records import Learner, StoredAttempt

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.services.learning.charts import Chart
    from trainer.services.learning.view import LearnerView, Review, Shelf
    from trainer.services.records.store import Records

READING = "Reading the record …"
REPLAYING = "The attempt is being replayed from its log …"
ALL_TASKS = "All kinds of target"


class ProgressWindow(QDialog):
    """The progress of ``learner``, as ``viewer`` may see it."""

    def __init__(self, door: LearnerDoor, learner: Learner, viewer: Learner) -> None:
        super().__init__(door.window)
        self.setWindowTitle(f"Progress of {learner.pseudonym}")
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._door, self.learner, self.viewer = door, learner, viewer
        self._view: LearnerView | None = None
        self.told = Told()
        self.next = NextPage(door.time)
        self.next.case_asked.connect(door.open_case)
        self.next.set_made.connect(self._on_set)
        self.plots = PlotPane(self.told.tell, self.told.trouble)
        self.task = QComboBox()
        self.task.setAccessibleName("Kind of target")
        self.task.currentIndexChanged.connect(self._ask_charts)
        self.plots.row.insertWidget(0, self.task)
        self.attempts = AttemptsPage()
        self.attempts.debrief_asked.connect(self.ask_review)
        self.supervised = SupervisedPage()
        self.tabs = QTabWidget()
        for page, name in (
            (self.next, "What next"),
            (self.plots, "Charts"),
            (self.attempts, "Simulated attempts"),
            (self.supervised, "Supervised work"),
        ):
            self.tabs.addTab(page, name)
        row = QHBoxLayout()
        row.addWidget(words(CAUTION, "quiet"), 1)
        row.addWidget(button("Close", self.reject))
        column = QVBoxLayout(self)
        column.addWidget(words(f"Progress of {learner.pseudonym}", "caseTitle"))
        column.addWidget(self.told)
        column.addWidget(self.tabs, 1)
        column.addLayout(row)

    def start(self) -> None:
        """Read everything off the window's thread."""
        self.told.tell(READING)
        self.tabs.setEnabled(False)
        self._door.jobs.ask(self, self._read, self._on_read, self.told.trouble)

    def _read(self, records: Records) -> tuple[LearnerView, Shelf]:
        from trainer.services.learning.view import learner_view

        shelf = self._door.keeping.shelf()
        now = self._door.time()
        return learner_view(records, self.learner, self.viewer, shelf, now), shelf

    def _on_read(self, found: tuple[LearnerView, Shelf]) -> None:
        view, shelf = found
        self._view = view
        self.told.tell("")
        self.tabs.setEnabled(True)
        own = self.learner.id == self.viewer.id
        self.next.show_view(view, shelf)
        self.next.show_set(self._door.keeping.case_set if own else None)
        self.attempts.show_view(view, shelf)
        self.attempts.show_left(self._door.keeping.left if own else ())
        self.supervised.show_view(view)
        tried = [t for t in Task if any(a.task is t for a in view.attempts)]
        self.task.addItem(ALL_TASKS, None)
        for task in tried:
            self.task.addItem(sentence_start(TASK_TEXT[task]), task)
        self.tabs.tabBar().setFocus()

    def _on_set(self, drawn: CaseSet) -> None:
        if self.learner.id == self.viewer.id:
            self._door.keeping.case_set = drawn

    def _ask_charts(self, _: int) -> None:
        if self._view is not None:
            self.plots.when_shown(self._draw_charts)

    def _draw_charts(self) -> None:
        if self._view is not None:
            chosen = self.task.currentData()  # Qt gives back a plain text
            work = partial(_charts, self._view.attempts, Task(chosen) if chosen else None)
            self._door.jobs.ask(self, work, self.plots.show_charts, self.told.trouble)

    def ask_review(self, attempt_id: str) -> None:
        """Replay a stored attempt and show its debrief."""
        self.attempts.told.tell(REPLAYING)
        work = partial(_reviewed, self.learner.id, attempt_id)
        self._door.jobs.ask(self, work, self._on_review, self.attempts.told.trouble)

    def _on_review(self, found: Review) -> None:
        self.attempts.told.tell("")
        window = ReviewWindow(found, self)
        window.resize(self.size())
        window.open()
        window.start()


def _charts(
    attempts: tuple[StoredAttempt, ...], task: Task | None, records: Records
) -> tuple[Chart, ...]:
    from trainer.services.learning.charts import learner_charts

    return learner_charts(attempts, task)


def _reviewed(learner_id: str, attempt_id: str, records: Records) -> Review:
    from trainer.services.learning.view import review

    return review(records, learner_id, attempt_id)
