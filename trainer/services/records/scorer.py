"""Scores computed from logs: when attempts are taken in, and again whenever they are verified."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Protocol

from trainer.errors import NotFound, TrainerError
from trainer.models.records import StoredAttempt
from trainer.services.appointment import PROGRAM_VERSION, stranger
from trainer.services.attempt_log import Header, parse_log
from trainer.services.library import units_for
from trainer.services.scenario_io import load_case
from trainer.services.workbench import Workbench, open_workbench

FROM_THE_LOG = "the attempt's log"


class CannotRecompute(TrainerError):
    """A log that may be sound, but whose case or program is not the one it was made with."""


class Scorer(Protocol):
    """Gives the attempt that a finished log stands for.

    Raises
    ------
    CannotRecompute
        If the case is not here, or case or program have been changed since.
    TrainerError
        If the log is at fault.
    """

    def __call__(
        self, log: bytes, *, attempt_id: str, learner_id: str, finished_at: datetime
    ) -> StoredAttempt: ...


class CaseScorer:
    """Scores logs at the shipped cases and at cases of one's own, which are named by their files.

    Every case is opened once.
    """

    def __init__(self, case_files: Iterable[Path] = ()) -> None:
        self._files = tuple(case_files)
        self._own: dict[str, Path] | None = None
        self._benches: dict[str, Workbench] = {}

    def __call__(
        self, log: bytes, *, attempt_id: str, learner_id: str, finished_at: datetime
    ) -> StoredAttempt:
        """The attempt of the log; raises as `Scorer`."""
        from trainer.services.scoring import stored_attempt

        header = parse_log(log, FROM_THE_LOG).header
        bench = self._bench(header)
        try:
            return stored_attempt(
                log, bench, attempt_id=attempt_id, learner_id=learner_id, finished_at=finished_at
            )
        except TrainerError as error:
            if header.program == PROGRAM_VERSION:
                raise
            raise CannotRecompute(
                f"the attempt was made with version {header.program} of the program, and version "
                f"{PROGRAM_VERSION} does not do its commands the same way ({error})"
            ) from error

    def _bench(self, header: Header) -> Workbench:
        """The case of the log as it was then; raises CannotRecompute."""
        if self._own is None:
            self._own = {load_case(path, units_for(path)).id: path for path in self._files}
        if header.case not in self._benches:
            try:
                bench = open_workbench(str(self._own.get(header.case, header.case)))
            except NotFound:
                raise CannotRecompute(f"its case {header.case} is not on this computer") from None
            except TrainerError as error:
                raise CannotRecompute(
                    f"its case {header.case} cannot be opened: {error}"
                ) from error
            self._benches[header.case] = bench
        bench = self._benches[header.case]
        fault = stranger(header, bench)
        if fault is not None:
            raise CannotRecompute(fault.text)
        return bench
