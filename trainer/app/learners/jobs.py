"""Work with the records off the window's thread, one piece after the other."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal
from shiboken6 import isValid

from trainer.errors import NotReadable, TrainerError

if TYPE_CHECKING:
    from trainer.services.records.store import Records

log = logging.getLogger("trainer.app")

MISSING = (
    "Records need a library that is not installed ({}). Practising without a record works; "
    "install the program's records libraries to sign in."
)
UNFORESEEN = (
    "The records met an error that was not foreseen ({}). Nothing was changed by it as far as is "
    "known; run 'trainer verify'."
)
Work = Callable[["Records"], Any]
Told = Callable[[Any], object]
Trouble = Callable[[TrainerError], object]


class RecordJobs(QObject):
    """Does work with the records and tells how it went in the window's thread.

    What belongs to a widget that is gone by then is told to nobody.
    """

    _over = Signal(object, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.closed = False
        self._records: Records | None = None
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._over.connect(self._on_over)

    def ask(self, owner: QObject, work: Work, told: Told, trouble: Trouble) -> None:
        """Do the work with the open records; ``told`` gets its result, ``trouble`` the error."""
        self._pool.start(_Run(self, owner, work, told, trouble))

    def close(self) -> None:
        """Wait until all that was asked for is done; nobody is told any more."""
        self.closed = True
        self._pool.waitForDone()

    def do(self, owner: QObject, work: Work, told: Told, trouble: Trouble) -> None:
        """The work itself; runs in the thread."""
        try:
            found = work(self._open())
        except TrainerError as error:
            log.info("records", exc_info=True)
            self._over.emit(owner, trouble, error)
        except ImportError as error:
            self._over.emit(owner, trouble, TrainerError(MISSING.format(error.name)))
        except OSError as error:
            why = NotReadable(f"{error.strerror or error}. Nothing half was kept.")
            self._over.emit(owner, trouble, why)
        except Exception as error:
            log.exception("unforeseen")
            self._over.emit(owner, trouble, TrainerError(UNFORESEEN.format(type(error).__name__)))
        else:
            self._over.emit(owner, told, found)

    def _open(self) -> Records:
        """The records; where they cannot be opened, the next piece of work tries again."""
        from trainer.services.records.store import open_records

        if self._records is None:
            self._records = open_records()
        return self._records

    def _on_over(self, owner: QObject, tell: Callable[[Any], object], found: object) -> None:
        if not self.closed and isValid(owner):
            tell(found)


class _Run(QRunnable):
    def __init__(
        self, jobs: RecordJobs, owner: QObject, work: Work, told: Told, trouble: Trouble
    ) -> None:
        super().__init__()
        self._jobs, self._owner, self._work = jobs, owner, work
        self._told, self._trouble = told, trouble

    def run(self) -> None:
        self._jobs.do(self._owner, self._work, self._told, self._trouble)
