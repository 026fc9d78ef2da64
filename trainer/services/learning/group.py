"""An instructor's group, gathered from the records: simulation and supervised work, never mixed."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from trainer.engine.judgement.table import ROWS
from trainer.engine.statistics.rejects import Rejects, supervised_rejects
from trainer.errors import NotAllowedNow, TrainerError
from trainer.models.learning import Block
from trainer.models.records import (
    Learner,
    Observation,
    PanelEstimate,
    StoredAttempt,
    SupervisedCase,
)
from trainer.services.learning.group_report import case_items, group_text, group_view, items_text
from trainer.services.learning.standards_report import standards_report, standards_text
from trainer.services.learning.supervised_count import count_text, supervised_count
from trainer.services.records.retention import overdue
from trainer.services.records.store import Records


@dataclass(frozen=True, slots=True)
class Group:
    """The learners whom an instructor sees, by pseudonym, and what is kept of them.

    ``attempts`` are simulated; ``supervised`` and ``observations`` are supervisors' words.
    """

    people: tuple[Learner, ...]
    attempts: tuple[StoredAttempt, ...]
    supervised: tuple[SupervisedCase, ...]
    observations: tuple[Observation, ...]
    estimates: tuple[PanelEstimate, ...]

    def name(self, learner_id: str) -> str:
        """The pseudonym of one of the people."""
        return next((p.pseudonym for p in self.people if p.id == learner_id), learner_id)

    def simulated(self) -> str:
        """The group without names, in words; simulated attempts only."""
        return group_text(group_view(self.attempts))

    def simulated_rejects(self) -> Rejects | None:
        """Rejects of the unassisted attempts; None where too few people stand behind them."""
        return group_view(self.attempts).rejects

    def supervised_rejects(self) -> Rejects:
        """Rejects of the supervised examinations."""
        return supervised_rejects(self.supervised)

    def items(self, case_id: str) -> str:
        """How the score's rows worked at a case, or why that is not shown."""
        try:
            return items_text(case_items(self.attempts, case_id))
        except TrainerError as error:
            return str(error)

    def standards(self, title: Callable[[str], str]) -> str:
        """Pass marks, agreement and reliability with their warnings; cases by their titles."""
        report = standards_report(self.attempts, self.observations, self.estimates, ())
        return standards_text(report, with_supervised=False, title=title)

    def counted(self, learner_id: str) -> str:
        """How far one learner's supervised work has come, in words."""
        cases = [c for c in self.supervised if c.learner_id == learner_id]
        watched = [o for o in self.observations if o.learner_id == learner_id]
        return count_text(supervised_count(cases, watched))


def group_of(records: Records, instructor: Learner) -> Group:
    """Everything the instructor sees of the group.

    Raises
    ------
    NotAllowedNow
        If this is no instructor.
    NotReadable
        If the records cannot be read.
    """
    if not instructor.is_instructor:
        raise NotAllowedNow(f"{instructor.pseudonym} is no instructor, so has no group to see.")
    people = tuple(p for p in records.learners.all(instructor) if not p.is_instructor)
    attempts = records.group_attempts(instructor)
    return Group(
        people,
        tuple(a for p in people for a in attempts.get(p.id, ())),
        tuple(c for p in people for c in records.supervised(p.id, instructor)),
        tuple(o for p in people for o in records.observations(p.id, instructor)),
        records.estimates(instructor),
    )


def judged_rows() -> tuple[tuple[Block, str, str], ...]:
    """Block, key and name of every row of a score that a panel may judge."""
    return tuple((row.block, row.key, row.name) for row in ROWS)


def keep_estimates(
    records: Records,
    judge: Learner,
    panel: str,
    case_id: str,
    percents: Mapping[str, int],
    on: date,
) -> int:
    """Keeps a judge's estimates, percent by item; how many.

    Raises
    ------
    TrainerError
        If panel, case or estimates are missing.
    NotAllowedNow
        If the judge is no instructor.
    NotReadable
        If the records cannot be written.
    """
    if not (panel.strip() and case_id and percents):
        raise TrainerError("Name the panel, choose a case, and give at least one estimate.")
    for item, percent in percents.items():
        entry = PanelEstimate(
            uuid.uuid4().hex, judge.id, panel.strip(), case_id, item, percent / 100.0, on
        )
        records.add_estimate(entry, judge)
    return len(percents)


def overdue_text(records: Records, people: tuple[Learner, ...], months: int, now: datetime) -> str:
    """Who of these people has been kept for longer than ``months``; nobody is erased by itself."""
    seen = {p.id for p in people}
    found = [each for each in overdue(records, months, now) if each.learner.id in seen]
    if not found:
        return f"Nobody has been kept for more than {months} months without anything new."
    lines = [f"{each.learner.pseudonym}: nothing new since {each.last_active}" for each in found]
    return "\n".join([f"Kept for more than {months} months without anything new:", *lines])
