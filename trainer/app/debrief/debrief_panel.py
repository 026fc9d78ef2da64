"""After an appointment: first the learner predicts, then the result is revealed."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QLabel, QStackedLayout, QWidget

from trainer.app.debrief.debrief_job import DebriefJobs
from trainer.app.debrief.debrief_page import DebriefPage
from trainer.app.debrief.prediction_form import PredictionForm
from trainer.engine.appointment.state import AppointmentState
from trainer.services.debrief import Debrief
from trainer.services.slices import SlicedHead
from trainer.services.tooth_names import numbered
from trainer.services.volumes.in_beam import as_worn
from trainer.services.workbench import Workbench

FORM, WAITING, PAGE = range(3)
COMPUTING = "The debrief is being computed …"
FAILED = (
    "The debrief could not be computed: {} The attempt and its log are kept. The patient, the "
    "scouts and the image can still be looked at here."
)
SLICING = "The slices are being made ready ({}). The first time of a person takes some seconds."
UNSLICED = "The slices could not be made ready: {} Everything else here works without them."
CANCELLED = "Cancelled. Nothing is lost: the slices can still be made ready."


class DebriefPanel(QWidget):
    """Prediction form, then debrief.

    Signals
    -------
    predicted : Prediction
        What the learner expects; to be logged before `reveal`.
    skipped : no value
        The learner makes no prediction.
    shown : no value
        The debrief is on the screen.
    """

    predicted = Signal(object)
    skipped = Signal()
    shown = Signal()

    def __init__(self, bench: Workbench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._state: AppointmentState | None = None
        self._stack = QStackedLayout(self)
        self.form = PredictionForm()
        self.form.predicted.connect(self.predicted)
        self.form.skipped.connect(self.skipped)
        self.waiting = QLabel(COMPUTING)
        self.waiting.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.waiting.setWordWrap(True)
        self.waiting.setMargin(30)
        self.page = DebriefPage(bench)
        for widget in (self.form, self.waiting, self.page):
            self._stack.addWidget(widget)
        self.jobs = DebriefJobs(bench, self)
        self.jobs.told.connect(self._on_told)
        self.jobs.untold.connect(self._on_untold)
        self.jobs.progress.connect(self._on_progress)
        self.jobs.sliced.connect(self._on_sliced)
        self.jobs.unsliced.connect(self._on_unsliced)
        self.page.slices.cancelled.connect(self.jobs.cancel)
        self.page.slices.wanted.connect(self._ask_slices)

    def minimumSizeHint(self) -> QSize:
        # shown only when the acts beside it are gone: it must not widen the window before
        return QSize(300, 300)

    def ask(self, state: AppointmentState) -> None:
        """Ask for the prediction on a finished attempt."""
        required = state.context.placing(state.setup).required if state.runs else ()
        numbering = self.bench.rules.tooth_numbering
        names = {s.structure.id: numbered(s.structure.name, numbering) for s in required}
        self.form.show_structures(names)
        self._stack.setCurrentIndex(FORM)

    def reveal(self, state: AppointmentState) -> None:
        """Compute and show the debrief."""
        self._state = state
        self._stack.setCurrentIndex(WAITING)
        self.jobs.ask_debrief(state)

    def shut(self) -> None:
        """Stop all work and let go of everything; must be called before the window goes."""
        self.jobs.close()
        self.page.shut()

    def _on_told(self, found: Debrief) -> None:
        if self.jobs.closed or self._state is None:
            return
        self._stack.setCurrentIndex(PAGE)
        self.page.show_debrief(found, self._state)
        if found.best:
            self._ask_slices()
        self.shown.emit()

    def _on_untold(self, why: str) -> None:
        self.waiting.setText(FAILED.format(f"{why.rstrip('.')}."))

    def _ask_slices(self) -> None:
        if self.jobs.closed or self._state is None:
            return
        self.page.slices.wait(SLICING.format("starting"))
        run, visit = self._state.runs[-1], self._state.context.visit
        person = self._state.context.case.subject.person
        self.jobs.ask_slices(as_worn(person, visit, run.conditions.worn))

    def _on_progress(self, what: str) -> None:
        self.page.slices.note.setText(SLICING.format(what))

    def _on_sliced(self, head: SlicedHead) -> None:
        self.page.slices.show_head(head)

    def _on_unsliced(self, why: str) -> None:
        told = UNSLICED.format(f"{why.rstrip('.')}.") if why else CANCELLED
        self.page.slices.show_missing(told)
