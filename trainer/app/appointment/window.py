"""The window of an appointment: acts on the left, what the operator sees beside them."""

from __future__ import annotations

import logging
from pathlib import Path

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QLabel,
    QMainWindow,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.acts import Phase
from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.boxes import finish_box, not_logged_box
from trainer.app.appointment.controller import AppointmentController
from trainer.app.appointment.event_list import EventList
from trainer.app.appointment.header import Header
from trainer.app.appointment.help_level import names_landmarks, shows_angles, tells
from trainer.app.appointment.hint import hint
from trainer.app.appointment.image_panel import ImagePanel
from trainer.app.appointment.left_side import LeftSide
from trainer.app.appointment.menus import build_menus
from trainer.app.appointment.patient_pane import PatientPane
from trainer.app.appointment.pictures import Pictures
from trainer.app.appointment.scout_panel import ScoutPanel
from trainer.app.appointment.told_words import Teller, blocked_words
from trainer.app.debrief.debrief_panel import DebriefPanel
from trainer.app.look import palette, style_sheet
from trainer.app.notices import NAME, CautionsDialog
from trainer.app.sizes import CAUTION, start_size
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.motion import motion_trace
from trainer.models import appointment_commands as do
from trainer.models import appointment_events as ev
from trainer.models.appointment import Logged
from trainer.models.appointment_words import Gaze, ScoutKind, View
from trainer.models.learning import HelpLevel, Prediction
from trainer.models.setup import Setup
from trainer.services.workbench import Workbench

log = logging.getLogger("trainer.app")

PATIENT, SCOUTS, IMAGE, ENDING = range(4)
GAZES = {PATIENT: Gaze.PATIENT, SCOUTS: Gaze.SCREEN, IMAGE: Gaze.SCREEN, ENDING: Gaze.SCREEN}
LEFT_PX, EVENTS_PX = 424, 150
FIRST_SCOUT = ScoutKind.FRONTAL
NOT_NOTED = (
    "Your prediction could not be noted. Nothing of the attempt is lost: try again, or skip it."
)
WALKED_OFF = "The window lost the focus: the switch was let go."


class AppointmentWindow(QMainWindow):
    """One attempt at an appointment. Holds widgets and the controller, and no rules.

    ``path`` is the attempt's log. The help is that of the attempt.

    Signals
    -------
    attempt_finished : Path, Workbench
        The appointment is over and the prediction made or skipped; told once. The log stays open
        until the window is closed, but nothing is written any more.
    closed : no value
        The window is closed and has let go of everything; the attempt can be gone on with.
    """

    attempt_finished = Signal(object, object)
    closed = Signal()

    def __init__(self, bench: Workbench, controller: AppointmentController, path: Path) -> None:
        super().__init__()
        self.bench, self.controller, self.path = bench, controller, path
        self.helped = helped = controller.state.help
        self.revealed = self._finish_told = False
        controller.setParent(self)
        visit = controller.state.context.visit
        self.setWindowTitle(f"{NAME} – whole appointment")
        self.setPalette(palette())
        self.setStyleSheet(style_sheet())
        self.header = Header(bench.case, helped)
        self.left = LeftSide(controller)
        self.patient = PatientPane(bench, names_landmarks(helped))
        self.scouts = ScoutPanel(bench.unit)
        self.image = ImagePanel(bench, helped)
        self.debrief = DebriefPanel(bench)
        self.events = EventList(Teller(visit, tells(helped), shows_angles(helped)))
        self.pictures = Pictures(bench, controller, self.scouts, self.image, self)
        self._build()
        self.actions_by_name = build_menus(self)
        self._connect()
        self.resize(start_size(self.screen().availableSize()))
        self.body.setSizes([LEFT_PX, self.width() - LEFT_PX])
        self.middle.setSizes([self.height() - EVENTS_PX - 200, EVENTS_PX])

    def _build(self) -> None:
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(False)
        for widget, name in (
            (self.patient, "Patient"),
            (self.scouts, "Scouts"),
            (self.image, "Image"),
            (self.debrief, "Debrief"),
        ):
            self.tabs.addTab(widget, name)
        self.tabs.setTabVisible(ENDING, False)
        self.notice = QLabel()
        self.notice.setObjectName("notice")
        self.notice.setWordWrap(True)
        self.notice.setTextFormat(Qt.TextFormat.PlainText)
        self.notice.setVisible(False)
        self.hint = QLabel()
        self.hint.setWordWrap(True)
        self.hint.setObjectName("shift")
        self.hint.setVisible(False)
        self.ask_hint = act_button("Ask for a hint (Ctrl+H)", self.want_hint)
        self.ask_hint.setVisible(self.helped is HelpLevel.ON_REQUEST)
        self.below = QWidget()
        column = QVBoxLayout(self.below)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        column.addWidget(self.notice)
        column.addWidget(self.hint)
        column.addWidget(self.ask_hint)
        column.addWidget(self.events, 1)
        self.middle = QSplitter(Qt.Orientation.Vertical)
        self.middle.addWidget(self.tabs)
        self.middle.addWidget(self.below)
        self.middle.setStretchFactor(0, 1)
        self.middle.setChildrenCollapsible(False)
        self.body = QSplitter(Qt.Orientation.Horizontal)
        self.left.setMinimumWidth(LEFT_PX)
        self.body.addWidget(self.left)
        self.body.addWidget(self.middle)
        self.body.setStretchFactor(1, 1)
        self.body.setChildrenCollapsible(False)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(8, 4, 8, 0)
        column.setSpacing(3)
        column.addWidget(self.header)
        column.addWidget(self.body, 1)
        self.setCentralWidget(whole)
        self.statusBar().addPermanentWidget(QLabel(CAUTION))

    def _connect(self) -> None:
        controller = self.controller
        controller.changed.connect(self._on_changed)
        controller.setup_shown.connect(self._on_setup)
        controller.happened.connect(self._on_happened)
        controller.effect.connect(self._on_effect)
        controller.refused.connect(self.tell)
        controller.trouble.connect(self._on_trouble)
        controller.ticked.connect(self._on_tick)
        self.left.refused.connect(self.tell)
        self.left.finish_asked.connect(self.ask_finish)
        self.left.about_to_expose.connect(self._sync_gaze)
        self.patient.looked.connect(self.look_from)
        self.tabs.currentChanged.connect(self._on_tab)
        self.scouts.target_marked.connect(self._on_marked)
        self.scouts.cut_named.connect(self._on_cut)
        self.scouts.field_moved.connect(controller.adjust)
        self.scouts.left.connect(self._on_scouts_left)
        self.debrief.predicted.connect(self._on_predicted)
        self.debrief.skipped.connect(self._reveal)

    def start(self) -> None:
        """Let time run, and load the 3-D view's libraries."""
        self.controller.start()
        self.pictures.recall()
        self.patient.view3d.start()
        self.left.phases.setFocus()

    # following the controller -----------------------------------------------------------------

    @property
    def look_inside(self) -> bool:
        """Whether bone and field are shown: with that help, and once the result is revealed."""
        return self.helped.looks_inside or self.revealed

    def _on_changed(self, state: AppointmentState) -> None:
        now = self.controller.clock.now_s()
        self.header.show_state(state)
        self.left.show_all(state, now)
        self.image.show_state(state)
        if state.finished and not self.tabs.isTabVisible(ENDING):
            self._show_ending(state)

    def _on_setup(self, setup: Setup) -> None:
        state = self.controller.state
        if state.finished and state.runs:
            setup = state.runs[-1].conditions.setup
        self.left.show_setup(setup)
        self.patient.show_setup(state, setup, self.look_inside, self.controller.moving)
        self._show_hint()

    def _on_happened(self, logged: tuple[Logged, ...]) -> None:
        self.notice.setVisible(False)
        self.events.add(logged)
        for entry in logged[-3:]:
            match entry.event:
                case ev.Blocked():
                    self.tell(blocked_words(entry.event))
                case ev.Looked(view, _):
                    self._turn_camera(view)
                case ev.RunEnded():
                    self.patient.play(None)
                    self.patient.draw()
                case ev.OperatorMoved(True):
                    self.pictures.prepare()
                case ev.HintGiven(words):
                    self.hint.setText(words)
                    self.hint.setVisible(True)

    def _on_effect(self, effect: ev.Effect) -> None:
        match effect:
            case ev.PlayMotion(_, cause, planned_s, seed):
                self.patient.play(motion_trace(cause, planned_s, seed))
            case ev.ShowScout(number):
                self.pictures.show_scout(number)
                self.tabs.setCurrentIndex(SCOUTS)
            case ev.ShowImage(number):
                self.pictures.show_image(number)
                self.tabs.setCurrentIndex(IMAGE)

    def _on_tick(self, at_s: float) -> None:
        state = self.controller.state
        self.header.show_time(state, at_s)
        self.left.show_time(state, at_s)
        running = state.exposure.running
        visible = self.tabs.currentIndex() == PATIENT and self.patient.moves_visibly
        if running is not None and visible:
            self.patient.show_moment(at_s - running.started_s)

    def _on_trouble(self, why: str) -> None:
        not_logged_box(self, why).open()

    # acts of the window --------------------------------------------------------------------------

    def open_phase(self, phase: Phase) -> None:
        """Open a phase and put the focus on its list."""
        self.left.open(phase)
        self.left.phases.setFocus()

    def open_tab(self, index: int) -> None:
        """Turn the eyes to the patient, the scouts or the image, and the keyboard with them."""
        self.tabs.setCurrentIndex(index)
        first = {PATIENT: self.patient.stand[View.FRONT], SCOUTS: self.scouts.views[FIRST_SCOUT]}
        first.get(index, self.tabs.tabBar()).setFocus()

    def tell(self, sentence: str) -> None:
        """Show a sentence above the events; it stays until something happens."""
        self.notice.setText(sentence)
        self.notice.setVisible(True)

    def ask_finish(self) -> None:
        """Ask whether the appointment is over; it cannot be gone on with afterwards."""
        if self.controller.state.finished:
            return
        finish_box(self, self.finish).open()

    def finish(self) -> None:
        """End the appointment."""
        self.controller.do(do.Finish)

    def show_cautions(self) -> None:
        """Show what the program is and is not."""
        dialog = CautionsDialog(self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def want_hint(self) -> None:
        """Ask for one hint; where the help gives none, that is said."""
        if not self.controller.state.finished:
            self.controller.do(do.AskHint)

    def _show_ending(self, state: AppointmentState) -> None:
        for widget in (self.left, self.below, self.header.status, self.header.card):
            widget.setVisible(False)
        self.tabs.setTabVisible(ENDING, True)
        self.tabs.setCurrentIndex(ENDING)
        self.debrief.ask(state)

    def _on_predicted(self, prediction: Prediction) -> None:
        if self.controller.do(do.Predict, prediction=prediction):
            self._reveal()
        else:
            self.debrief.form.tell(NOT_NOTED)

    def _reveal(self) -> None:
        """The prediction is made or skipped: show the result, and tell that all is over."""
        self.revealed = True
        self.debrief.reveal(self.controller.state)
        self.image.reveal()
        self._on_setup(self.controller.setup)
        self._tell_finished()

    def _tell_finished(self) -> None:
        if self.controller.state.finished and not self._finish_told:
            self._finish_told = True
            self.attempt_finished.emit(self.path, self.bench)

    def _show_hint(self) -> None:
        if self.helped is HelpLevel.ON_REQUEST:
            return  # what was asked for stays until the next is
        told = hint(self.controller.state, self.controller.placement, self.helped)
        self.hint.setText(told)
        self.hint.setVisible(bool(told))

    def look_from(self, view: View) -> None:
        """Look from there: a look that counts when the operator is in the room."""
        if self.controller.state.room.operator_outside:
            self._turn_camera(view)  # a glance through the window, from where lines do not show
        else:
            self.controller.do(do.Look, view=view)

    def _turn_camera(self, view: View) -> None:
        from trainer.scene.vtk_frames import Look

        self.patient.view3d.look_from(Look.FRONT if view is View.FRONT else Look.RIGHT_SIDE)

    def _on_tab(self, index: int) -> None:
        if self.controller.state.room.operator_outside:
            self.controller.look_at(GAZES[index])

    def _sync_gaze(self) -> None:
        self.controller.look_at(GAZES[self.tabs.currentIndex()])

    def _on_marked(self, kind: object, across_mm: float, up_mm: float) -> None:
        self.controller.do(do.MarkTarget, kind=kind, across_mm=across_mm, up_mm=up_mm)

    def _on_cut(self, kind: object, sides: tuple[object, ...]) -> None:
        self.controller.do(do.NameCut, kind=kind, sides=sides)

    def _on_scouts_left(self, where_to: str) -> None:
        phases = {"place": Phase.PLACE, "scout": Phase.SCOUT, "run": Phase.RUN}
        if where_to != "scout":
            self.tabs.setCurrentIndex(PATIENT)
        self.open_phase(phases[where_to])

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.ActivationChange and not self.isActiveWindow():
            self._walk_off()
        super().changeEvent(event)

    def _walk_off(self) -> None:
        """The window is left: no hand on a switch, and no eyes on the patient."""
        self.left.let_go()
        if self.controller.state.exposure.running is not None:
            self.controller.release()
            self.tell(WALKED_OFF)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.left.let_go()
        self.pictures.close()
        self.debrief.shut()
        self.controller.close()
        self.patient.shut()
        self._tell_finished()
        super().closeEvent(event)
        self.closed.emit()
