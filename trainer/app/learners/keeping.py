"""Stores what a learner has finished, and knows what is kept of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.parts import said
from trainer.engine.judgement.tasks import task_of
from trainer.errors import TrainerError
from trainer.models.records import Learner, StoredAttempt
from trainer.models.scenario import Case

if TYPE_CHECKING:
    from trainer.app.learners.next_page import CaseSet
    from trainer.services.learning.view import Shelf
    from trainer.services.records.scorer import CaseScorer
    from trainer.services.records.store import Records
    from trainer.services.records.under_way import TakenIn


@dataclass(frozen=True, slots=True)
class Stored:
    """A learner's attempts after finished ones were taken in."""

    taken: TakenIn
    attempts: tuple[StoredAttempt, ...]


class Keeping(QObject):
    """What is kept of the learner who is signed in.

    ``attempts`` are theirs without logs, the oldest first; None until they have been read. ``left``
    are finished logs that could not be stored, each with the reason. ``case_set`` is the set of
    cases that was drawn last.

    Signals
    -------
    stored : int
        So many attempts were stored, and all are known anew.
    failed : str
        Storing failed, and why; every log is still in its folder.
    """

    stored = Signal(int)
    failed = Signal(str)

    def __init__(self, jobs: RecordJobs, parent: QObject) -> None:
        super().__init__(parent)
        self.jobs = jobs
        self.learner: Learner | None = None
        self.attempts: tuple[StoredAttempt, ...] | None = None
        self.left: tuple[tuple[Path, str], ...] = ()
        self.case_set: CaseSet | None = None
        self._own_cases: frozenset[Path] = frozenset()
        self._scorer: CaseScorer | None = None
        self._shelf: tuple[tuple[Path, ...], Shelf] | None = None

    def begin(self, learner: Learner | None) -> None:
        """From now on it is this learner; None for nobody."""
        self.learner, self.attempts, self.left, self.case_set = learner, None, (), None

    def note_case(self, path: Path) -> None:
        """The file of a case that an attempt was made at; it need not be in the library."""
        self._own_cases |= {path}

    def store(self, after: Callable[[], object] | None = None) -> None:
        """Take finished attempts in and read all anew; then ``after``, however it went."""
        learner = self.learner
        assert learner is not None
        self.jobs.ask(
            self,
            partial(self._take_in, learner),
            partial(self._on_stored, learner, after),
            partial(self._on_failed, after),
        )

    def history(self, case: Case) -> list[StoredAttempt] | None:
        """The learner's attempts at the case's task; None while they are not known."""
        if self.attempts is None:
            return None
        task = task_of(case)
        return [a for a in self.attempts if a.task is task]

    def shelf(self) -> Shelf:
        """The library's cases; read again when files came or went. For the thread of ``jobs``."""
        from trainer.services.learning.view import read_shelf
        from trainer.services.library import every_case

        files = tuple(sorted(every_case().values()))
        if self._shelf is None or self._shelf[0] != files:
            self._shelf = files, read_shelf()
        return self._shelf[1]

    def scorer(self) -> CaseScorer:
        """The scorer of all cases that are known. For the thread of ``jobs``."""
        from trainer.services.library import every_case
        from trainer.services.records.scorer import CaseScorer

        own = self._own_cases - set(every_case().values())
        if self._scorer is None or own:
            self._scorer = CaseScorer(sorted(own))
        return self._scorer

    def _take_in(self, learner: Learner, records: Records) -> Stored:
        from trainer.services.records.under_way import take_in_finished

        taken = take_in_finished(records, self.scorer(), learner.id)
        return Stored(taken, records.attempts(learner.id, with_logs=False))

    def _on_stored(
        self, learner: Learner, after: Callable[[], object] | None, found: Stored
    ) -> None:
        if self.learner is not None and self.learner.id == learner.id:
            self.attempts, self.left = found.attempts, found.taken.left
            self.stored.emit(len(found.taken.stored))
        if after is not None:
            after()

    def _on_failed(self, after: Callable[[], object] | None, error: TrainerError) -> None:
        if after is not None:
            after()
        self.failed.emit(said(error))
