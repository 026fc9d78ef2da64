"""Databases are begun, brought up to date, or refused; a failure leaves them whole."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from helpers.records import NOW, attempt_of, made_score, open_only, start
from sqlalchemy import inspect, text

from trainer.errors import NotReadable
from trainer.services.records.database import Database
from trainer.services.records.place import place_of
from trainer.services.records.store import Records, open_records
from trainer.services.records.tables import METADATA
from trainer.services.records.upgrade import HEAD, MIGRATIONS, bring_up_to_date, migration_copies
from trainer.services.records.verify import verify_records

BROKEN = '''"""A step that fails half-way."""

from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.execute("CREATE TABLE half_way (id TEXT)")
    op.execute("UPDATE learners SET pseudonym = 'nobody'")
    op.execute("SELECT * FROM no_such_table")
'''


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """The program's migrations and one that fails."""
    folder = tmp_path / "migrations"
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "0003_broken.py").write_text(BROKEN, encoding="utf-8")
    return folder


def sha256(path: Path) -> str:
    """The file's hash."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_migrations_lead_to_the_tables_that_the_program_uses(records):
    """From an empty database, the schema's and the tables' own descriptions agree."""
    with records.database.reading() as connection:
        differences = compare_metadata(MigrationContext.configure(connection), METADATA)
    assert differences == []


def test_the_newest_migration_is_the_one_the_program_names():
    """One line of steps, and its end is `HEAD`."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    assert ScriptDirectory.from_config(config).get_heads() == [HEAD]


def test_records_of_the_first_form_are_brought_up_to_date(place):
    """Everything in them is there afterwards, sound, and the index has been made."""
    database = Database(place_of(place))
    if database.place.folder:
        database.place.folder.mkdir()
    bring_up_to_date(database, to="0001")
    old = Records(database)
    heron = old.learners.add("Heron 12", now=NOW)
    old.add_attempt(attempt_of(heron))
    with database.reading() as connection:
        names = {index["name"] for index in inspect(connection).get_indexes("entries")}
    assert "entries_by_kind" not in names
    new = open_records(place)
    assert new.attempts(heron.id) == (attempt_of(heron),)
    assert verify_records(new, made_score).findings == ()
    with new.database.reading() as connection:
        names = {index["name"] for index in inspect(connection).get_indexes("entries")}
    assert "entries_by_kind" in names
    if new.place.folder:
        assert migration_copies(new.place.folder) == ()


def test_a_step_that_fails_leaves_everything_as_it_was(place, broken):
    """No table, no row, no byte of the file is changed, and the message says so."""
    records = open_records(place)
    heron = records.learners.add("Heron 12", now=NOW)
    file = records.place.file
    before = sha256(file) if file else ""
    with pytest.raises(NotReadable, match="could not be brought to this program's form") as told:
        bring_up_to_date(records.database, broken, to="0003")
    assert "Nothing was changed" in str(told.value)
    assert open_records(place).learners.all() == (heron,)
    with records.database.reading() as connection:
        assert not inspect(connection).has_table("half_way")
    if file:
        assert sha256(file) == before
        (copy,) = migration_copies(file.parent)
        assert str(copy) in str(told.value)
        with closing(sqlite3.connect(copy)) as old:
            assert old.execute("SELECT pseudonym FROM learners").fetchall() == [("Heron 12",)]


def test_records_of_a_newer_program_are_refused(place):
    """Opening them changes nothing and says which program to use."""
    records = open_records(place)
    with records.database.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0099'"))
    before = sha256(records.place.file) if records.place.file else ""
    with pytest.raises(NotReadable, match=r"newer program \(form 0099; this one knows up to 0002"):
        open_records(place)
    if records.place.file:
        assert sha256(records.place.file) == before


@pytest.mark.parametrize(
    "change", ["DELETE FROM alembic_version", "UPDATE alembic_version SET version_num = 'x'"]
)
def test_a_lost_mark_of_the_form_is_told(place, change):
    """Records whose form nobody knows are left alone."""
    records = open_records(place)
    with records.database.writing() as connection:
        connection.execute(text(change))
    with pytest.raises(NotReadable, match="the mark that says their form is missing or changed"):
        open_records(place)


def test_many_programs_may_begin_the_same_records(place):
    """Eight that open a new place at once all add their profile."""
    clients = [start(open_only, place, f"Jay {n}") for n in range(8)]
    for client in clients:
        client.join()
    assert [client.exitcode for client in clients] == [0] * 8
    assert len(open_records(place).learners.all()) == 8
