"""From the bench into an appointment and back: asks how, opens its window, closes it again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from trainer.app.notices import trouble_box
from trainer.engine.debrief.help_ladder import Past, next_help
from trainer.errors import TrainerError
from trainer.models.learning import HelpLevel
from trainer.models.scenario import Case
from trainer.services.workbench import Workbench, open_workbench

if TYPE_CHECKING:
    from trainer.app.appointment.start_dialog import StartDialog
    from trainer.app.appointment.window import AppointmentWindow
    from trainer.app.debrief.demonstration import DemonstrationWindow

SAFE = "Nothing was changed; earlier appointments are kept. Choose another case, or try again."
NO_VISIT = "This case is an exercise in placing only: its file tells of no visit."


class Held(Protocol):
    """A log that no other window can open until this is closed."""

    def close(self) -> None: ...


class AppointmentDoor(QObject):
    """Keeps at most one appointment open; the bench's window waits hidden meanwhile.

    What an appointment needs is loaded when one is asked for, so that the program starts quickly.
    Who knows a learner sets ``history_of`` (their attempts at a case's task, the oldest first; None
    when nobody is signed in), ``folder`` (where their attempts under way are kept) and ``hold``
    (keeps other windows from opening the same log); `forget_learner` undoes it.

    Signals
    -------
    opened : AppointmentWindow or DemonstrationWindow
        That window is on the screen.
    attempt_finished : Path, Workbench
        An appointment is over and its prediction made or skipped: its log, and what it belongs to.
        The log is closed and held no more.
    """

    opened = Signal(object)
    attempt_finished = Signal(object, object)

    def __init__(self, bench_window: QWidget, meshes: Path) -> None:
        super().__init__(bench_window)
        self._meshes = meshes
        self.open: AppointmentWindow | DemonstrationWindow | None = None
        self.history_of: Callable[[Case], Sequence[Past] | None] = _nobody
        self.folder: Path | None = None
        self.hold: Callable[[Path], Held | None] = _no_hold
        self._held: Held | None = None

    @property
    def _window(self) -> QWidget:
        """The bench's window; not kept here, or it would hold itself alive."""
        window = self.parent()
        assert isinstance(window, QWidget)
        return window

    def forget_learner(self) -> None:
        """From now on attempts are nobody's again."""
        self.folder, self.hold, self.history_of = None, _no_hold, _nobody

    def ask(self, name_or_path: str) -> None:
        """Ask how to begin with the case of that name or file."""
        try:
            bench = open_workbench(name_or_path, self._meshes)
        except TrainerError as error:
            self._trouble(error)
            return
        self.ask_bench(bench)

    def ask_bench(self, bench: Workbench) -> None:
        """Ask how to begin with a case that is open."""
        if bench.case.visit is None:
            self._trouble(TrainerError(NO_VISIT))
            return
        from trainer.app.appointment.attempts import left_attempts
        from trainer.app.appointment.start_dialog import StartDialog

        left = left_attempts(bench, self.folder)
        history = self.history_of(bench.case)
        suggested = None if history is None else next_help(history)
        dialog = StartDialog(bench.case, left, suggested, self._window)
        dialog.accepted.connect(partial(self._begin, dialog, bench))
        dialog.open()

    def close(self) -> None:
        """Close what is open; the attempt can be gone on with."""
        if self.open is not None:
            self.open.close()

    def _begin(self, dialog: StartDialog, bench: Workbench) -> None:
        from trainer.app.appointment.attempts import begin_attempt, go_on_with
        from trainer.app.appointment.controller import AppointmentController
        from trainer.app.appointment.window import AppointmentWindow

        left, helped = dialog.go_on_with, dialog.helped
        if helped is HelpLevel.DEMONSTRATION and left is None:
            from trainer.app.debrief.demonstration import DemonstrationWindow

            self._show(DemonstrationWindow(bench))
            return
        try:
            if left is None:
                attempt, path = begin_attempt(bench, helped, self.folder)
                self._held = self.hold(path)
            else:
                self._held = self.hold(left.path)
                attempt, path = go_on_with(left, bench)
        except TrainerError as error:
            self._let_go()
            self._trouble(error)
            return
        window = AppointmentWindow(bench, AppointmentController(attempt), path)
        window.attempt_finished.connect(self._on_finished)
        self._show(window)

    def _show(self, window: AppointmentWindow | DemonstrationWindow) -> None:
        window.closed.connect(self._on_closed)
        self.open = window
        window.resize(self._window.size())
        window.show()
        self._window.hide()
        window.start()
        self.opened.emit(window)

    def _on_finished(self, path: Path, bench: Workbench) -> None:
        from trainer.app.appointment.window import AppointmentWindow

        if isinstance(self.open, AppointmentWindow):
            self.open.controller.attempt.close()
        self._let_go()
        self.attempt_finished.emit(path, bench)

    def _let_go(self) -> None:
        held, self._held = self._held, None
        if held is not None:
            held.close()

    def _on_closed(self) -> None:
        self._let_go()
        window, self.open = self.open, None
        if window is not None:
            # the bench comes back first: with no window left the program would end
            self._window.show()
            window.deleteLater()

    def _trouble(self, error: TrainerError) -> None:
        words = str(error.args[0]) if error.args else str(error)
        trouble_box("The appointment was not opened", words, self._window, SAFE).open()


def _nobody(case: Case) -> None:
    """Nobody is signed in, so nothing is known of earlier attempts."""
    return


def _no_hold(path: Path) -> None:
    """Attempts of nobody are not held."""
    return
