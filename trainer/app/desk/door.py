"""From the bench to the desk and back: opens its window, keeps at most one, tries its drafts."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSettings

from trainer.services.library import every_case
from trainer.services.workbench import DEMO_CASE

if TYPE_CHECKING:
    from trainer.app.desk.window import DeskWindow
    from trainer.app.window import TrainerWindow
    from trainer.models.setup import Setup


class DeskDoor(QObject):
    """Keeps at most one desk open beside the bench.

    What the desk needs is loaded when it is asked for, so that the program starts quickly.
    """

    def __init__(self, bench_window: TrainerWindow, settings: QSettings, meshes: Path) -> None:
        super().__init__(bench_window)
        self._settings, self._meshes = settings, meshes
        self.open: DeskWindow | None = None

    @property
    def _window(self) -> TrainerWindow:
        """The bench's window; not kept here, or it would hold itself alive."""
        return self.parent()  # type: ignore[return-value]

    def ask(self) -> None:
        """Show the desk; a new one begins with the case that is open at the bench."""
        if self.open is not None:
            self.open.show()
            self.open.raise_()
            self.open.activateWindow()
            return
        from trainer.app.desk.controller import DeskController
        from trainer.app.desk.window import DeskWindow

        window = DeskWindow(DeskController(self._meshes), self._settings, self._meshes)
        window.try_placing_asked.connect(self._try_placing)
        window.try_whole_asked.connect(self._try_whole)
        window.setup_asked.connect(self._give_setup)
        window.closed.connect(self._on_closed)
        self.open = window
        window.resize(self._window.size())
        window.show()
        window.start()
        bench = self._window.controller.bench
        named = bench.files[:1] if bench is not None else ()
        window.open_case(named[0] if named else every_case()[DEMO_CASE])

    def close(self) -> bool:
        """Close the desk; false if the person wants to go on with it."""
        return self.open is None or self.open.close()

    def _try_placing(self, path: str) -> None:
        window = self._window
        if window.open_case(path):
            window.raise_()
            window.activateWindow()

    def _try_whole(self, path: str) -> None:
        self._window.door.ask(path)
        self._window.raise_()
        self._window.activateWindow()

    def _give_setup(self) -> None:
        state = self._window.controller.state
        if self.open is not None:
            found: tuple[str, Setup] | None = None
            if state is not None:
                found = state.unit.id, state.setup
            self.open.take_setup(found)

    def _on_closed(self) -> None:
        window, self.open = self.open, None
        if window is not None:
            window.deleteLater()
