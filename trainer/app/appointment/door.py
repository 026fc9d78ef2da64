"""From the bench into an appointment and back: asks how, opens its window, closes it again."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSettings
from PySide6.QtWidgets import QWidget

from trainer.app.notices import trouble_box
from trainer.errors import TrainerError
from trainer.services.workbench import Workbench, open_workbench

if TYPE_CHECKING:
    from trainer.app.appointment.start_dialog import StartDialog
    from trainer.app.appointment.window import AppointmentWindow

SAFE = "Nothing was changed; earlier appointments are kept. Choose another case, or try again."
NO_VISIT = "This case is an exercise in placing only: its file tells of no visit."


class AppointmentDoor(QObject):
    """Keeps at most one appointment open; the bench's window waits hidden meanwhile.

    What an appointment needs is loaded when one is asked for, so that the program starts quickly.
    """

    def __init__(self, bench_window: QWidget, settings: QSettings, meshes: Path) -> None:
        super().__init__(bench_window)
        self._settings, self._meshes = settings, meshes
        self.open: AppointmentWindow | None = None

    @property
    def _window(self) -> QWidget:
        """The bench's window; not kept here, or it would hold itself alive."""
        window = self.parent()
        assert isinstance(window, QWidget)
        return window

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

        left = left_attempts(bench, self._settings)
        dialog = StartDialog(bench.case, left, self._window)
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
        try:
            if left is None:
                attempt = begin_attempt(bench, helped, self._settings)
            else:
                attempt = go_on_with(left, bench)
        except TrainerError as error:
            self._trouble(error)
            return
        window = AppointmentWindow(bench, AppointmentController(attempt), helped)
        window.closed.connect(self._on_closed)
        self.open = window
        window.resize(self._window.size())
        window.show()
        self._window.hide()
        window.start()

    def _on_closed(self) -> None:
        window, self.open = self.open, None
        if window is not None:
            # the bench comes back first: with no window left the program would end
            self._window.show()
            window.deleteLater()

    def _trouble(self, error: TrainerError) -> None:
        words = str(error.args[0]) if error.args else str(error)
        trouble_box("The appointment was not opened", words, self._window, SAFE).open()
