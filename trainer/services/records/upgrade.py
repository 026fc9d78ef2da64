"""Brings a records database to the form that this program reads, or refuses in words.

The steps are Alembic migrations in ``migrations/``, all done in one transaction: a step that fails
leaves the database as it was. A file is copied first all the same; the copy goes when all is done.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, inspect, text

from trainer.errors import NotReadable
from trainer.services.records.database import SAFE, Database

HEAD = "0002"  # the newest migration
MIGRATIONS = Path(__file__).parent / "migrations"
COPY_SUFFIX = ".before-"  # and the revision: a copy that is made before migrating
VERSION_TABLE = "alembic_version"
LOCK = 20_260_719  # any number of our own: one program migrates a server at a time


def bring_up_to_date(database: Database, migrations: Path = MIGRATIONS, to: str = HEAD) -> None:
    """Makes the tables, or changes those of an older program; does nothing when all is new.

    Raises
    ------
    NotReadable
        If the database cannot be read or written, is of a newer program, or holds something else.
    """
    with database.reading() as connection:
        if _revision(connection, database) == to:
            return
    copy: Path | None = None
    with database.writing() as connection:
        if not database.is_file:
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        before = _revision(connection, database)
        if before == to:
            return  # another program was quicker
        if database.is_file and before:
            copy = _copied(database, before)
        try:
            _migrate(connection, migrations, to)
        except Exception as error:
            kept = f" A copy from before is in {copy}." if copy else ""
            raise NotReadable(
                f"The records in {database.place} could not be brought to this program's form: "
                f"{error}. {SAFE}{kept} Go on with the program you used before, and report this."
            ) from error
    if copy:
        copy.unlink(missing_ok=True)


def migration_copies(folder: Path) -> tuple[Path, ...]:
    """Copies in the folder that migrations left which did not come to their end."""
    return tuple(sorted(folder.glob(f"*{COPY_SUFFIX}*")))


def _revision(connection: Connection, database: Database) -> str:
    """The migration that the database stands at; empty for a new one."""
    tables = set(inspect(connection).get_table_names())
    found = None
    if VERSION_TABLE in tables:
        found = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    elif "learners" not in tables:
        return ""
    if found is None or not str(found).isdecimal():
        raise NotReadable(
            f"The records in {database.place}: the mark that says their form is missing or "
            f"changed. {SAFE} Put the last backup in their place."
        )
    if int(found) > int(HEAD):
        raise NotReadable(
            f"The records in {database.place} were written by a newer program (form {found}; this "
            f"one knows up to {HEAD}). {SAFE} Use that program, or update this one."
        )
    return str(found)


def _copied(database: Database, revision: str) -> Path:
    file = database.place.file
    assert file is not None
    copy = file.with_name(f"{file.name}{COPY_SUFFIX}{revision}")
    copy.unlink(missing_ok=True)
    copy_file(file, copy)
    return copy


def copy_file(file: Path, copy: Path) -> None:
    """Copies a database file as it is at one moment, while others may use it.

    Raises
    ------
    NotReadable
        If it cannot be read or the copy not be written; a half copy is removed.
    """
    try:
        with (
            closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as old,
            closing(sqlite3.connect(copy)) as new,
        ):
            old.backup(new)
    except sqlite3.Error as error:
        copy.unlink(missing_ok=True)
        raise NotReadable(f"{copy}: the copy cannot be written: {error}. {SAFE}") from error


def _migrate(connection: Connection, migrations: Path, to: str) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, to)
