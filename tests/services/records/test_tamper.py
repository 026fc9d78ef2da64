"""What is changed behind the program's back is found: in rows, logs, files and exports.

Scores are computed with the real scorer from a shipped solution's commands; it is asked once for
each log, since it gives the same for the same log (`test_scorer`).
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import cache
from pathlib import Path

import pytest
from helpers.records import (
    NOW,
    PIN,
    attempt_of,
    estimate_of,
    made_log,
    made_score,
    observation_of,
    put_under_way,
    supervised_of,
)
from sqlalchemy import text

from trainer.errors import NotReadable, TrainerError
from trainer.models.records import StoredAttempt
from trainer.services.appointment import play
from trainer.services.command_list import load_commands
from trainer.services.records import chain
from trainer.services.records.entries import content_of
from trainer.services.records.export import export_files, export_learner
from trainer.services.records.scorer import CannotRecompute, CaseScorer, Scorer
from trainer.services.records.store import open_records
from trainer.services.records.under_way import attempt_id, attempts_folder_of
from trainer.services.records.verify import verify, verify_records
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import open_workbench

SOLUTION = SOLUTIONS / "lower_third_molar.yaml"
TABLES = {"entries": ("learner_id", "number"), "learners": ("id",)}  # with their keys


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The log of a whole appointment at a shipped case."""
    path = tmp_path_factory.mktemp("played") / "attempt.log"
    commands = load_commands(SOLUTION)
    play(commands, open_workbench(commands.case), path, str(SOLUTION))
    return path.read_bytes()


@pytest.fixture(scope="module")
def scorer() -> Scorer:
    """The real scorer, which remembers its answers."""
    ask = CaseScorer()

    @cache
    def answer(log: bytes, attempt_id: str, learner_id: str, finished_at) -> StoredAttempt:
        return ask(log, attempt_id=attempt_id, learner_id=learner_id, finished_at=finished_at)

    def again(log: bytes, *, attempt_id: str, learner_id: str, finished_at) -> StoredAttempt:
        return answer(log, attempt_id, learner_id, finished_at)

    return again


@pytest.fixture
def kept(records, learner, instructor, log, scorer):
    """Records with two attempts, one of them scored for real, forms, and a log under way."""
    attempt = scorer(
        log, attempt_id=attempt_id(learner.id, log), learner_id=learner.id, finished_at=NOW
    )
    records.add_attempt(attempt)
    records.add_supervised(supervised_of(learner), instructor)
    records.add_observation(observation_of(learner), instructor)
    records.add_estimate(estimate_of(instructor), instructor)
    put_under_way(records, learner, [5])
    return records


def changed(records, scorer: Scorer) -> bool:
    """Whether verifying finds anything, or cannot even read the records."""
    try:
        return bool(verify_records(records, scorer).findings)
    except NotReadable:
        return True


def test_records_that_nobody_touched_are_sound(kept, scorer):
    """Everything is looked at, every score computed again, and nothing is found."""
    report = verify_records(kept, scorer)
    assert report.findings == ()
    assert (report.learners, report.entries, report.attempts) == (2, 4, 1)
    assert (report.recomputed, report.logs, report.busy) == (1, 1, 0)
    assert "Nothing was found changed" in report.text()
    assert "1 of 1 stored scores" in report.text()


def other_byte(data: bytes, chance: random.Random) -> bytes:
    """The bytes with one of them changed."""
    spot = chance.randrange(len(data))
    return data[:spot] + bytes([(data[spot] + chance.randrange(1, 256)) % 256]) + data[spot + 1 :]


def test_a_thousand_changed_bytes_in_a_file_are_all_found(tmp_path, log, scorer):
    """One byte of any value in any row, or of a log under way: none is accepted."""
    records = open_records(tmp_path / "records")
    heron = records.learners.add("Heron 12", now=NOW, name="Ann", group="spring", pin=PIN)
    hazel = records.learners.add("Mrs Hazel", now=NOW, group="spring", is_instructor=True)
    facts = {"attempt_id": "ab" * 16, "learner_id": heron.id}
    records.add_attempt(scorer(log, finished_at=NOW, **facts))
    records.add_supervised(supervised_of(heron), hazel)
    records.add_estimate(estimate_of(hazel), hazel)
    (under_way,) = put_under_way(records, heron, [5])
    assert not changed(records, scorer)
    chance, missed, tried = random.Random(20260302), [], 0
    with closing(sqlite3.connect(records.place.file, isolation_level=None)) as database:
        database.execute("PRAGMA synchronous = OFF")
        cells = [
            (table, keys, column, row)
            for table, keys in TABLES.items()
            for column in column_names(database, table)
            for row in database.execute(f"SELECT {', '.join(keys)} FROM {table}").fetchall()
        ]
        weighted = [c for c in cells if c[2] in ("log", "body")] * 5 + cells
        while tried < 1000:
            if chance.random() < 0.1:
                whole = under_way.read_bytes()
                under_way.write_bytes(other_byte(whole, chance))
                missed += [] if changed(records, scorer) else ["log under way"]
                under_way.write_bytes(whole)
                tried += 1
                continue
            table, keys, column, row = chance.choice(weighted)
            where = " AND ".join(f"{key} = ?" for key in keys)
            rowid, old = database.execute(
                f"SELECT rowid, {column} FROM {table} WHERE {where}", row
            ).fetchone()
            if old in ("", b""):
                continue  # there is no byte to change
            change = f"UPDATE {table} SET {column} = {{}} WHERE rowid = {rowid}"
            if isinstance(old, int):
                database.execute(change.format("?"), (old + chance.randrange(5, 250),))
            elif isinstance(old, str):
                new = other_byte(old.encode("utf-8"), chance)
                database.execute(change.format("CAST(? AS TEXT)"), (new,))
            else:
                database.execute(change.format("?"), (other_byte(old, chance),))
            missed += [] if changed(records, scorer) else [f"{table}.{column}"]
            database.execute(change.format("?"), (old,))
            tried += 1
    assert missed == []
    assert not changed(records, scorer)


def column_names(database: sqlite3.Connection, table: str) -> list[str]:
    """The columns of a table."""
    return [row[1] for row in database.execute(f"PRAGMA table_info({table})")]


def test_changed_bytes_of_the_database_file_are_found_or_change_nothing(tmp_path, log, scorer):
    """Either verifying tells, or everything that is kept is still the same: 200 places."""
    records = open_records(tmp_path / "records")
    heron = records.learners.add("Heron 12", now=NOW)
    facts = {"attempt_id": "ab" * 16, "learner_id": heron.id}
    records.add_attempt(scorer(log, finished_at=NOW, **facts))
    file, kept = records.place.file, export_files(records, heron.id)
    whole, chance, found = file.read_bytes(), random.Random(8), 0
    for _ in range(200):
        file.write_bytes(other_byte(whole, chance))
        try:
            if verify(tmp_path / "records", scorer).findings:
                found += 1
            else:
                assert export_files(open_records(tmp_path / "records"), heron.id) == kept
        except NotReadable:
            found += 1
    assert found > 60  # the rest are places that nothing is kept in


def test_changed_values_on_a_server_or_in_a_file_are_found(kept, learner, scorer):
    """Every column of every table, changed in one row, is told with learner or entry."""
    for table, key, columns in (
        ("entries", "digest", ("kind", "id", "made_at", "body", "digest")),
        ("learners", "id", ("pseudonym", "name", "group_name", "made_at", "head", "pin_hash")),
        ("learners", "id", ("wait_until", "seal")),
    ):
        with kept.database.reading() as connection:
            rows = connection.execute(text(f"SELECT * FROM {table}")).mappings().all()
        for column in columns:
            for row in rows:
                spoiled = "?" + row[column][1:]
                set_value(kept, table, column, spoiled, key, row[key])
                assert changed(kept, scorer), f"{table}.{column}"
                back = spoiled if column == key else row[key]
                set_value(kept, table, column, row[column], key, back)
        for column in {"entries": ("number",), "learners": ("entries", "wrong_pins")}[table]:
            set_value(kept, table, column, rows[0][column] + 9, key, rows[0][key])
            assert changed(kept, scorer), f"{table}.{column}"
            set_value(kept, table, column, rows[0][column], key, rows[0][key])
    assert not changed(kept, scorer)


def set_value(records, table: str, column: str, value, key: str, of) -> None:
    """Changes a value as somebody with the database's own tools would."""
    with records.database.writing() as connection:
        connection.execute(
            text(f"UPDATE {table} SET {column} = :value WHERE {key} = :of"),
            {"value": value, "of": of},
        )


def run(records, *statements: str) -> None:
    """Does statements as somebody with the database's own tools would."""
    with records.database.writing() as connection:
        for statement in statements:
            connection.execute(text(statement))


@pytest.mark.parametrize(
    ("statements", "told"),
    [
        (["DELETE FROM entries WHERE number = 1 AND kind = 'attempt'"], "entries 1 to 1 are miss"),
        (["DELETE FROM entries WHERE number = 2"], "entries 2 to 2 are missing"),
        (["DELETE FROM entries WHERE number = 3"], "3 entries were written, and the last is num"),
        (
            [
                "UPDATE entries SET number = 99 WHERE number = 2",
                "UPDATE entries SET number = 2 WHERE number = 3",
                "UPDATE entries SET number = 3 WHERE number = 99",
            ],
            "does not follow the entry before",
        ),
        (
            [
                "UPDATE entries SET learner_id = (SELECT id FROM learners WHERE is_instructor = 1),"
                " number = 2 WHERE number = 2"
            ],
            "does not follow the entry before",
        ),
        (["UPDATE learners SET is_instructor = 1 - is_instructor"], "profile has been changed"),
        (
            [
                "INSERT INTO entries SELECT learner_id, 4, kind, 'copy', made_at, body, log, digest"
                " FROM entries WHERE number = 3"
            ],
            "3 entries were written, and the last is number 4",
        ),
    ],
)
def test_removed_exchanged_and_added_rows_are_found(kept, scorer, statements, told):
    """A chain has no gap, no other order, no owner but its own, and one end."""
    run(kept, *statements)
    assert any(told in finding.what for finding in verify_records(kept, scorer).findings)


def test_entries_whose_learner_was_removed_are_found(file_records, scorer):
    """A profile taken out of the file leaves its entries, and they are told."""
    heron = file_records.learners.add("Heron 12", now=NOW)
    file_records.add_attempt(attempt_of(heron))
    with closing(sqlite3.connect(file_records.place.file)) as database:
        database.execute("DELETE FROM learners")
        database.commit()
    (finding,) = verify_records(file_records, made_score).findings
    assert heron.id in finding.where and "entries but no profile" in finding.what


def test_a_score_written_anew_with_all_digests_is_found(kept, learner, scorer):
    """Somebody who knows how makes every digest right: the log still gives another score."""
    (attempt,) = kept.attempts(learner.id)
    body = content_of(attempt).body.replace('"mastered":true', '"mastered":false')
    assert body != content_of(attempt).body
    forge(kept, learner, body)
    (finding,) = verify_records(kept, scorer).findings
    assert "mastered is false, but the log gives true" in finding.what


def forge(records, learner, body: str) -> None:
    """Gives the first entry another content and makes all digests and the seal anew."""
    with records.database.writing() as connection:
        wanted = "SELECT * FROM entries WHERE learner_id = :id ORDER BY number"
        rows = connection.execute(text(wanted), {"id": learner.id}).mappings().all()
        before = chain.START
        for row in rows:
            new = {**row, "body": body if row["number"] == 1 else row["body"]}
            before = chain.entry_digest(before, new, chain.sha256(bytes(row["log"])))
            connection.execute(
                text("UPDATE entries SET body = :body, digest = :digest WHERE id = :id"),
                {"body": new["body"], "digest": before, "id": row["id"]},
            )
        own = connection.execute(
            text("SELECT * FROM learners WHERE id = :id"), {"id": learner.id}
        ).mappings()
        row = {**next(iter(own)), "head": before}
        connection.execute(
            text("UPDATE learners SET head = :head, seal = :seal WHERE id = :id"),
            {"head": before, "seal": chain.sealed(row)["seal"], "id": learner.id},
        )


def test_a_log_exchanged_for_another_is_found(kept, learner, scorer):
    """A sound log of another attempt is not the one that the digest was made of."""
    with kept.database.writing() as connection:
        connection.execute(
            text("UPDATE entries SET log = :log WHERE kind = 'attempt'"), {"log": made_log(9)}
        )
    told = [finding.what for finding in verify_records(kept, scorer).findings]
    assert any("has been changed" in what for what in told)
    assert any("cannot be recomputed" in what for what in told)


@pytest.mark.parametrize("as_archive", [False, True])
def test_exports_are_proved_like_records(kept, learner, scorer, tmp_path, as_archive):
    """A folder or archive that was taken out verifies by itself."""
    out = export_learner(kept, learner.id, tmp_path / ("out.zip" if as_archive else "out"))
    report = verify(out, scorer)
    assert report.findings == ()
    assert (report.learners, report.entries, report.attempts) == (1, 3, 1)
    assert (report.recomputed, report.logs) == (1, 1)


def test_changed_bytes_of_an_export_are_all_found(kept, learner, scorer, tmp_path):
    """300 single bytes over all of its files."""
    out, chance = export_learner(kept, learner.id, tmp_path / "out"), random.Random(3)
    files = sorted(path for path in out.rglob("*") if path.is_file())
    assert len(files) == 5
    for n in range(300):
        path = files[n % len(files)]
        whole = path.read_bytes()
        path.write_bytes(other_byte(whole, chance))
        assert verify(out, scorer).findings, path.name
        path.write_bytes(whole)
    assert verify(out, scorer).findings == ()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda out: (out / "entries.jsonl").unlink(),
        lambda out: (out / "logs" / "00001.log").unlink(),
        lambda out: (out / "about.txt").unlink(),
        lambda out: (out / "more.txt").write_text("x"),
        lambda out: shutil.copy(out / "logs" / "00001.log", out / "logs" / "00009.log"),
        lambda out: (out / "entries.jsonl").write_bytes(
            b"".join((out / "entries.jsonl").read_bytes().splitlines(keepends=True)[:-1])
        ),
    ],
)
def test_missing_and_foreign_files_of_an_export_are_found(
    kept, learner, scorer, tmp_path, spoil: Callable[[Path], object]
):
    """An export holds what it was made with, no more and no less."""
    out = export_learner(kept, learner.id, tmp_path / "out")
    spoil(out)
    assert verify(out, scorer).findings


def test_scores_that_cannot_be_recomputed_are_told_apart(records, learner):
    """A case that is unknown or changed is said plainly, and is not silently fine."""

    def other_case(log: bytes, **_: object) -> StoredAttempt:
        raise CannotRecompute("its case is not on this computer")

    records.add_attempt(attempt_of(learner))
    report = verify_records(records, other_case)
    (finding,) = report.findings
    assert finding.cannot_tell
    assert "cannot be recomputed: its case is not on this computer" in finding.what
    assert report.recomputed == 0
    assert "cannot be recomputed: 1 score" in report.text()


def test_logs_under_way_are_looked_at(records, learner):
    """A changed line, an unfinished one and a stranger's folder are told, sound logs are not."""
    sound, torn, bad = put_under_way(records, learner, [1, 2, 3])
    torn.write_bytes(torn.read_bytes()[:-5])
    bad.write_bytes(bad.read_bytes().replace(b"cdcd", b"cdce", 1))
    told = {finding.where: finding.what for finding in verify_records(records, made_score).findings}
    assert set(told) == {str(torn), str(bad)}
    assert "was not finished" in told[str(torn)] and "has been changed" in told[str(bad)]
    stray = attempts_folder_of(records, "0" * 32)
    shutil.copytree(sound.parent, stray)
    strange = [f for f in verify_records(records, made_score).findings if f.where == str(stray)]
    assert bool(strange) == records.database.is_file


def test_a_single_log_is_verified(log, scorer, tmp_path):
    """A sound one tells its score, an open one nothing, a changed one the line."""
    path = tmp_path / "one.log"
    path.write_bytes(log)
    report = verify(path, scorer)
    assert report.findings == ()
    assert report.notes == ("The log gives 100 points; critical items failed: none.",)
    path.write_bytes(log[: log.rindex(b"\n", 0, -1) + 1])
    assert verify(path, scorer).text().count("points") == 0
    path.write_bytes(log.replace(b"finish", b"finisj"))
    (finding,) = verify(path, scorer).findings
    assert finding.what.startswith(f"line {log.count(bytes([10]))}")
    with pytest.raises(NotReadable, match="cannot be read"):
        verify(tmp_path / "none", scorer)


def test_what_is_no_export_is_told(tmp_path, scorer):
    """Broken archives end in words."""
    path = tmp_path / "x.zip"
    path.write_bytes(b"PK\x03\x04 nothing")
    with pytest.raises(NotReadable, match="cannot be read as an export"):
        verify(path, scorer)
    with pytest.raises(TrainerError, match="there are no records here"):
        verify(tmp_path, scorer)
