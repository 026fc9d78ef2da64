"""Open records: entries are added to a learner's chain and read back."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert, select
from sqlalchemy.exc import IntegrityError

from trainer.errors import NotAllowedNow, NotFound, NotReadable, NotValid
from trainer.models.records import (
    Learner,
    Observation,
    PanelEstimate,
    StoredAttempt,
    SupervisedCase,
)
from trainer.services.records import chain
from trainer.services.records.database import SAFE, Database
from trainer.services.records.entries import Entry, Kept, content_of, entry_of, kind_of
from trainer.services.records.forms import observation_faults, supervised_faults
from trainer.services.records.learners import Learners, row_of, write_row
from trainer.services.records.place import Place, place_of
from trainer.services.records.tables import ENTRIES
from trainer.services.records.upgrade import bring_up_to_date

ALL_BUT_LOG = tuple(c for c in ENTRIES.columns if c.name != "log")


def open_records(place: str | Path | None = None, make: bool = True) -> Records:
    """The records in a folder or on a server; made, or brought up to date, when they have to be.

    Parameters
    ----------
    place : str or Path, optional
        A folder, or an address ``postgresql+psycopg://user@computer/database``. Without one, what
        the environment variable ``TRAINER_RECORDS`` says, or else the user's own folder.
    make : bool
        Whether records that are not there are begun.

    Raises
    ------
    NotFound
        If there are none and ``make`` is false.
    NotReadable
        If they cannot be read, made or brought up to date; in words.
    TrainerError
        If the address is none.
    """
    where = place_of(place)
    if where.file is not None and not where.file.exists():
        if not make:
            raise NotFound(f"{where}: there are no records here")
        try:
            where.file.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            text = f"the folder cannot be made: {error.strerror or error}. {SAFE}"
            raise NotReadable(f"The records in {where}: {text}") from error
    database = Database(where)
    bring_up_to_date(database)
    return Records(database)


class Records:
    """Records of learners. No connection is kept: any thread may use them at any time.

    ``learners`` are the people; ``place`` is where everything lies.
    """

    def __init__(self, database: Database) -> None:
        self.database = database
        self.learners = Learners(database)

    @property
    def place(self) -> Place:
        """Where the records lie."""
        return self.database.place

    def add_attempt(self, attempt: StoredAttempt) -> bool:
        """Keeps an attempt; false when the very same one is kept already.

        Raises
        ------
        NotFound
            If there is no such learner.
        NotValid
            If another entry has its id.
        """
        return self._add(attempt)

    def attempts(
        self, learner_id: str, viewer: Learner | None = None, with_logs: bool = True
    ) -> tuple[StoredAttempt, ...]:
        """A learner's attempts, the first one first; ``with_logs`` false leaves the logs empty.

        Raises
        ------
        NotFound
            If there is no such learner.
        NotAllowedNow
            If there is a viewer who may not see the learner.
        """
        return self._of(StoredAttempt, learner_id, viewer, with_logs)

    def attempt(self, learner_id: str, attempt_id: str) -> StoredAttempt:
        """One attempt with its log; NotFound when there is none."""
        wanted = select(ENTRIES).where(
            ENTRIES.c.learner_id == learner_id,
            ENTRIES.c.id == attempt_id,
            ENTRIES.c.kind == kind_of(StoredAttempt),
        )
        with self.database.reading() as connection:
            row = connection.execute(wanted).mappings().first()
        if row is None:
            raise NotFound(f"no attempt {attempt_id!r} of learner {learner_id!r} in these records")
        return entry_of(StoredAttempt, dict(row))

    def group_attempts(self, viewer: Learner) -> dict[str, tuple[StoredAttempt, ...]]:
        """Attempts, without their logs, of everybody whom the viewer may see, by learner's id."""
        return self._of_all(StoredAttempt, viewer)

    def add_supervised(self, case: SupervisedCase, by: Learner) -> bool:
        """Keeps a supervised case that an instructor of the learner's group has written.

        Raises
        ------
        NotAllowedNow
            If ``by`` is no such instructor.
        NotValid
            With everything that is missing or wrong in the form.
        """
        return self._add_by(case, by, supervised_faults(case))

    def supervised(
        self, learner_id: str, viewer: Learner | None = None
    ) -> tuple[SupervisedCase, ...]:
        """A learner's supervised cases, the first one first; raises as `attempts`."""
        return self._of(SupervisedCase, learner_id, viewer)

    def add_observation(self, observation: Observation, by: Learner) -> bool:
        """Keeps an observation; raises as `add_supervised`."""
        return self._add_by(observation, by, observation_faults(observation))

    def observations(
        self, learner_id: str, viewer: Learner | None = None
    ) -> tuple[Observation, ...]:
        """A learner's observations, the first one first; raises as `attempts`."""
        return self._of(Observation, learner_id, viewer)

    def add_estimate(self, estimate: PanelEstimate, by: Learner) -> bool:
        """Keeps an instructor's own estimate.

        Raises
        ------
        NotAllowedNow
            If ``by`` is no instructor, or the estimate is another judge's.
        """
        if not by.is_instructor or estimate.judge_id != by.id:
            raise NotAllowedNow("Estimates of a panel are given by instructors, each their own.")
        return self._add(estimate)

    def estimates(self, viewer: Learner) -> tuple[PanelEstimate, ...]:
        """Estimates of every judge whom the viewer may see."""
        found = self._of_all(PanelEstimate, viewer)
        return tuple(estimate for own in found.values() for estimate in own)

    def _add_by(self, entry: SupervisedCase | Observation, by: Learner, faults: Any) -> bool:
        if not by.is_instructor or not self.learners.may_see(by, entry.learner_id):
            raise NotAllowedNow("Only an instructor of the same group can write this form.")
        if by.id == entry.learner_id:
            raise NotAllowedNow("Nobody supervises or observes themselves.")
        if faults:
            raise NotValid(faults)
        return self._add(entry)

    def _add(self, entry: Entry) -> bool:
        content = content_of(entry)
        with self.database.writing() as connection:
            learner = row_of(connection, content.owner, lock=True)
            if _is_there(connection, entry):
                return False
            row = {
                "learner_id": content.owner,
                "number": learner["entries"] + 1,
                "kind": content.kind,
                "id": content.id,
                "made_at": datetime.now(UTC).isoformat(),
                "body": content.body,
            }
            row["digest"] = chain.entry_digest(learner["head"], row, chain.sha256(content.log))
            try:
                connection.execute(insert(ENTRIES), {**row, "log": content.log})
            except IntegrityError:
                text = "its place in the chain, or its id, is taken"
                raise NotReadable(
                    f"The entry {content.id} cannot be kept: {text}. {SAFE} Run 'trainer verify'."
                ) from None
            write_row(connection, {**learner, "entries": row["number"], "head": row["digest"]})
        return True

    def _of(
        self,
        kind: type[Kept],
        learner_id: str,
        viewer: Learner | None = None,
        with_logs: bool = True,
    ) -> tuple[Kept, ...]:
        if viewer is not None and not self.learners.may_see(viewer, learner_id):
            raise NotAllowedNow("Only the learner and an instructor of the same group see this.")
        wanted = (
            select(*(ENTRIES.columns if with_logs else ALL_BUT_LOG))
            .where(ENTRIES.c.learner_id == learner_id, ENTRIES.c.kind == kind_of(kind))
            .order_by(ENTRIES.c.number)
        )
        with self.database.reading() as connection:
            row_of(connection, learner_id)
            rows = connection.execute(wanted).mappings().all()
        return tuple(entry_of(kind, dict(row)) for row in rows)

    def _of_all(self, kind: type[Kept], viewer: Learner) -> dict[str, tuple[Kept, ...]]:
        seen = [learner.id for learner in self.learners.all(seen_by=viewer)]
        wanted = (
            select(*ALL_BUT_LOG)
            .where(ENTRIES.c.kind == kind_of(kind), ENTRIES.c.learner_id.in_(seen))
            .order_by(ENTRIES.c.number)
        )
        with self.database.reading() as connection:
            rows = connection.execute(wanted).mappings().all()
        found: dict[str, list[Kept]] = defaultdict(list)
        for row in rows:
            found[row["learner_id"]].append(entry_of(kind, dict(row)))
        return {learner_id: tuple(found[learner_id]) for learner_id in seen}


def _is_there(connection: Connection, entry: Entry) -> bool:
    """Whether the entry is kept already; NotValid when another one has its id."""
    content = content_of(entry)
    row = connection.execute(select(ENTRIES).where(ENTRIES.c.id == content.id)).mappings().first()
    if row is None:
        return False
    same = (row["learner_id"], row["kind"]) == (content.owner, content.kind)
    if isinstance(entry, StoredAttempt):
        same = same and bytes(row["log"]) == content.log  # the log decides all the rest
    else:
        same = same and row["body"] == content.body
    if not same:
        raise NotReadable(f"Another entry has the id {content.id}. {SAFE} Run 'trainer verify'.")
    return True
