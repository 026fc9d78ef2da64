"""From the bench to the unit's window and back; keeps at most one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSettings
from PySide6.QtWidgets import QMainWindow

from trainer.services.assets import UNITS
from trainer.services.unit_io import named_files

if TYPE_CHECKING:
    from trainer.app.unit_desk.window import UnitWindow


class UnitDoor(QObject):
    """What the window needs is loaded when it is asked for, so that the program starts quickly."""

    def __init__(self, bench_window: QMainWindow, settings: QSettings) -> None:
        super().__init__(bench_window)
        self._settings = settings
        self.open: UnitWindow | None = None

    def ask(self, path: Path | None = None) -> None:
        """Show the window, with that unit or the first shipped one."""
        if self.open is not None:
            self.open.show()
            self.open.raise_()
            self.open.activateWindow()
            return
        from trainer.app.unit_desk.controller import UnitController
        from trainer.app.unit_desk.window import UnitWindow

        window = UnitWindow(UnitController(), self._settings)
        window.closed.connect(self._on_closed)
        self.open = window
        bench = self.parent()
        assert isinstance(bench, QMainWindow)
        window.resize(bench.size())
        window.show()
        window.open_file(path or next(iter(named_files(UNITS).values())))

    def close(self) -> bool:
        """Close the window; false if the person wants to go on with it."""
        return self.open is None or self.open.close()

    def _on_closed(self) -> None:
        window, self.open = self.open, None
        if window is not None:
            window.deleteLater()
