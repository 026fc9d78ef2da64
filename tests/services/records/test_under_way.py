"""Logs under way: held by one window, taken in when finished, and never lost by a kill."""

from __future__ import annotations

import os
import random
import time

import pytest
from helpers.records import (
    made_log,
    made_score,
    put_under_way,
    start,
    take_in_all,
)

from trainer.errors import NotAllowedNow, NotReadable, TrainerError
from trainer.services.records.scorer import CannotRecompute
from trainer.services.records.store import open_records
from trainer.services.records.under_way import (
    attempts_folder_of,
    hold,
    logs_under_way,
    take_in,
    take_in_finished,
)
from trainer.services.records.verify import verify_records

KILLS, KILLS_ON_SERVER = 50, 20


def test_every_learner_has_a_folder(records, learner, tmp_path, user_folder):
    """It lies with the records' file, or with the user's data when they are on a server."""
    folder = attempts_folder_of(records, learner.id)
    base = tmp_path / "records" if records.database.is_file else user_folder / "data"
    assert folder.is_relative_to(base) and folder.name == learner.id
    for strange in ("..", "", "a/b", learner.id.upper()):
        with pytest.raises(TrainerError, match="no learner's id"):
            attempts_folder_of(records, strange)


def test_finished_logs_are_stored_and_removed(records, learner):
    """What was finished is in the records with every byte, what is open stays."""
    paths = put_under_way(records, learner, [1, 2, 3])
    paths[1].write_bytes(made_log(2, finished=False))
    found = take_in_finished(records, made_score)
    assert found.left == ()
    assert [attempt.log for attempt in found.stored] == [made_log(1), made_log(3)]
    assert records.attempts(learner.id) == found.stored
    assert logs_under_way(records, learner.id) == (paths[1],)
    assert take_in_finished(records, made_score).stored == ()
    assert verify_records(records, made_score).findings == ()


def test_the_time_of_finishing_is_that_of_the_log(records, learner):
    """An attempt found on the next day was finished on its own."""
    (path,) = put_under_way(records, learner, [1])
    os.utime(path, (1_700_000_000, 1_700_000_000))
    (attempt,) = take_in_finished(records, made_score).stored
    assert attempt.finished_at.isoformat() == "2023-11-14T22:13:20+00:00"


def test_a_log_that_was_stored_before_a_kill_is_stored_once(records, learner):
    """Killed between storing and removing, the next start only removes."""
    (path,) = put_under_way(records, learner, [1])
    first = take_in(records, learner.id, path, made_score)
    path.write_bytes(made_log(1))
    take_in_finished(records, made_score)
    assert [attempt.id for attempt in records.attempts(learner.id)] == [first.id]
    assert not path.exists()


def test_a_torn_line_after_the_end_is_left_out(records, learner):
    """A prediction that was being written when the power went does not spoil the attempt."""
    (path,) = put_under_way(records, learner, [1])
    path.write_bytes(made_log(1) + b'{"command":{"at_s":9')
    (attempt,) = take_in_finished(records, made_score).stored
    assert attempt.log == made_log(1)


def test_logs_that_cannot_be_stored_are_left_with_a_reason(records, learner):
    """A changed log, one that is none, and one of an unknown case stay where they are."""

    def score(log: bytes, **facts):
        attempt = made_score(log, **facts)
        if attempt.seed == 3:
            raise CannotRecompute("its case is not on this computer")
        return attempt

    paths = put_under_way(records, learner, [1, 2, 3, 4])
    paths[0].write_bytes(made_log(1).replace(b"cdcd", b"cdce"))
    paths[1].write_bytes(b"nothing")
    found = take_in_finished(records, score)
    assert [attempt.seed for attempt in found.stored] == [4]
    assert [path for path, _ in found.left] == [paths[1], paths[2]]
    assert "its case is not on this computer" in found.left[1][1]
    assert all(path.exists() for path in paths[:3])
    with pytest.raises(TrainerError, match="line 2"):
        take_in(records, learner.id, paths[0], score)


def test_an_open_attempt_is_neither_taken_in_nor_opened_twice(records, learner):
    """While one window holds a log, others are refused in words; after it they are not."""
    (path,) = put_under_way(records, learner, [1])
    with hold(path):
        with pytest.raises(NotAllowedNow, match="open in another window"):
            hold(path)
        assert take_in_finished(records, made_score).stored == ()
        report = verify_records(records, made_score)
        assert (report.busy, report.logs, report.findings) == (1, 0, ())
        assert "Open in a window, so not looked at: 1 log" in report.text()
    hold(path).close()
    assert len(take_in_finished(records, made_score).stored) == 1
    with pytest.raises(NotReadable, match="cannot be opened"):
        hold(path)


def test_unfinished_attempts_are_not_taken_in(records, learner):
    """Asked for by name, the refusal says why."""
    (path,) = put_under_way(records, learner, [1])
    path.write_bytes(made_log(1, finished=False))
    with pytest.raises(TrainerError, match="the attempt is not finished"):
        take_in(records, learner.id, path, made_score)


def test_killed_at_any_moment_nothing_is_lost(place, learner, user_folder):
    """Whenever the program is killed, every log is in its folder or in a sound record, or both."""
    records, chance, seed = open_records(place), random.Random(6), 0
    data_home = str(user_folder / "data")
    spans_s = []
    for n in (9000, 9010, 9020):  # how long it takes when it is not killed
        put_under_way(records, learner, [n, n + 1])
        begun = time.monotonic()
        whole = start(take_in_all, place, data_home)
        whole.join()
        spans_s.append(time.monotonic() - begun)
        assert whole.exitcode == 0 and logs_under_way(records, learner.id) == ()
    span_s = min(*spans_s, 0.5)
    killed = 0
    kills = KILLS if records.database.is_file else KILLS_ON_SERVER
    for _ in range(kills):
        put_under_way(records, learner, [seed, seed + 1])
        client = start(take_in_all, place, data_home)
        time.sleep(chance.uniform(0, span_s))
        client.kill()
        client.join()
        killed += client.exitcode != 0
        stored = {attempt.seed for attempt in records.attempts(learner.id, with_logs=False)}
        left = {int(p.stem.split("-")[1]) for p in logs_under_way(records, learner.id)}
        assert {seed, seed + 1} <= stored | left
        seed += 2
    assert killed > kills // 5
    found = take_in_finished(records, made_score)
    assert found.left == ()
    assert logs_under_way(records, learner.id) == ()
    seeds = [attempt.seed for attempt in records.attempts(learner.id)]
    assert sorted(seeds) == [*range(seed), 9000, 9001, 9010, 9011, 9020, 9021]
    assert verify_records(records, made_score).findings == ()
