"""The window of an appointment: acts on the left, what the operator sees beside them."""

from __future__ import annotations

import logging

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
from trainer.app.appointment.boxes import finish_box, not_logged_box
from trainer.app.appointment.controller import AppointmentController
from trainer.app.appointment.ending_panel import EndingPanel
from trainer.app.appointment.event_list import EventList
from trainer.app.appointment.header import Header
from trainer.app.appointment.help_level import HelpLevel
from trainer.app.appointment.hint import hint
from trainer.app.appointment.image_panel import ImagePanel
from trainer.app.appointment.left_side import LeftSide
from trainer.app.appointment.menus import build_menus
from trainer.app.appointment.patient_pane import PatientPane
from trainer.app.appointment.pictures import Pictures
from trainer.app.appointment.scout_panel import ScoutPanel
from trainer.app.appointment.told_words import Teller, blocked_words
from trainer.app.look import palette, style_sheet
from trainer.app.notices import NAME, CautionsDialog
from trainer.app.sizes import CAUTION, start_size
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.motion import motion_trace
from trainer.models import appointment_commands as do
from trainer.models import appointment_events as ev
from trainer.models.appointment import Logged
from trainer.models.appointment_words import Gaze, ScoutKind, View
from trainer.models.setup import Setup
from trainer.services.workbench import Workbench

log = logging.getLogger("trainer.app")

PATIENT, SCOUTS, IMAGE, ENDING = range(4)
GAZES = {PATIENT: Gaze.PATIENT, SCOUTS: Gaze.SCREEN, IMAGE: Gaze.SCREEN, ENDING: Gaze.SCREEN}
LEFT_PX, EVENTS_PX = 424, 150
FIRST_SCOUT = ScoutKind.FRONTAL
WALKED_OFF = "The window lost the focus: the switch was let go."


class AppointmentWindow(QMainWindow):
    """One attempt at an appointment. Holds widgets and the controller, and no rules.

    Signals
    -------
    closed : no value
        The window is closed and has let go of everything; the attempt can be gone on with.
    """

    closed = Signal()

    def __init__(
        self, bench: Workbench, controller: AppointmentController, helped: HelpLevel
    ) -> None:
        super().__init__()
        self.bench, self.controller, self.helped = bench, controller, helped
        controller.setParent(self)
        visit = controller.state.context.visit
        self.setWindowTitle(f"{NAME} – whole appointment")
        self.setPalette(palette())
        self.setStyleSheet(style_sheet())
        self.header = Header(bench.case, helped)
        self.left = LeftSide(controller)
        self.patient = PatientPane(bench)
        self.scouts = ScoutPanel(bench.unit)
        self.image = ImagePanel(bench.unit)
        self.ending = EndingPanel()
        self.events = EventList(Teller(visit, helped.tells))
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
            (self.ending, "Ending"),
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
        below = QWidget()
        column = QVBoxLayout(below)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        column.addWidget(self.notice)
        column.addWidget(self.hint)
        column.addWidget(self.events, 1)
        self.middle = QSplitter(Qt.Orientation.Vertical)
        self.middle.addWidget(self.tabs)
        self.middle.addWidget(below)
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

    def start(self) -> None:
        """Let time run, and load the 3-D view's libraries."""
        self.controller.start()
        self.pictures.recall()
        self.patient.view3d.start()
        self.left.phases.setFocus()

    # following the controller -----------------------------------------------------------------

    @property
    def look_inside(self) -> bool:
        """Whether bone and field are shown: with that help, and after the end."""
        return self.helped.looks_inside or self.controller.state.finished

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

    def _show_ending(self, state: AppointmentState) -> None:
        self.ending.show_ending(state)
        self.tabs.setTabVisible(ENDING, True)
        self.tabs.setCurrentIndex(ENDING)
        self.ending.text.setFocus()

    def _show_hint(self) -> None:
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
        self.controller.close()
        self.patient.shut()
        super().closeEvent(event)
        self.closed.emit()
