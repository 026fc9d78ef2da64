"""The acts with their forms, wired to the controller."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from trainer.app.appointment.acts import Act, Phase
from trainer.app.appointment.acts_panel import ActsPanel, act_button
from trainer.app.appointment.controller import AppointmentController
from trainer.app.appointment.forms import ExplainForm, ProgrammeForm, SpacerForm
from trainer.app.appointment.forms_after import GradeForm, RecordForm
from trainer.app.appointment.help_level import shows_angles
from trainer.app.appointment.sign_form import SignForm
from trainer.app.appointment.switch_panel import SwitchPanel
from trainer.app.control_panel import ControlPanel
from trainer.engine.appointment.state import AppointmentState
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import Grade, RetakeCause, ScoutKind, Sentence
from trainer.models.controls import CONTROLS
from trainer.models.panorama import PanoramaFault, PanoramaSign
from trainer.models.setup import Setup

ENTRY_KEYS = ("region", "field")
ANGLES = ("pitch_deg", "yaw_deg", "roll_deg")
SCOUT_SWITCHES = {
    str(ScoutKind.FRONTAL): "Frontal scout: hold",
    str(ScoutKind.LATERAL): "Lateral scout: hold",
}
RUN_SWITCHES = {"run": "Expose: hold for the whole run"}


class LeftSide(ActsPanel):
    """Everything that can be done; what is done goes to the controller.

    Signals
    -------
    about_to_expose : no value
        A switch is about to be pressed: eyes and pictures may follow.
    finish_asked : no value
        The learner wants to end the appointment.
    refused : str
        Why what was typed was not taken.
    """

    about_to_expose = Signal()
    finish_asked = Signal()
    refused = Signal(str)

    def __init__(self, controller: AppointmentController, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.controller = controller
        context = controller.state.context
        self.explain = ExplainForm()
        self.programme = ProgrammeForm(context.protocols)
        self.signs = SignForm(controller.state)
        self.spacer = SpacerForm()
        self.grade = GradeForm()
        self.record = RecordForm(context)
        self.scouts = SwitchPanel("Scouts", SCOUT_SWITCHES)
        self.run = SwitchPanel("Exposure", RUN_SWITCHES)
        self.finish = act_button("End the appointment", self.finish_asked.emit)
        hands = [c.key for c in CONTROLS if c.key not in (*ENTRY_KEYS, "jaw_gap_mm")]
        self.entry = ControlPanel(context.unit, keys=ENTRY_KEYS)
        angles = shows_angles(controller.state.help)
        self.hands = ControlPanel(context.unit, keys=hands, unnumbered=() if angles else ANGLES)
        for phase, form in (
            (Phase.EXPLAIN, self.explain),
            (Phase.ENTRY, self.entry),
            (Phase.ENTRY, self.programme),
            (Phase.PLACE, self.signs),
            (Phase.PLACE, self.hands),
            (Phase.SUPPORT, self.spacer),
            (Phase.SCOUT, self.scouts),
            (Phase.RUN, self.run),
            (Phase.IMAGE, self.grade),
            (Phase.LEAVE, self.record),
            (Phase.LEAVE, self.finish),
        ):
            self.pages[phase].add_form(form)
        self.signs.setVisible(bool(self.signs.signs))
        self.scouts.setVisible(not context.unit.is_panoramic)
        self._connect()

    def _connect(self) -> None:
        self.chosen.connect(self._on_act)
        self.explain.said.connect(self._on_said)
        self.programme.entered.connect(self._on_programme)
        self.signs.named.connect(self._on_sign)
        self.spacer.placed.connect(self._on_spacer)
        self.spacer.removed.connect(self._on_spacer_out)
        self.grade.graded.connect(self._on_graded)
        self.grade.decided.connect(self._on_decided)
        self.record.written.connect(self._on_record)
        self.scouts.pressed.connect(self._on_scout)
        self.run.pressed.connect(self._on_run)
        self.run.released.connect(self.controller.release)
        for panel in (self.entry, self.hands):
            panel.moved.connect(self._on_moved)
            panel.refused.connect(self.refused)

    def show_all(self, state: AppointmentState, at_s: float) -> None:
        """Bring acts and forms up to date."""
        self.show_state(state)
        self.programme.show_state(state)
        self.signs.show_state(state)
        self.show_time(state, at_s)
        if state.finished:
            self.setEnabled(False)

    def show_time(self, state: AppointmentState, at_s: float) -> None:
        """Bring ready light and run up to date."""
        self.scouts.show_state(state, at_s)
        self.run.show_state(state, at_s)

    def show_setup(self, setup: Setup) -> None:
        """Show these values on the controls."""
        self.entry.show_setup(setup)
        self.hands.show_setup(setup)

    def let_go(self) -> None:
        """Let go of every switch: the window is no longer where the hands are."""
        for panel in (self.scouts, self.run):
            panel.close_guard()

    def _on_act(self, act: Act) -> None:
        self.controller.do(act.kind, **act.values)

    def _on_said(self, sentences: tuple[Sentence, ...]) -> None:
        self.controller.do(do.Explain, sentences=sentences)

    def _on_programme(self, programme: Programme) -> None:
        self.controller.do(do.EnterProgramme, programme=programme)

    def _on_sign(self, fault: PanoramaFault, sign: PanoramaSign) -> None:
        self.controller.do(do.NameSign, fault=fault, sign=sign)

    def _on_spacer(self, values: dict[str, object]) -> None:
        self.controller.do(do.PlaceSpacer, **values)

    def _on_spacer_out(self) -> None:
        self.controller.do(do.TakeSpacerOut)

    def _on_graded(self, grade: Grade, causes: tuple[RetakeCause, ...]) -> None:
        self.controller.do(do.GradeImage, grade=grade, causes=causes)

    def _on_decided(self, retake: bool, cause: RetakeCause | None) -> None:
        self.controller.do(do.DecideRetake, retake=retake, cause=cause)

    def _on_record(self, values: dict[str, object]) -> None:
        self.controller.do(do.WriteRecord, **values)

    def _on_scout(self, name: str, stays: bool) -> None:
        self.about_to_expose.emit()
        self.controller.do(do.TakeScout, kind=ScoutKind(name))

    def _on_run(self, name: str, stays: bool) -> None:
        self.about_to_expose.emit()
        self.controller.press(stays)

    def _on_moved(self, key: str, value: object) -> None:
        self.controller.adjust({key: value})
