"""A worked solution, played step by step: the first rung of help. Nothing is scored or logged."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMainWindow, QVBoxLayout, QWidget

from trainer.app.appointment.acts_panel import act_button
from trainer.app.debrief.debrief_job import DebriefJobs
from trainer.app.debrief.setup_views import SetupViews
from trainer.app.debrief.timeline import Timeline
from trainer.app.look import palette, style_sheet
from trainer.app.notices import NAME
from trainer.app.sizes import CAUTION, start_size
from trainer.engine.debrief.course import Moment
from trainer.services.event_words import event_text
from trainer.services.workbench import Workbench

ABOUT = (
    "Demonstration: one worked solution of this case, event by event. Bone and field are shown. "
    "“Next” goes one step on, “Play” goes on by itself. Nothing here is scored."
)
PLAYING = "The worked solution is being made ready …"
NO_SOLUTION = (
    "There is no worked solution that fits this case as it is. Nothing is lost: close this window "
    "and begin with another help."
)
NOBODY = "Nobody is at the unit yet.\n\n{}"


class DemonstrationWindow(QMainWindow):
    """Plays the course of a worked solution.

    Signals
    -------
    closed : no value
        The window is closed and has let go of everything.
    """

    closed = Signal()

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self.bench = bench
        self.setWindowTitle(f"{NAME} – demonstration")
        self.setPalette(palette())
        self.setStyleSheet(style_sheet())
        visit = bench.case.visit
        assert visit is not None
        self._visit = visit
        title = QLabel(bench.case.text(bench.case.title))
        title.setObjectName("caseTitle")
        title.setWordWrap(True)
        about = QLabel(ABOUT)
        about.setWordWrap(True)
        about.setObjectName("quiet")
        self.views = SetupViews(bench)
        self.timeline = Timeline(visit)
        self.timeline.words.setObjectName("moveText")
        self.timeline.moved.connect(self._show)
        self.done = act_button("Close the demonstration", self.close)
        row = QHBoxLayout()
        row.addWidget(about, 1)
        row.addWidget(self.done)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(8, 6, 8, 2)
        column.setSpacing(4)
        column.addWidget(title)
        column.addLayout(row)
        column.addWidget(self.views, 1)
        column.addWidget(self.timeline)
        self.setCentralWidget(whole)
        self.statusBar().addPermanentWidget(QLabel(CAUTION))
        QShortcut(QKeySequence("Ctrl+W"), self, self.close)
        self.resize(start_size(self.screen().availableSize()))
        self.views.show_words(PLAYING)
        self.timeline.show_moments(())
        self.jobs = DebriefJobs(bench, self)
        self.jobs.solved.connect(self._on_solved)

    def start(self) -> None:
        """Load the 3-D view's libraries and play the solution off the window's thread."""
        self.views.start()
        self.jobs.ask_solution()

    def _on_solved(self, course: tuple[Moment, ...]) -> None:
        if self.jobs.closed:
            return
        self.timeline.show_moments(course)
        if not course:
            self.views.show_words(NO_SOLUTION)
            self.done.setFocus()
            return
        self._show(0)
        self.timeline.forth.setFocus()

    def _show(self, number: int) -> None:
        moment = self.timeline.moments[number]
        if moment.at_unit:
            self.views.show_setup(moment.setup, lit=moment.lights_on)
        else:
            self.views.show_words(NOBODY.format(event_text(moment.event, self._visit)))

    def closeEvent(self, event: QCloseEvent) -> None:
        self.timeline.pause()
        self.jobs.close()
        self.views.shut()
        super().closeEvent(event)
        self.closed.emit()
