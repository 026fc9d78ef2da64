"""A learner erased: nothing of theirs stays in the records' files."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from sqlalchemy import delete, text

from trainer.errors import NotReadable
from trainer.services.records.database import Database
from trainer.services.records.learners import row_of
from trainer.services.records.store import Records
from trainer.services.records.tables import ENTRIES, LEARNERS
from trainer.services.records.under_way import attempts_folder_of, hold, logs_under_way
from trainer.services.records.upgrade import migration_copies

ELSEWHERE = (
    "Not reached from here: copies and exports made before, and what others have written about "
    "this person in their own records. A solid-state disk may keep blocks that no file shows."
)
ON_SERVER = (
    "The server itself may keep the rows for a while, in its write-ahead log, replicas and "
    "backups: ask who runs it when those expire. Logs on other computers are removed there."
)


def erase_learner(records: Records, learner_id: str) -> str:
    """Removes a learner with every entry and every log; words on what that does not reach.

    In a file, what was removed is written over with zeros and the file is written anew. On a
    server the rows are deleted and both tables rewritten, if this user may do that.

    Raises
    ------
    NotFound
        If there is no such learner.
    NotAllowedNow
        If an attempt of theirs is open in a window: nothing is removed then.
    NotReadable
        If something could not be removed; it says what, and doing it again goes on from there.
    """
    folder = attempts_folder_of(records, learner_id)
    for path in logs_under_way(records, learner_id):
        hold(path).close()
    with records.database.writing() as connection:
        learner = row_of(connection, learner_id, lock=True)
        # Files first: when one cannot be removed the learner is still there to be erased again.
        _remove(folder)
        connection.execute(delete(ENTRIES).where(ENTRIES.c.learner_id == learner_id))
        connection.execute(delete(LEARNERS).where(LEARNERS.c.id == learner_id))
    words = [f"{learner['pseudonym']} is erased: profile, {learner['entries']} entries, all logs."]
    if records.place.folder is not None:
        for copy in migration_copies(records.place.folder):
            _overwrite(copy)
        with records.database.outside() as connection:
            connection.exec_driver_sql("VACUUM")
    else:
        words += [_rewritten(records.database), ON_SERVER]
    return " ".join([*words, ELSEWHERE])


def _rewritten(database: Database) -> str:
    """Writes the server's two tables anew without the deleted rows, or says why not."""
    try:
        with database.outside() as connection:
            for table in (ENTRIES, LEARNERS):
                connection.execute(text(f"VACUUM (FULL) {table.name}"))
    except NotReadable:
        return "The server did not let the tables be rewritten; its own clean-up will do it later."
    return "The server's tables were rewritten."


def _remove(folder: Path) -> None:
    """Removes a learner's folder, each file written over first."""
    if not folder.exists():
        return
    try:
        for path in folder.iterdir():
            if path.is_file() and not path.is_symlink():
                _overwrite(path)
        shutil.rmtree(folder)
    except OSError as error:
        raise NotReadable(
            f"{error.filename or folder}: cannot be removed: {error.strerror or error}. The "
            "learner is still in the records; make the folder writable and erase again."
        ) from error


def _overwrite(path: Path) -> None:
    """Removes a file after its bytes were replaced by zeros."""
    with path.open("r+b") as file:
        file.write(bytes(path.stat().st_size))
        file.flush()
        os.fsync(file.fileno())
    path.unlink()
