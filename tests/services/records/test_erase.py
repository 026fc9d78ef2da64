"""Erased learners: nothing of them is left in the records' files."""

from __future__ import annotations

from dataclasses import replace
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

from trainer.errors import NotAllowedNow, NotFound
from trainer.services.records.erase import erase_learner
from trainer.services.records.under_way import attempts_folder_of, hold
from trainer.services.records.verify import verify_records

NAME = "Quillfeather Zyx"
WORD = "hollowayxylophone"  # stands in a form


@pytest.fixture
def full(records, instructor):
    """Records with a learner of whom everything is kept that can be, and a mate."""
    gone = records.learners.add("Siskin 77", now=NOW, name=NAME, group="spring", pin=PIN)
    mate = records.learners.add("Jay 20", now=NOW, group="spring")
    for seed in range(300, 308):
        records.add_attempt(attempt_of(gone, seed))
        records.add_attempt(attempt_of(mate, seed + 200))
    records.add_supervised(supervised_of(gone, aim=WORD), instructor)
    records.add_observation(observation_of(gone, done_well=WORD), instructor)
    records.learners.change(gone, replace(gone, pseudonym="Siskin 78"))
    put_under_way(records, gone, [1001, 1002])
    put_under_way(records, mate, [1003])
    return records, records.learners.get(gone.id), mate


def traces(learner) -> list[bytes]:
    """What would give the learner away: names, id, words of forms, pieces of logs."""
    words = ["Siskin 77", "Siskin 78", NAME, learner.id, WORD]
    logs = [made_log(seed) for seed in (300, 304, 307, 1001, 1002)]
    hashes = [line[line.index(b'"hash"') + 8 :][:40] for log in logs for line in log.splitlines()]
    return [word.encode() for word in words] + hashes[1::4]


def found_in(folder: Path, learner) -> set[str]:
    """Files below the folder, by name or content, in which a trace is left."""
    return {
        path.name
        for path in folder.rglob("*")
        if any(
            trace in path.name.encode() or (path.is_file() and trace in path.read_bytes())
            for trace in traces(learner)
        )
    }


def test_nothing_of_an_erased_learner_is_left_in_any_file(full, tmp_path, user_folder):
    """Every file of the folder is searched for names, id, forms and logs; the mate's are whole."""
    records, gone, mate = full
    folder = tmp_path if records.database.is_file else user_folder
    # A copy that a failed migration left holds the learner, too.
    if records.database.is_file:
        left = tmp_path / "records" / "records.db.before-0001"
        left.write_bytes(records.place.file.read_bytes())
        assert found_in(folder, gone) >= {"records.db", left.name}
    assert gone.id in found_in(folder, gone)
    kept = records.attempts(mate.id)
    words = erase_learner(records, gone.id)
    assert found_in(folder, gone) == set()
    with pytest.raises(NotFound):
        records.learners.get(gone.id)
    assert records.attempts(mate.id) == kept and len(kept) == 8
    assert attempts_folder_of(records, mate.id).exists()
    assert verify_records(records, made_score).findings == ()
    assert words.startswith("Siskin 78 is erased: profile, 10 entries, all logs.")
    assert "copies and exports made before" in words
    assert ("ask who runs it" in words) == (not records.database.is_file)


def test_no_row_of_an_erased_learner_is_left_on_a_server_or_in_a_file(full):
    """Neither table mentions them."""
    records, gone, _ = full
    erase_learner(records, gone.id)
    with records.database.reading() as connection:
        for table, column in (("learners", "id"), ("entries", "learner_id")):
            wanted = text(f"SELECT count(*) FROM {table} WHERE {column} = :id")
            assert connection.execute(wanted, {"id": gone.id}).scalar() == 0


def test_the_file_shrinks(file_records):
    """Erasing gives the room back."""
    heron = file_records.learners.add("Heron 12", now=NOW)
    size = file_records.place.file.stat().st_size
    for seed in range(40):
        file_records.add_attempt(attempt_of(heron, seed))
    assert file_records.place.file.stat().st_size > 2 * size
    erase_learner(file_records, heron.id)
    assert file_records.place.file.stat().st_size <= size


def test_an_open_attempt_stops_the_erasing(full):
    """While a window has a log open, nothing at all is removed."""
    records, gone, _ = full
    (path, _) = sorted(attempts_folder_of(records, gone.id).iterdir())
    with hold(path), pytest.raises(NotAllowedNow, match="open in another window"):
        erase_learner(records, gone.id)
    assert len(records.attempts(gone.id)) == 8 and path.exists()


def test_an_instructors_estimates_go_with_them(records, instructor, learner):
    """What an instructor wrote about others stays in the others' records."""
    records.add_estimate(estimate_of(instructor), instructor)
    records.add_supervised(supervised_of(learner), instructor)
    words = erase_learner(records, instructor.id)
    assert records.supervised(learner.id) == (supervised_of(learner),)
    assert "what others have written" in words
    with pytest.raises(NotFound, match="no learner"):
        erase_learner(records, instructor.id)
