"""The commands `verify` and `records`: exit codes, words, and what they leave."""

from __future__ import annotations

import io
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from helpers.records import NOW, made_log, put_under_way

from trainer.cli.common import DONE, FAULTY, UNREADABLE
from trainer.cli.main import main
from trainer.services.appointment import play
from trainer.services.command_list import load_commands
from trainer.services.records.place import VARIABLE
from trainer.services.records.store import Records, open_records
from trainer.services.records.under_way import attempts_folder_of
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import open_workbench

SOLUTION = SOLUTIONS / "lower_third_molar.yaml"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the environment says that the records are."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "records"))
    return tmp_path / "records"


@pytest.fixture
def records(place: Path) -> Records:
    """Records with two people, one of whom has a finished attempt under way."""
    records = open_records()
    heron = records.learners.add("Heron 12", now=NOW, group="spring")
    records.learners.add("Mrs Hazel", now=NOW, group="spring", is_instructor=True)
    folder = attempts_folder_of(records, heron.id)
    folder.mkdir(parents=True)
    commands = load_commands(SOLUTION)
    play(commands, open_workbench(commands.case), folder / "one.log", str(SOLUTION))
    return records


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    """Exit code, output and error output of a command."""
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


def test_finished_attempts_are_taken_in_listed_and_verified(capsys, records):
    """From a log under way to a stored score that is computed again."""
    code, out, _ = run(capsys, "records", "take-in")
    assert code == DONE and "stored: lower-third-molar, 100 points" in out
    code, out, _ = run(capsys, "records", "list")
    assert code == DONE
    assert "Heron 12, group spring: 1 attempts" in out and "Mrs Hazel, instructor" in out
    code, out, _ = run(capsys, "verify")
    assert code == DONE
    assert "1 of 1 stored scores" in out and "Nothing was found changed" in out


def test_a_changed_score_is_told_with_place_and_what_to_do(capsys, records, place):
    """`verify` ends with 1 and names learner, entry and attempt."""
    run(capsys, "records", "take-in")
    with closing(sqlite3.connect(place / "records.db")) as database:
        database.execute("""UPDATE entries SET body = replace(body, '"runs":1', '"runs":2')""")
        database.commit()
    code, out, _ = run(capsys, "verify", place)
    assert code == FAULTY
    assert "learner Heron 12" in out and "entry 1" in out and "at lower-third-molar" in out
    assert "runs is 2, but the log gives 1" in out
    assert "What to do: Do not rely on it." in out and "2 things are wrong" in out


def test_logs_and_exports_are_verified_too(capsys, records, tmp_path):
    """Several names at once; the exit code is that of the worst."""
    (log,) = records.place.attempts.rglob("*.log")
    kept = tmp_path / "kept.log"
    kept.write_bytes(log.read_bytes())
    run(capsys, "records", "take-in")
    out_file = tmp_path / "out.zip"
    assert run(capsys, "records", "export", "heron 12", out_file)[0] == DONE
    code, out, _ = run(capsys, "verify", kept, out_file)
    assert code == DONE and out.count("Nothing was found changed") == 2
    kept.write_bytes(kept.read_bytes().replace(b"greet", b"greeT"))
    code, out, err = run(capsys, "verify", kept, out_file, tmp_path / "nothing")
    assert code == UNREADABLE
    assert "1 thing is wrong" in out and "cannot be read" in err


def test_a_profile_is_added_with_a_pin(capsys, place, monkeypatch):
    """The PIN comes from the terminal or a pipe, never from the command line."""
    monkeypatch.setattr("sys.stdin", io.StringIO("4711\n"))
    code, out, _ = run(capsys, "records", "add", "--group", "spring")
    assert code == DONE and out.startswith("Added ")
    (learner,) = open_records().learners.all()
    assert learner.group == "spring" and learner.name == ""
    assert open_records().learners.sign_in(learner.id, "4711", NOW) == learner
    monkeypatch.setattr("sys.stdin", io.StringIO("12\n"))
    code, _, err = run(capsys, "records", "add", "Jay 20")
    assert code == FAULTY and "must be 4 to 12 digits" in err
    assert run(capsys, "records", "add", "Jay 20", "--no-pin")[0] == DONE


def test_erasing_asks_first(capsys, records, place, monkeypatch):
    """Only the pseudonym typed again, or --yes, erases."""
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))
    code, _, err = run(capsys, "records", "erase", "Heron 12")
    assert code == FAULTY and "for good" in err and "Nothing was erased" in err
    monkeypatch.setattr("sys.stdin", io.StringIO("Heron 12\n"))
    code, out, _ = run(capsys, "records", "erase", "heron 12")
    assert code == DONE and "Heron 12 is erased" in out
    assert run(capsys, "records", "erase", "Mrs Hazel", "--yes")[0] == DONE
    assert open_records().learners.all() == ()


def test_copies_and_due_learners(capsys, records, tmp_path):
    """A copy is verified by its name; who is due is told with the last day."""
    assert run(capsys, "records", "copy", tmp_path / "copy")[0] == DONE
    assert run(capsys, "verify", tmp_path / "copy")[0] == DONE
    code, out, _ = run(capsys, "records", "overdue", "--months", "1200")
    assert (code, out) == (DONE, "Nobody is due.\n")
    run(capsys, "records", "add", "Jay 20", "--no-pin")
    with pytest.raises(SystemExit):
        main(["records", "overdue", "--months", "0"])


def test_what_cannot_be_stored_is_left_and_told(capsys, records):
    """A log of a changed case stays, and the command ends with 1."""
    heron = records.learners.named("Heron 12")
    (path,) = put_under_way(records, heron, [3])
    path.write_bytes(made_log(3))
    code, out, err = run(capsys, "records", "take-in")
    assert code == FAULTY and "1 stored, 1 left" in out
    assert str(path) in err and "have been changed since the attempt" in err
    assert path.exists()


def test_where_there_are_no_records_nothing_is_made(capsys, place):
    """Looking says so and leaves no folder."""
    for words in (["verify"], ["records", "list"], ["records", "erase", "x"]):
        code, _, err = run(capsys, *words)
        assert code == UNREADABLE and "there are no records here" in err
    assert not place.exists()
    code, _, err = run(capsys, "records")
    assert code == FAULTY and "say what to do" in err
    code, _, err = run(capsys, "records", "list", "--records", "mysql://x/y")
    assert code == FAULTY and "expected postgresql" in err
