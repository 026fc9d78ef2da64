"""The records' database: connections, transactions, and its errors in words.

SQLite keeps its default journal rather than a write-ahead log: between two writes the one file is
complete, so a copied folder is a backup, a folder that cannot be written can still be read, and
nothing of an erased learner stays in a second file. Every change takes the write lock at once
(``BEGIN IMMEDIATE``) and waits for others, so two programs never fail each other half-way. A
folder on a network drive is not safe with SQLite, whose locks such drives may not keep: use a
server there.

No connection is kept between two pieces of work.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from trainer.errors import NotReadable
from trainer.services.records.place import Place

WAIT_S = 60  # for other programs' writes: 20 clients that write at once take a few seconds
CONNECT_S = 10  # for a server's answer

SAFE = "Nothing was changed, and attempts under way stay in their own logs."
# Beginnings of SQLite's names for errors, and what each means.
SQLITE_WORDS = (
    ("SQLITE_FULL", "the disk is full", "Make room on it, then do it again."),
    (
        "SQLITE_READONLY",
        "the folder cannot be written",
        "Let your user write there, or name another folder with TRAINER_RECORDS.",
    ),
    (
        "SQLITE_CANTOPEN",
        "the database file cannot be opened or made",
        "Let your user read and write there, or name another folder with TRAINER_RECORDS.",
    ),
    (
        "SQLITE_BUSY",
        f"another program has been writing for more than {WAIT_S} s",
        "Close other windows of the trainer, then do it again.",
    ),
    (
        "SQLITE_IOERR",
        "the disk does not take or give the data",
        "Look whether it is full, unplugged or failing, then do it again.",
    ),
    (
        "SQLITE_CORRUPT",
        "the database file is damaged",
        "Keep it as it is, copy it away, and put the folder's last backup in its place.",
    ),
    (
        "SQLITE_NOTADB",
        "the database file is damaged, or is no database",
        "Keep it as it is, copy it away, and put the folder's last backup in its place.",
    ),
)


class Database:
    """Reads and writes in transactions; every fault is told as `NotReadable`."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.is_file = place.folder is not None
        self._engine = _engine(place)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction in which everything read is of one moment."""
        level = {} if self.is_file else {"isolation_level": "REPEATABLE READ"}
        with self._told(), self._engine.connect() as connection:
            connection.execution_options(**level)
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is kept whole, or not at all."""
        with self._told(), self._engine.connect() as connection:
            connection.execution_options(trainer_begin="BEGIN IMMEDIATE")
            with connection.begin():
                yield connection

    @contextmanager
    def outside(self) -> Iterator[Connection]:
        """A connection outside of any transaction, for what can only be done there."""
        with self._told(), self._engine.connect() as connection:
            connection.execution_options(isolation_level="AUTOCOMMIT", trainer_begin="")
            yield connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except SQLAlchemyError as error:
            raise NotReadable(words_of(error, self.place)) from error
        except UnicodeError as error:
            text = f"they hold bytes that are no text. {SAFE} Run 'trainer verify' on them."
            raise NotReadable(f"The records in {self.place}: {text}") from error


def words_of(error: SQLAlchemyError, place: Place) -> str:
    """What happened to the records, what is safe and what to do."""
    cause = error.orig if isinstance(error, DBAPIError) else None
    if isinstance(cause, sqlite3.Error):
        name = getattr(cause, "sqlite_errorname", "")
        for start, what, todo in SQLITE_WORDS:
            if name.startswith(start):
                return f"The records in {place}: {what}. {SAFE} {todo}"
    if place.folder is None and cause is not None and type(cause).__name__ == "OperationalError":
        told = str(cause).strip().splitlines()
        what = f"the database server did not answer ({told[0] if told else 'no reason given'})"
        todo = "Look at the network and the address, or ask who runs the server; then do it again."
        return f"The records at {place}: {what}. {SAFE} {todo}"
    text = f"the database refused ({cause or error})".replace("\n", " ")
    return f"The records at {place}: {text}. {SAFE} Run 'trainer verify' on them."


def _engine(place: Place) -> Engine:
    if place.folder is None:
        options: dict[str, Any] = {"connect_timeout": CONNECT_S}
        return create_engine(place.url, poolclass=NullPool, connect_args=options)
    engine = create_engine(place.url, poolclass=NullPool, connect_args={"timeout": WAIT_S})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: Any, _: object) -> None:
    connection.isolation_level = None  # transactions begin where `_begin` says so
    connection.text_factory = _text
    for setting in (
        "foreign_keys = ON",
        "secure_delete = ON",  # what is deleted is written over with zeros
        "synchronous = EXTRA",  # a change that was reported done survives a power cut
        "temp_store = MEMORY",  # no copies of rows in temporary files
    ):
        connection.execute(f"PRAGMA {setting}")


def _text(data: bytes) -> str:
    """A text; a byte that is none stays as it is, so that verifying reads on and finds it."""
    return data.decode("utf-8", "surrogateescape")


def _begin(connection: Connection) -> None:
    word = connection.get_execution_options().get("trainer_begin", "BEGIN")
    if word:
        connection.exec_driver_sql(word)
