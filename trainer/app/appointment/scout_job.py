"""Computes scouts off the window's thread, with progress, and can be cancelled."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from threading import Event as Flag

import numpy as np
from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from trainer.engine.appointment.state import AppointmentState
from trainer.errors import TrainerError
from trainer.models.appointment import Conditions
from trainer.models.appointment_visit import Visit
from trainer.models.subject import Person
from trainer.physics.views import ScoutView
from trainer.services.scouts import WORKING_TUBE, ScoutHead, ScoutPicture, person_head, take_scout
from trainer.services.volumes.in_beam import as_worn, spacer_in_beam
from trainer.services.workbench import Workbench

log = logging.getLogger("trainer.app")

# Of the phantom that scouts go through [mm].
SPACING_MM = 0.5


@dataclass(frozen=True, slots=True)
class ScoutAsk:
    """A picture that is wanted: from where, and what stood how."""

    view: ScoutView
    conditions: Conditions
    seed: int


class Cancelled(Exception):
    """The learner wants no more of it."""


class ScoutJobs(QObject):
    """One picture after the other, in a thread of its own.

    Signals
    -------
    progress : str
        What is being done.
    done : ScoutAsk, ScoutPicture
        A picture is there.
    failed : ScoutAsk, str
        It cannot be computed, and why.
    cancelled : ScoutAsk
        It was cancelled.
    """

    progress = Signal(str)
    done = Signal(object, object)
    failed = Signal(object, str)
    cancelled = Signal(object)

    def __init__(self, bench: Workbench, visit: Visit, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench, self.visit = bench, visit
        self.heads: dict[Person, ScoutHead] = {}
        self._flag = Flag()
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._open = 0
        for signal in (self.done, self.failed, self.cancelled):
            signal.connect(self._on_over)

    @property
    def busy(self) -> bool:
        """Whether pictures are being computed."""
        return self._open > 0

    def ask(self, ask: ScoutAsk) -> None:
        """Compute a picture after those asked for before."""
        if self._flag.is_set():
            self._flag = Flag()
        self._open += 1
        self._pool.start(_Compute(self, ask, self._flag))

    def prepare(self, state: AppointmentState) -> None:
        """Make the phantom of the person as they are now ready, so that scouts come quickly."""
        person = state.person
        if person is None or self.busy:
            return
        worn = as_worn(self.bench.case.subject.person, self.visit, person.worn)
        if worn not in self.heads:
            self._pool.start(_Prepare(self, worn, self._flag))

    def cancel(self) -> None:
        """Cancel everything that was asked for; each is told as cancelled."""
        self._flag.set()

    def close(self) -> None:
        """Cancel, and wait for the thread."""
        self.cancel()
        self._pool.waitForDone()

    def _on_over(self, *_: object) -> None:
        self._open -= 1


class _Prepare(QRunnable):
    def __init__(self, jobs: ScoutJobs, person: Person, flag: Flag) -> None:
        super().__init__()
        self._jobs, self._person, self._flag = jobs, person, flag

    def run(self) -> None:
        try:
            self._jobs.heads[self._person] = person_head(self._person, SPACING_MM, self._tell)
        except Cancelled:
            pass
        except (TrainerError, OSError, MemoryError):
            # told when a scout is asked for and this comes again
            log.info("no phantom", exc_info=True)

    def _tell(self, what: str) -> None:
        if self._flag.is_set():
            raise Cancelled
        self._jobs.progress.emit(what)


class _Compute(QRunnable):
    def __init__(self, jobs: ScoutJobs, ask: ScoutAsk, flag: Flag) -> None:
        super().__init__()
        self._jobs, self._ask, self._flag = jobs, ask, flag

    def run(self) -> None:
        try:
            self._tell("waiting")
            picture = compute(self._jobs, self._ask, self._tell)
            self._tell("finished")
        except Cancelled:
            self._jobs.cancelled.emit(self._ask)
        except (TrainerError, OSError, MemoryError) as error:
            log.info("no scout", exc_info=True)
            self._jobs.failed.emit(self._ask, str(error.args[0] if error.args else error))
        else:
            self._jobs.done.emit(self._ask, picture)

    def _tell(self, what: str) -> None:
        if self._flag.is_set():
            raise Cancelled
        self._jobs.progress.emit(what)


def compute(jobs: ScoutJobs, ask: ScoutAsk, tell: object) -> ScoutPicture:
    """The picture, through the person as they are dressed, with what is between their teeth."""
    assert callable(tell)
    bench = jobs.bench
    person = as_worn(bench.case.subject.person, jobs.visit, ask.conditions.worn)
    head = jobs.heads.get(person)
    if head is None:
        head = person_head(person, SPACING_MM, tell)
        jobs.heads[person] = head
    tell("drawing the picture")
    return take_scout(
        bench,
        ask.conditions.setup,
        head,
        ask.view,
        np.random.default_rng(ask.seed),
        tube=bench.unit.tube or WORKING_TUBE,
        protocol=ask.conditions.programme.protocol if bench.unit.tube else "",
        solids=spacer_in_beam(bench, ask.conditions),
    )
