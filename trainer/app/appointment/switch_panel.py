"""The switch below its guard, ready light, and the way to expose without holding."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.hold_button import HoldButton
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_words import Gaze

NOT_READY = "○ Not ready. Make the unit ready first."
STEADY = "● Ready, and steady."
GUARD_CLOSED = "Lift the guard over the switch"
GUARD_LIFTED = "✓ The guard is lifted; close it"
HOW = "Hold the button with the mouse, or the space bar while it has the focus. Letting go stops."
HOW_WITHOUT = "Press once, then confirm. Radiation stops by itself, or with “Stop radiation”."
EYES = {
    Gaze.PATIENT: "your eyes are on the patient",
    Gaze.SCREEN: "your eyes are on the screen",
    Gaze.ELSEWHERE: "your eyes are elsewhere",
}


class SwitchPanel(QGroupBox):
    """One or more switches below one guard.

    The guard can be lifted only while the unit is ready; it falls when the unit is not ready any
    longer, when the focus goes elsewhere, when the panel is hidden, and after every use. Without
    holding, a press asks first, and "not now" has the focus.

    Signals
    -------
    pressed : str, bool
        A switch is pressed: its name, and whether it stays pressed without being held.
    released : no value
        It is let go.
    """

    pressed = Signal(str, bool)
    released = Signal()

    def __init__(
        self, title: str, switches: Mapping[str, str], parent: QWidget | None = None
    ) -> None:
        super().__init__(title, parent)
        self._asked = ""
        self._ready = False
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 6)
        column.setSpacing(4)
        self.light = QLabel(NOT_READY)
        self.light.setWordWrap(True)
        self.light.setAccessibleName("Ready light")
        column.addWidget(self.light)
        self.guard = QPushButton(GUARD_CLOSED)
        self.guard.setObjectName("act")
        self.guard.setCheckable(True)
        self.guard.setEnabled(False)
        self.guard.setMinimumHeight(26)
        self.guard.toggled.connect(self._on_guard)
        column.addWidget(self.guard)
        self.switches: dict[str, HoldButton] = {}
        for name, words in switches.items():
            button = HoldButton(words)
            button.setMinimumHeight(40)
            button.setEnabled(False)
            button.pressed_down.connect(partial(self._on_pressed, name))
            button.let_go.connect(self._on_let_go)
            self.switches[name] = button
            column.addWidget(button)
        self.ask = QWidget()
        row = QHBoxLayout(self.ask)
        row.setContentsMargins(0, 0, 0, 0)
        self.question = QLabel("Radiation will come out. Start it now?")
        self.question.setWordWrap(True)
        row.addWidget(self.question, 1)
        self.yes = act_button("Yes, start", self._on_yes)
        self.no = act_button("Not now", self._on_no)
        row.addWidget(self.no)
        row.addWidget(self.yes)
        self.ask.setVisible(False)
        column.addWidget(self.ask)
        self.stop = act_button("Stop radiation", self._on_stop)
        self.stop.setVisible(False)
        column.addWidget(self.stop)
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setFixedHeight(10)
        self.progress.setRange(0, 1000)
        self.progress.setVisible(False)
        column.addWidget(self.progress)
        self.told = QLabel()
        self.told.setWordWrap(True)
        self.told.setVisible(False)
        column.addWidget(self.told)
        self.without_holding = QCheckBox("I cannot hold it: expose without holding")
        self.without_holding.toggled.connect(self._on_way)
        column.addWidget(self.without_holding)
        self.how = QLabel(HOW)
        self.how.setObjectName("quiet")
        self.how.setWordWrap(True)
        column.addWidget(self.how)
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._on_focus)

    def show_state(self, state: AppointmentState, at_s: float) -> None:
        """Show ready light and run as they are at a time."""
        ready_s, running = state.room.ready_from_s, state.exposure.running
        self._ready = ready_s is not None
        if ready_s is None:
            self.light.setText(NOT_READY if running is None else "● Radiation is on.")
        elif at_s < ready_s:
            self.light.setText(f"◐ Getting ready … {ready_s - at_s:.0f} s until it stands steady")
        else:
            self.light.setText(STEADY if running is None else "● Radiation is on.")
        self.guard.setEnabled(self._ready)
        if not self._ready:
            self.guard.setChecked(False)
        on = running is not None
        self.progress.setVisible(on)
        self.told.setVisible(on)
        self.stop.setVisible(running is not None and running.stays)
        if running is not None:
            gone = max(0.0, at_s - running.started_s)
            self.progress.setValue(round(1000 * min(1.0, gone / running.planned_s)))
            eyes = EYES[state.exposure.gaze]
            self.told.setText(f"{gone:.1f} of {running.planned_s:g} s; {eyes}.")

    def close_guard(self) -> None:
        """Close the guard; what is held is let go."""
        self.guard.setChecked(False)
        self.ask.setVisible(False)

    def _on_guard(self, lifted: bool) -> None:
        self.guard.setText(GUARD_LIFTED if lifted else GUARD_CLOSED)
        for button in self.switches.values():
            button.setEnabled(lifted)
            button.arm(lifted)
        if lifted:
            next(iter(self.switches.values())).setFocus()

    def _on_pressed(self, name: str) -> None:
        if self.without_holding.isChecked():
            self._asked = name
            self.ask.setVisible(True)
            self.no.setFocus()
            return
        self.pressed.emit(name, False)

    def _on_let_go(self) -> None:
        if not self.without_holding.isChecked():
            self.released.emit()
            self.close_guard()

    def _on_yes(self) -> None:
        name, self._asked = self._asked, ""
        self.ask.setVisible(False)
        if name and self._ready:
            self.pressed.emit(name, True)
            if self.stop.isVisible():
                self.stop.setFocus()
        self.guard.setChecked(False)

    def _on_no(self) -> None:
        self._asked = ""
        self.close_guard()
        self.guard.setFocus()

    def _on_stop(self) -> None:
        self.released.emit()

    def _on_way(self, without: bool) -> None:
        self.close_guard()
        self.how.setText(HOW_WITHOUT if without else HOW)

    def _on_focus(self, _: QWidget | None, now: QWidget | None) -> None:
        if self.guard.isChecked() and now not in (
            *self.switches.values(),
            self.guard,
            self.yes,
            self.no,
        ):
            self.close_guard()

    def hideEvent(self, event: object) -> None:
        self.close_guard()
        super().hideEvent(event)  # type: ignore[arg-type]
