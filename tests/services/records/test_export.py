"""Everything that is kept of a learner, as files."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from helpers.records import (
    PIN,
    attempt_of,
    made_log,
    observation_of,
    put_under_way,
    supervised_of,
)

from trainer.errors import NotFound, TrainerError
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.records.entries import content_of
from trainer.services.records.export import export_learner


@pytest.fixture
def everything(records, learner, instructor):
    """A learner with an entry of every kind and a log under way; and others."""
    records.add_attempt(attempt_of(learner, 1))
    records.add_supervised(supervised_of(learner), instructor)
    records.add_observation(observation_of(learner), instructor)
    records.add_attempt(attempt_of(learner, 2))
    records.add_supervised(supervised_of(learner, id="other", learner_id=learner.id), instructor)
    put_under_way(records, learner, [7])
    return records


def test_all_that_is_kept_is_taken_out(everything, learner, tmp_path: Path):
    """Profile, entries in their order with their content, logs, logs under way, and the caution."""
    out = export_learner(everything, learner.id, tmp_path / "new" / "out")
    names = {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()}
    assert names == {
        "about.txt",
        "learner.json",
        "entries.jsonl",
        "logs/00001.log",
        "logs/00004.log",
        "under-way/case-0007.log",
    }
    profile = json.loads((out / "learner.json").read_text("utf-8"))
    assert profile["pseudonym"] == "Heron 12" and profile["group_name"] == "spring"
    lines = (out / "entries.jsonl").read_text("utf-8").splitlines()
    bodies = [json.loads(line)["body"] for line in lines]
    given = (
        attempt_of(learner, 1),
        supervised_of(learner),
        observation_of(learner),
        attempt_of(learner, 2),
        supervised_of(learner, id="other"),
    )
    assert bodies == [content_of(entry).body for entry in given]
    assert (out / "logs" / "00004.log").read_bytes() == made_log(2)
    assert (out / "under-way" / "case-0007.log").read_bytes() == made_log(7)
    assert SHORT_CAUTION in (out / "about.txt").read_text("utf-8")


def test_a_supervisors_word_holds_no_simulated_score(everything, learner, tmp_path: Path):
    """Lines of supervised cases and observations have no percent, mark or log."""
    out = export_learner(everything, learner.id, tmp_path / "out")
    lines = [json.loads(line) for line in (out / "entries.jsonl").read_text("utf-8").splitlines()]
    watched = [line for line in lines if line["kind"] != "attempt"]
    assert len(watched) == 3
    for line in watched:
        assert line["log_file"] == ""
        assert not {"percent", "mastered", "score"} & set(json.loads(line["body"]))


def test_the_pin_and_its_hash_stay_inside(everything, learner, tmp_path: Path):
    """An export can be given away: nothing in it opens the profile."""
    out = export_learner(everything, learner.id, tmp_path / "out")
    for path in out.rglob("*.js*"):
        found = path.read_text("utf-8")
        assert "argon2" not in found and "pin_hash" not in found and f'"{PIN}"' not in found


def test_an_archive_holds_the_same_files(everything, learner, tmp_path: Path):
    """Folder and archive differ in nothing but their wrapping."""
    folder = export_learner(everything, learner.id, tmp_path / "out")
    with zipfile.ZipFile(export_learner(everything, learner.id, tmp_path / "out.ZIP")) as archive:
        packed = {name: archive.read(name) for name in archive.namelist()}
    paths = (path for path in folder.rglob("*") if path.is_file())
    assert packed == {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def test_exports_are_never_written_over(everything, learner, tmp_path: Path):
    """A file that is there is left alone; nobody unknown is taken out."""
    (tmp_path / "out.zip").write_bytes(b"mine")
    with pytest.raises(TrainerError, match="is there already"):
        export_learner(everything, learner.id, tmp_path / "out.zip")
    assert (tmp_path / "out.zip").read_bytes() == b"mine"
    with pytest.raises(NotFound, match="no learner"):
        export_learner(everything, "nobody", tmp_path / "out")
    assert not (tmp_path / "out").exists()
