"""Computes what runs give off the window's thread, with progress, and can be cancelled.

A volume or, from a unit that makes them, a panoramic picture.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from threading import Event as Flag

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from trainer.errors import TrainerError
from trainer.models.appointment import Run
from trainer.models.images import RecordedVolume
from trainer.services.panorama import PanoramaPicture, panorama_ask, take_panorama
from trainer.services.volumes.record import RecordingCancelled, ask_of_run, record_volume
from trainer.services.workbench import Workbench

log = logging.getLogger("trainer.app")

Tell = Callable[[str, float], None]


class VolumeJobs(QObject):
    """One image after the other, in a thread of its own; told by the run's number.

    Signals
    -------
    progress : str, float
        What is being done, and the share of the work that is over.
    done : int, RecordedVolume or PanoramaPicture
        The image of that run is there.
    failed : int, str
        It cannot be computed, and why.
    cancelled : int
        It was cancelled.
    """

    progress = Signal(str, float)
    done = Signal(int, object)
    failed = Signal(int, str)
    cancelled = Signal(int)

    def __init__(self, bench: Workbench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._flag = Flag()
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)

    def ask(self, run: Run) -> None:
        """Compute the image of a run; what was asked for before is cancelled."""
        self.cancel()
        flag = self._flag = Flag()
        self._pool.start(_Compute(self, run, flag))

    def cancel(self) -> None:
        """Cancel what is being computed."""
        self._flag.set()

    def tell_cancelled(self, number: int, flag: Flag) -> None:
        """Tell so, unless something else has been asked for meanwhile."""
        if flag is self._flag:
            self.cancelled.emit(number)

    def close(self) -> None:
        """Cancel, and wait for the thread."""
        self.cancel()
        self._pool.waitForDone()


class _Compute(QRunnable):
    def __init__(self, jobs: VolumeJobs, run: Run, flag: Flag) -> None:
        super().__init__()
        self._jobs, self._run, self._flag = jobs, run, flag

    def run(self) -> None:
        number = self._run.number
        try:
            image = compute(
                self._jobs.bench, self._run, self._jobs.progress.emit, self._flag.is_set
            )
        except RecordingCancelled:
            self._jobs.tell_cancelled(number, self._flag)
        except (TrainerError, OSError, MemoryError) as error:
            log.info("no image", exc_info=True)
            self._jobs.failed.emit(number, str(error.args[0] if error.args else error))
        else:
            self._jobs.done.emit(number, image)


def compute(
    bench: Workbench, run: Run, tell: Tell, is_cancelled: Callable[[], bool]
) -> RecordedVolume | PanoramaPicture:
    """The image of a run, as finely as a learner's patience allows."""
    if bench.unit.is_panoramic:
        return take_panorama(bench, panorama_ask(bench, run), tell, is_cancelled)
    return record_volume(bench, ask_of_run(bench, run), tell, is_cancelled)
