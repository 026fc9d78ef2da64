"""Packs at the desk: made from a folder, taken in, with everything that was found told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QLabel,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import NotValid, TrainerError
from trainer.services.packs.make import make_pack
from trainer.services.packs.take_in import take_in

FOLDER_WORDS = "Folder of cases, with manifest.yaml"
REFUSED = "{} Nothing was written, and what was there before stays as it was."


class PackActions(QObject):
    """What the menu offers about packs. The work is done off the window's thread.

    Signals
    -------
    told : str
        What was done.
    done : str
        The same, from the thread of the work.
    refused : str, str
        What could not be done, and every fault that was found.
    """

    told = Signal(str)
    done = Signal(str)
    refused = Signal(str, str)

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self.done.connect(self.told)
        self.refused.connect(self._on_refused)

    def make(self) -> None:
        """Ask for a folder and a file, and make the pack."""
        folder = QFileDialog.getExistingDirectory(self._window, FOLDER_WORDS)
        if not folder:
            return
        proposed = str(Path(folder).with_suffix(".zip"))
        name, _ = QFileDialog.getSaveFileName(self._window, "The pack", proposed, "Packs (*.zip)")
        if name:
            out = Path(name)
            self.make_of(Path(folder), out if out.suffix == ".zip" else out.with_suffix(".zip"))

    def take_in(self) -> None:
        """Ask for a pack and take it in."""
        name, _ = QFileDialog.getOpenFileName(self._window, "Take a pack in", "", "Packs (*.zip)")
        if name:
            self.take(Path(name))

    def make_of(self, folder: Path, out: Path) -> None:
        """Make the pack of a folder."""

        def work() -> str:
            pack = make_pack(folder, out)
            return f"Made {out}: {len(pack.case_ids)} cases, {len(pack.files)} files."

        self._start(work, f"The pack of {folder.name} was not made.")

    def take(self, path: Path) -> None:
        """Take a pack in."""

        def work() -> str:
            pack = take_in(path).pack
            cases = ", ".join(pack.case_ids) or "none"
            return f"Taken in: {pack.manifest.title_in()}. Cases: {cases}."

        self._start(work, f"The pack {path.name} was not taken in.")

    def close(self) -> None:
        """Wait for the work that is going on; it takes a few seconds at most."""
        self._pool.waitForDone()

    @property
    def _window(self) -> QWidget:
        window = self.parent()
        assert isinstance(window, QWidget)
        return window

    def _start(self, work: Callable[[], str], failed: str) -> None:
        self.told.emit("The pack is being looked through …")
        self._pool.start(_Work(self, work, failed))

    def _on_refused(self, what: str, faults: str) -> None:
        self.told.emit(REFUSED.format(what))
        box = FaultsDialog(self._window, what, faults)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.open()


class FaultsDialog(QDialog):
    """Every fault that was found, to be read and copied."""

    def __init__(self, parent: QWidget, what: str, faults: str) -> None:
        super().__init__(parent)
        self.setWindowTitle("Pack not accepted")
        column = QVBoxLayout(self)
        head = QLabel(REFUSED.format(what))
        head.setWordWrap(True)
        self.faults = QPlainTextEdit(faults)
        self.faults.setReadOnly(True)
        self.faults.setAccessibleName("What was found")
        self.faults.setMinimumSize(520, 180)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        for widget in (head, self.faults, buttons):
            column.addWidget(widget)


class _Work(QRunnable):
    def __init__(self, actions: PackActions, work: Callable[[], str], failed: str) -> None:
        super().__init__()
        self._actions, self._do, self._failed = actions, work, failed

    def run(self) -> None:
        try:
            told = self._do()
        except NotValid as error:
            self._actions.refused.emit(self._failed, str(error))
        except (TrainerError, OSError) as error:
            why = str(error.args[0] if error.args else error)
            self._actions.refused.emit(self._failed, why)
        else:
            self._actions.done.emit(told)
