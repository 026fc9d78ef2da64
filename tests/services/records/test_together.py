"""Many programs at once, and copies taken meanwhile."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from helpers.records import (
    NOW,
    PIN,
    attempt_of,
    guess_pins,
    made_score,
    put_under_way,
    start,
    write_attempts,
)

from trainer.errors import TrainerError
from trainer.services.records.backup import copy_records
from trainer.services.records.pins import WrongPin
from trainer.services.records.store import open_records
from trainer.services.records.under_way import logs_under_way
from trainer.services.records.verify import verify_records

CLIENTS, TIMES = 20, 3


def test_twenty_clients_that_write_at_once_lose_nothing(place, learner):
    """Each stores three attempts of two learners: all 120 are there and both chains sound."""
    records = open_records(place)
    mate = records.learners.add("Jay 20", now=NOW)
    ids = (learner.id, mate.id)
    clients = [start(write_attempts, place, ids, n, TIMES) for n in range(CLIENTS)]
    for client in clients:
        client.join()
    assert [client.exitcode for client in clients] == [0] * CLIENTS
    wanted = {1000 * client + n for client in range(CLIENTS) for n in range(TIMES)}
    for each in (learner, mate):
        attempts = records.attempts(each.id)
        assert len(attempts) == CLIENTS * TIMES
        assert {attempt.seed for attempt in attempts} == wanted
        assert attempt_of(each, 2001) in attempts
    report = verify_records(records, made_score)
    assert report.findings == ()
    assert report.recomputed == 2 * CLIENTS * TIMES


def test_wrong_pins_from_many_windows_are_all_counted(place, learner):
    """Six guesses at once cost no less waiting than six in a row."""
    clients = [start(guess_pins, place, learner.id) for _ in range(6)]
    for client in clients:
        client.join()
    assert [client.exitcode for client in clients] == [0] * 6
    with pytest.raises(WrongPin, match="Too many wrong PINs") as told:
        open_records(place).learners.sign_in(learner.id, PIN, NOW)
    # the third guess closes the profile: the other windows are told to wait and count nothing
    assert told.value.wait_s == 15


def test_two_windows_on_one_learner_both_keep_their_work(place, learner):
    """Records opened twice: each sees what the other stored, in one chain."""
    one, two = open_records(place), open_records(place)
    one.add_attempt(attempt_of(learner, 1))
    two.add_attempt(attempt_of(learner, 2))
    one.add_attempt(attempt_of(learner, 3))
    assert [attempt.seed for attempt in two.attempts(learner.id)] == [1, 2, 3]
    assert verify_records(one, made_score).findings == ()


def test_a_folder_copied_while_the_program_is_open_is_a_backup(file_records, tmp_path: Path):
    """A plain copy of the folder, with records open, opens elsewhere and verifies."""
    heron = file_records.learners.add("Heron 12", now=NOW)
    file_records.add_attempt(attempt_of(heron))
    put_under_way(file_records, heron, [7])
    shutil.copytree(tmp_path / "records", tmp_path / "backup")
    file_records.add_attempt(attempt_of(heron, 2))
    backup = open_records(tmp_path / "backup")
    assert backup.attempts(heron.id) == (attempt_of(heron),)
    assert len(logs_under_way(backup, heron.id)) == 1
    assert verify_records(backup, made_score).findings == ()


def test_copies_made_while_others_write_are_sound(file_records, tmp_path: Path):
    """Five copies during a hundred writes: each holds a whole beginning of the chain."""
    heron = file_records.learners.add("Heron 12", now=NOW)
    place = str(tmp_path / "records")
    clients = [start(write_attempts, place, (heron.id,), n, 25) for n in range(4)]
    sizes = []
    for n in range(5):
        copied = open_records(copy_records(file_records, tmp_path / f"copy-{n}"))
        report = verify_records(copied, made_score)
        assert report.findings == ()
        sizes.append(report.entries)
    for client in clients:
        client.join()
    assert sizes == sorted(sizes)
    assert len(file_records.attempts(heron.id)) == 100


def test_a_copy_is_never_written_over_and_servers_are_not_copied(records, tmp_path: Path):
    """The refusal says why."""
    (tmp_path / "there").mkdir()
    told = "is there already" if records.database.is_file else "on a server are backed up there"
    with pytest.raises(TrainerError, match=told):
        copy_records(records, tmp_path / "there")
