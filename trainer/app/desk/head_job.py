"""Builds a person's head off the window's thread, with progress, and can be cancelled."""

from __future__ import annotations

import logging
from pathlib import Path
from threading import Event as Flag

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from trainer.errors import TrainerError
from trainer.models.subject import Person
from trainer.services.assets import load_head

log = logging.getLogger("trainer.app")


class Cancelled(Exception):
    """The head is no longer wanted."""


class HeadJobs(QObject):
    """One head at a time; a new one that is asked for takes the place of the one before.

    Signals
    -------
    progress : str
        What is being built.
    done : HeadMeshes
        The head that was asked for last.
    failed : str
        It cannot be built, and why.
    cancelled : no value
        It was cancelled.
    """

    progress = Signal(str)
    done = Signal(object)
    failed = Signal(str)
    cancelled = Signal()

    def __init__(self, meshes: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.meshes = meshes
        self.busy = False
        self._flag = Flag()
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        for signal in (self.done, self.failed, self.cancelled):
            signal.connect(self._on_over)

    def ask(self, person: Person) -> None:
        """Build that person's head, and no other that may be under way."""
        self._flag.set()
        self._flag = Flag()
        self.busy = True
        self._pool.start(_Build(self, person, self._flag))

    def cancel(self) -> None:
        """Cancel what is under way; it is told as cancelled."""
        if self.busy:
            self._flag.set()
            self.cancelled.emit()

    def close(self) -> None:
        """Cancel, and wait for the thread."""
        self._flag.set()
        self._pool.waitForDone()

    def _on_over(self, *_: object) -> None:
        self.busy = False


class _Build(QRunnable):
    def __init__(self, jobs: HeadJobs, person: Person, flag: Flag) -> None:
        super().__init__()
        self._jobs, self._person, self._flag = jobs, person, flag

    def run(self) -> None:
        try:
            self._tell("head")
            found = load_head(self._person, self._jobs.meshes, self._tell)
            self._tell("finished")
        except Cancelled:
            return
        except (TrainerError, OSError, MemoryError, ImportError) as error:
            log.info("no head", exc_info=True)
            if not self._flag.is_set():
                self._jobs.failed.emit(str(error.args[0] if error.args else error))
        else:
            self._jobs.done.emit(found)

    def _tell(self, what: str) -> None:
        if self._flag.is_set():
            raise Cancelled
        self._jobs.progress.emit(what)
