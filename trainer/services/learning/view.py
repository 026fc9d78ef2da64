"""What a learner's pages show, gathered from records and library in one go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from trainer.engine.appointment.state import AppointmentState
from trainer.engine.learning.next_case import Skill, skills
from trainer.engine.learning.practice import PracticeCase, practice_case
from trainer.errors import TrainerError
from trainer.models.records import Learner, Observation, StoredAttempt, SupervisedCase
from trainer.services.appointment import context_of, stranger
from trainer.services.attempt_log import parse_log, replay
from trainer.services.learning.report import LearnerReport, learner_report
from trainer.services.library import every_case, units_for
from trainer.services.records.store import Records
from trainer.services.scenario_io import load_case
from trainer.services.workbench import Workbench, open_workbench


@dataclass(frozen=True, slots=True)
class Shelf:
    """Every case that can be practised, and the titles of all cases by id."""

    cases: tuple[PracticeCase, ...]
    titles: Mapping[str, str]

    def title(self, case_id: str) -> str:
        """The case's title, or its id where it is not on this computer."""
        return self.titles.get(case_id, case_id)


@dataclass(frozen=True, slots=True)
class LearnerView:
    """A learner's work: simulated attempts without their logs, and apart from them the forms.

    ``attempts`` the oldest first; ``skills`` the weakest first.
    """

    learner: Learner
    attempts: tuple[StoredAttempt, ...]
    report: LearnerReport
    skills: tuple[Skill, ...]
    supervised: tuple[SupervisedCase, ...]
    observations: tuple[Observation, ...]


@dataclass(frozen=True, slots=True)
class Review:
    """A stored attempt replayed from its log."""

    attempt: StoredAttempt
    bench: Workbench
    state: AppointmentState


def read_shelf() -> Shelf:
    """The shelf of the library; a faulty file is left out ('trainer check' tells what is wrong).

    Reads every case: about a second.
    """
    cases, titles = [], {}
    for path in every_case().values():
        try:
            case = load_case(path, units_for(path))
        except TrainerError:
            continue
        titles[case.id] = case.text(case.title)
        if case.visit is not None:
            cases.append(practice_case(case))
    return Shelf(tuple(cases), titles)


def learner_view(
    records: Records, learner: Learner, viewer: Learner, shelf: Shelf, now: datetime
) -> LearnerView:
    """What the viewer may see of a learner at ``now`` (UTC).

    Raises
    ------
    NotAllowedNow
        If the viewer may not see the learner.
    NotFound
        If there is no such learner, or no case to practise.
    NotReadable
        If the records cannot be read.
    """
    attempts = records.attempts(learner.id, viewer, with_logs=False)
    return LearnerView(
        learner,
        attempts,
        learner_report(shelf.cases, attempts, now),
        skills(shelf.cases, attempts),
        records.supervised(learner.id, viewer),
        records.observations(learner.id, viewer),
    )


def review(records: Records, learner_id: str, attempt_id: str) -> Review:
    """A stored attempt replayed, for its debrief.

    Raises
    ------
    NotFound
        If there is no such attempt.
    TrainerError
        If its case is not here or has been changed since, or the log is at fault.
    """
    attempt = records.attempt(learner_id, attempt_id)
    bench = open_workbench(attempt.case_id)
    log = parse_log(attempt.log, "the attempt's log")
    fault = stranger(log.header, bench)
    if fault is None:
        done = replay(log, context_of(bench))
        fault = done.fault
    if fault is not None:
        raise TrainerError(
            f"This attempt cannot be shown again: {fault.text}. Its points stay as they were "
            "stored, and its log is kept."
        )
    return Review(attempt, bench, done.state)
