"""Logs of attempts under way: where each learner's lie, who has one open, finished ones taken in.

A finished log is removed only after the database has reported it kept. A kill between the two
leaves both, and the next start finds that the attempt is kept already: its id is made of learner
and log.
"""

from __future__ import annotations

import contextlib
import os
import re
import sys
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from trainer.errors import NotAllowedNow, NotReadable, TrainerError
from trainer.models.appointment_commands import Finish
from trainer.models.records import StoredAttempt
from trainer.services.attempt_log import Log, parse_log
from trainer.services.records.scorer import Scorer
from trainer.services.records.store import Records

LEARNER_ID = re.compile(r"[0-9a-f]{32}")  # the name of a learner's folder
ATTEMPT_IDS = uuid.UUID("6f0c2c3e-5a8f-4c0e-9a51-0c8de6a7f2b4")  # any fixed one of our own
# Windows locks bytes for everybody: one far behind the log's end locks nothing that is written.
LOCKED_BYTE = 0x7FFF0000


def attempts_folder_of(records: Records, learner_id: str) -> Path:
    """Where the learner's logs are kept while they are under way; it need not exist yet.

    Raises
    ------
    TrainerError
        If the id is none that this program has given.
    """
    if not LEARNER_ID.fullmatch(learner_id):
        raise TrainerError(f"{learner_id!r} is no learner's id")
    return records.place.attempts / learner_id


def logs_under_way(records: Records, learner_id: str) -> tuple[Path, ...]:
    """The learner's logs in that folder, the first one first."""
    return tuple(sorted(attempts_folder_of(records, learner_id).glob("*.log")))


class Held:
    """A log that this program has open, and no other; close it after."""

    def __init__(self, path: Path, handle: int) -> None:
        self.path = path
        self._handle: int | None = handle

    def close(self) -> None:
        """Lets others open the log."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def __enter__(self) -> Held:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def hold(path: Path) -> Held:
    """Holds a log for as long as an attempt is open; a killed program lets go by itself.

    Raises
    ------
    NotAllowedNow
        If another window holds it.
    NotReadable
        If there is no such log.
    """
    try:
        handle = os.open(path, os.O_RDWR)
    except OSError as error:
        raise NotReadable(f"{path}: cannot be opened: {error.strerror or error}") from error
    try:
        _lock(handle)
    except OSError:
        os.close(handle)
        raise NotAllowedNow(
            f"{path.name} is open in another window. Go on there, or close it first."
        ) from None
    return Held(path, handle)


def _lock(handle: int) -> None:
    """Locks the whole file among programs that ask; OSError when another one has it."""
    if sys.platform == "win32":
        import msvcrt

        os.lseek(handle, LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Attempts that were stored, and logs that were left where they are, each with the reason."""

    stored: tuple[StoredAttempt, ...]
    left: tuple[tuple[Path, str], ...]


def take_in_finished(records: Records, scorer: Scorer, learner_id: str | None = None) -> TakenIn:
    """Stores every finished log that is not stored yet, of one learner or of all.

    Logs that are not finished, or open in a window, are left without a word.

    Raises
    ------
    NotReadable
        If the records cannot be written; every log is still in its folder then.
    """
    ids = [learner_id] if learner_id else [learner.id for learner in records.learners.all()]
    stored, left = [], []
    for each in ids:
        for path in logs_under_way(records, each):
            try:
                log = parse_log(path.read_bytes(), path.name)
            except FileNotFoundError:
                continue  # another window has just taken it in
            except (TrainerError, OSError) as error:
                left.append((path, str(error)))
                continue
            if not is_finished(log):
                continue
            try:
                stored.append(take_in(records, each, path, scorer))
            except NotAllowedNow:
                continue
            except NotReadable:
                if path.exists():
                    raise
            except TrainerError as error:
                left.append((path, str(error)))
    return TakenIn(tuple(stored), tuple(left))


def take_in(records: Records, learner_id: str, path: Path, scorer: Scorer) -> StoredAttempt:
    """Stores a finished log and removes its file after that.

    Raises
    ------
    NotAllowedNow
        If another window has it open.
    NotReadable
        If log or records cannot be read or written; the log stays.
    TrainerError
        If the log is not finished, is at fault, or cannot be scored; the log stays.
    """
    with hold(path):
        data = path.read_bytes()
        log = parse_log(data, path.name)
        if log.fault is not None and not log.fault.torn:
            raise TrainerError(f"{path.name}: {log.fault}")
        if not is_finished(log):
            raise TrainerError(f"{path.name}: the attempt is not finished")
        data = data[: log.good_bytes]
        attempt = scorer(
            data,
            attempt_id=attempt_id(learner_id, data),
            learner_id=learner_id,
            finished_at=datetime.fromtimestamp(path.stat().st_mtime, UTC),
        )
        records.add_attempt(attempt)
        with contextlib.suppress(PermissionError):  # Windows removes no file that is held
            path.unlink()
    path.unlink(missing_ok=True)
    return attempt


def attempt_id(learner_id: str, log: bytes) -> str:
    """The id of a finished attempt: always the same for a learner's log."""
    return uuid.uuid5(ATTEMPT_IDS, learner_id + log.hex()).hex


def is_finished(log: Log) -> bool:
    """Whether the appointment was ended: a prediction may stand after that."""
    return any(isinstance(entry.command, Finish) for entry in log.entries)
