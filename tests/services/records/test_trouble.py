"""Full disks, folders that cannot be written, damaged files: told in words, and nothing lost."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from helpers.disks import filled, small_disk_at
from helpers.records import (
    NOW,
    attempt_of,
    made_score,
    put_under_way,
    start,
)

from trainer.errors import NotReadable
from trainer.models.records import Learner
from trainer.services.records.backup import copy_records
from trainer.services.records.export import export_learner
from trainer.services.records.store import Records, open_records
from trainer.services.records.under_way import logs_under_way, take_in_finished
from trainer.services.records.verify import verify, verify_records

resource = pytest.importorskip("resource", reason="limits and users as POSIX has them")

NOBODY = 65534
SAFE = "Nothing was changed, and attempts under way stay in their own logs"


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 192 kB."""
    with small_disk_at(tmp_path / "small") as folder:
        yield folder


def store_many(records: Records, learner: Learner) -> None:
    """Stores more than the room that a file has of its own."""
    for seed in range(100, 200):
        records.add_attempt(attempt_of(learner, seed))


def test_a_full_disk_is_told_and_loses_nothing(small_disk):
    """The attempt stays in its log, the records stay sound, and after making room it is stored."""
    records = open_records(small_disk / "records")
    heron = records.learners.add("Heron 12", now=NOW)
    records.add_attempt(attempt_of(heron, 1))
    (path,) = put_under_way(records, heron, [2])
    filler = filled(small_disk)
    with pytest.raises(NotReadable, match=r"the disk is full\. Nothing was changed") as told:
        store_many(records, heron)
    assert "Make room on it, then do it again" in str(told.value)
    with pytest.raises(NotReadable, match="the disk is full"):
        take_in_finished(records, made_score)
    assert logs_under_way(records, heron.id) == (path,)
    assert verify_records(records, made_score).findings == ()
    filler.unlink()
    (attempt,) = take_in_finished(records, made_score).stored
    assert attempt.seed == 2
    assert verify_records(records, made_score).findings == ()


def test_nothing_half_is_left_where_there_is_no_room(small_disk, tmp_path):
    """Neither an export nor a copy stays half on a full disk."""
    records = open_records(tmp_path / "records")
    heron = records.learners.add("Heron 12", now=NOW)
    records.add_attempt(attempt_of(heron))
    filler = filled(small_disk)
    for out in (small_disk / "out.zip", small_disk / "out"):
        with pytest.raises(NotReadable, match=r"cannot be written.*Nothing half was left"):
            export_learner(records, heron.id, out)
    with pytest.raises(NotReadable, match="the copy cannot be written"):
        copy_records(records, small_disk / "copy")
    assert list(small_disk.iterdir()) == [filler]


def write_with_little_room(place: str) -> None:
    """A client whose files may not grow beyond the size they have."""
    records = open_records(place)
    (heron,) = records.learners.all()
    assert records.place.file is not None
    size = records.place.file.stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    try:
        store_many(records, heron)
    except NotReadable as error:
        told = str(error)
        assert "the disk does not take or give the data" in told and SAFE in told, told
        return
    raise AssertionError("a file grew beyond its limit")


def test_a_disk_that_takes_no_more_is_told_and_loses_nothing(tmp_path):
    """What was stored before is sound, and writing goes on where there is room."""
    place = str(tmp_path / "records")
    records = open_records(place)
    heron = records.learners.add("Heron 12", now=NOW)
    records.add_attempt(attempt_of(heron, 1))
    client = start(write_with_little_room, place)
    client.join()
    assert client.exitcode == 0
    assert verify_records(records, made_score).findings == ()
    assert records.add_attempt(attempt_of(heron, 999))


def write_as_a_guest(place: str) -> None:
    """A client that may read the folder and not write it."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    records = open_records(place)
    (heron,) = records.learners.all()
    assert len(records.attempts(heron.id)) == 1
    assert verify_records(records, made_score).learners == 1
    for work in (
        lambda: records.add_attempt(attempt_of(heron, 2)),
        lambda: records.learners.add("Jay 20", now=NOW),
    ):
        told = ""
        try:
            work()
        except NotReadable as error:
            told = str(error)
        assert "cannot be written" in told and SAFE in told, told
    told = ""
    try:
        open_records(Path(place) / "new")
    except NotReadable as error:
        told = str(error)
    assert "the folder cannot be made" in told and SAFE in told, told


def test_a_folder_that_cannot_be_written_is_read_and_told(user_folder):
    """Records can be looked at and verified; every change is refused in words."""
    with tempfile.TemporaryDirectory() as folder:  # pytest's own is closed to other users
        Path(folder).chmod(0o755)
        place = Path(folder) / "records"
        records = open_records(place)
        heron = records.learners.add("Heron 12", now=NOW)
        records.add_attempt(attempt_of(heron))
        assert records.place.file is not None
        records.place.file.chmod(0o444)
        place.chmod(0o555)
        try:
            client = start(write_as_a_guest, str(place))
            client.join()
        finally:
            place.chmod(0o755)
        assert client.exitcode == 0
        assert len(records.attempts(heron.id)) == 1


@pytest.mark.parametrize(
    "damage",
    [
        lambda whole: b"nothing of a database " * 40,
        lambda whole: bytes(4096) + whole[4096:],
        lambda whole: whole[: len(whole) // 2],
        lambda whole: whole[:2048] + os.urandom(2048) + whole[4096:],
    ],
    ids=["other file", "no head", "cut short", "first page"],
)
def test_a_damaged_file_is_told_and_left_as_it_is(tmp_path, damage: Callable[[bytes], bytes]):
    """Nothing is mended by guessing: the file keeps its bytes, and the last backup is named."""
    records = open_records(tmp_path / "records")
    heron = records.learners.add("Heron 12", now=NOW)
    for seed in range(20):
        records.add_attempt(attempt_of(heron, seed))
    file = records.place.file
    assert file is not None
    spoiled = damage(file.read_bytes())
    file.write_bytes(spoiled)
    try:
        told = verify(tmp_path / "records", made_score).text()
    except NotReadable as error:
        told = str(error)
    assert "damaged" in told or "mark that says their form" in told
    assert "backup" in told
    assert file.read_bytes() == spoiled
