"""Computes what a debrief needs off the window's thread: its numbers, and the head to be sliced."""

from __future__ import annotations

import logging
from collections.abc import Callable
from threading import Event as Flag

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from trainer.engine.appointment.state import AppointmentState
from trainer.errors import TrainerError
from trainer.models.subject import Person
from trainer.services.debrief import Debrief, debrief, worked_course, worked_setups
from trainer.services.slices import SlicedHead
from trainer.services.workbench import Workbench

log = logging.getLogger("trainer.app")


class Cancelled(Exception):
    """The learner wants no more of it."""


class DebriefJobs(QObject):
    """One piece of work after the other, in a thread of its own.

    Signals
    -------
    told : Debrief
        The debrief is there.
    untold : str
        It cannot be computed, and why.
    solved : tuple of Moment
        The course of the worked solution; empty where there is none.
    progress : str
        What is being made of the head.
    sliced : SlicedHead
        The head can be sliced.
    unsliced : str
        It cannot, and why; empty when it was cancelled.
    """

    told = Signal(object)
    untold = Signal(str)
    solved = Signal(tuple)
    progress = Signal(str)
    sliced = Signal(object)
    unsliced = Signal(str)

    def __init__(self, bench: Workbench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.closed = False
        self._flag = Flag()
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)

    def ask_debrief(self, state: AppointmentState) -> None:
        """Compute the debrief of a finished attempt."""
        self._pool.start(_Work(lambda: self._debrief(state)))

    def ask_solution(self) -> None:
        """Play the case's worked solution."""
        self._pool.start(_Work(lambda: self.solved.emit(worked_course(self.bench))))

    def ask_slices(self, person: Person) -> None:
        """Make the person's head ready to be sliced; seconds the first time."""
        flag = self._flag = Flag()
        self._pool.start(_Work(lambda: self._slices(person, flag)))

    def cancel(self) -> None:
        """Make no head ready any more."""
        self._flag.set()

    def close(self) -> None:
        """Cancel, and wait for the thread; what was on its way to be told then comes to nobody."""
        self.closed = True
        self.cancel()
        self._pool.clear()
        self._pool.waitForDone()

    def _debrief(self, state: AppointmentState) -> None:
        try:
            found: Debrief = debrief(state, self.bench, worked_setups(self.bench))
        except (TrainerError, OSError, MemoryError) as error:
            log.info("no debrief", exc_info=True)
            self.untold.emit(_why(error))
        else:
            self.told.emit(found)

    def _slices(self, person: Person, flag: Flag) -> None:
        def tell(what: str) -> None:
            if flag.is_set():
                raise Cancelled
            self.progress.emit(what)

        try:
            tell("starting")
            head = SlicedHead(self.bench, person, tell)
            tell("ready")
        except Cancelled:
            self.unsliced.emit("")
        except (TrainerError, OSError, MemoryError) as error:
            log.info("no slices", exc_info=True)
            self.unsliced.emit(_why(error))
        else:
            self.sliced.emit(head)


def _why(error: Exception) -> str:
    return str(error.args[0] if error.args else error)


class _Work(QRunnable):
    def __init__(self, do: Callable[[], None]) -> None:
        super().__init__()
        self._do = do

    def run(self) -> None:
        self._do()
