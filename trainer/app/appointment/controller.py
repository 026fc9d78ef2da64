"""Between the appointment's widgets and the engine: input becomes timed commands in the log."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

from trainer.app.appointment.clock import VisitClock
from trainer.app.controller import REST_MS, complete
from trainer.app.words import refusal
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.appointment.step import step
from trainer.engine.placement import Placement
from trainer.errors import NotAllowedNow, NotReadable, NotValid, TrainerError
from trainer.models.appointment import Logged
from trainer.models.appointment_commands import (
    Adjust,
    Command,
    LookAt,
    PressSwitch,
    ReleaseSwitch,
    Wait,
)
from trainer.models.appointment_words import Gaze
from trainer.models.setup import Setup
from trainer.services.attempt_log import Attempt

log = logging.getLogger("trainer.app")

# While a run goes on time is told this often; what the patient does shows up in between.
TICK_MS = 200


class AppointmentController(QObject):
    """One attempt at an appointment. Every command is logged before its outcome shows.

    Signals
    -------
    changed : AppointmentState
        The state after a command, or as before after a refusal.
    happened : tuple of Logged
        New events, in order.
    effect : Effect
        Something to be shown or computed.
    setup_shown : Setup
        The setup to draw: that of the state, or what the hand is just moving.
    refused : str
        A sentence on what could not be done; nothing has changed.
    trouble : str
        The log cannot be written.
    ticked : float
        The time [s], a few times a second.
    """

    changed = Signal(object)
    happened = Signal(tuple)
    effect = Signal(object)
    setup_shown = Signal(object)
    refused = Signal(str)
    trouble = Signal(str)
    ticked = Signal(float)

    def __init__(
        self, attempt: Attempt, clock: VisitClock | None = None, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.attempt = attempt
        self.clock = clock or VisitClock(attempt.state.at_s)
        self._moved: dict[str, Any] = {}
        self._setup = attempt.state.setup
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(self.rest)
        self._tick = QTimer(self)
        self._tick.setInterval(TICK_MS)
        self._tick.timeout.connect(self.tick)

    @property
    def state(self) -> AppointmentState:
        """The state after the last command."""
        return self.attempt.state

    @property
    def setup(self) -> Setup:
        """The setup to draw: that of the state, or what the hand is just moving."""
        return self._setup

    @property
    def placement(self) -> Placement:
        """The placement of that setup."""
        return self.state.context.placing(self._setup)

    @property
    def moving(self) -> bool:
        """Whether a movement of the hand is going on."""
        return bool(self._moved)

    def start(self) -> None:
        """Let time run; everything that can be shown is told once."""
        self.happened.emit(self.state.log)
        self.changed.emit(self.state)
        self.setup_shown.emit(self._setup)
        if self.state.exposure.running is not None:
            self.release()  # the program ended while the switch was held: nobody holds it now
        if not self.state.finished:
            self._tick.start()

    def do(self, kind: type[Command], /, **values: Any) -> bool:
        """Do an act now; whether it was done. A movement of the hand is finished first."""
        self.rest()
        return self._do(kind, values)

    def adjust(self, values: Mapping[str, object]) -> None:
        """Move controls: shown at once, and logged as one act when the hand rests."""
        before = self._moved
        whole = complete({**before, **values}, self.state.setup, self.state.context.unit)
        try:
            command = Adjust(self.clock.now_s(), whole)  # type: ignore[arg-type]
            self._setup = step(self.state, command).state.setup
        except TrainerError as error:
            self._refuse(error, whole)
            self.setup_shown.emit(self._setup)
            return
        self._moved = whole
        self._rest.start()
        self.setup_shown.emit(self._setup)

    def rest(self) -> None:
        """The hand rests: what it moved becomes one command."""
        self._rest.stop()
        moved, self._moved = self._moved, {}
        if moved:
            self._do(Adjust, {"values": moved})

    def look_at(self, gaze: Gaze) -> None:
        """The eyes turn to something; nothing when they are there already."""
        if self.state.exposure.gaze is not gaze and not self.state.finished:
            self.do(LookAt, gaze=gaze)

    def press(self, stays: bool = False) -> bool:
        """Press the exposure switch; whether radiation is on now."""
        self.do(PressSwitch, stays=stays)
        return self.state.exposure.running is not None

    def release(self) -> None:
        """Let go of the switch."""
        if not self.state.finished:
            self.do(ReleaseSwitch)

    def tick(self) -> None:
        """Tell the time; while radiation is on the engine is told too."""
        now = self.clock.now_s()
        running = self.state.exposure.running
        if running is not None:
            self._do(Wait, {})
        self.ticked.emit(now)
        if self.state.finished:
            self._tick.stop()

    def close(self) -> None:
        """Finish what the hand was moving, stop radiation, close the log."""
        self._tick.stop()
        if self.state.exposure.running is not None:
            self.release()
        if not self.state.finished:
            self.rest()
        self._rest.stop()
        self.attempt.close()

    def _do(self, kind: type[Command], values: Mapping[str, Any]) -> bool:
        known = len(self.state.log)
        try:
            done = self.attempt.do(kind(at_s=self.clock.now_s(), **values))
        except NotReadable as error:
            self.trouble.emit(str(error))
            self._show()
            return False
        except TrainerError as error:
            self._refuse(error, values.get("values", values))
            self._show()
            return False
        # what follows from showing it may do more, and has its own events
        fresh: tuple[Logged, ...] = self.state.log[known:]
        self._show()
        if fresh:
            self.happened.emit(fresh)
        for effect in done.effects:
            self.effect.emit(effect)
        return True

    def _show(self) -> None:
        self._setup = self.state.setup
        self.changed.emit(self.state)
        self.setup_shown.emit(self._setup)

    def _refuse(self, error: TrainerError, values: Mapping[str, object]) -> None:
        if isinstance(error, NotValid):
            says = refusal(error.faults, values, self.state.context.unit)
            self.refused.emit(f"The unit cannot do that. {says}. Nothing was changed.")
        elif isinstance(error, NotAllowedNow):
            self.refused.emit(str(error))
        else:
            self.refused.emit(f"{error.args[0] if error.args else error} Nothing was changed.")
