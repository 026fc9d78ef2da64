"""The commands about learning over time."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

import pytest
from helpers.attempts import START, series

from trainer.cli.common import DONE, FAULTY, UNREADABLE
from trainer.cli.main import main
from trainer.services.records.store import open_records

TREES = ("Alder", "Birch", "Cedar", "Elder", "Hazel")


@pytest.fixture(scope="module")
def place(tmp_path_factory) -> str:
    """Records of an instructor and of five people of the group with three attempts each."""
    place = str(tmp_path_factory.mktemp("learning") / "records")
    records = open_records(place)
    add = records.learners.add
    add("Rowan", now=START, group="tallow", is_instructor=True)
    for i, name in enumerate(TREES):
        learner = add(name, now=START, group="tallow")
        for a in series("SFS", learner_id=learner.id):
            records.add_attempt(replace(a, id=f"{a.id}-{i}", log=f"{a.id}-{i}".encode()))
    return place


@pytest.fixture
def run(capsys, place) -> Callable[..., tuple[int, str, str]]:
    """Runs a command on these records: exit code, output, error output."""

    def command(*words: str) -> tuple[int, str, str]:
        code = main([*words, "--records", place] if words[0] != "practise" else list(words))
        return code, *capsys.readouterr()

    return command


@pytest.fixture(autouse=True)
def _few_cases(monkeypatch) -> None:
    """Reading every shipped case takes seconds; three files stand for the library."""
    from trainer.services.learning import report as learner_report
    from trainer.services.scenario_io import case_files

    def few(folder):
        names = ("lower-third-molar", "both-joints", "whole-lower-jaw")
        return {name: path for name, path in case_files(folder).items() if name in names}

    monkeypatch.setattr(learner_report, "case_files", few)


def test_progress_tells_what_to_practise_next(run, tmp_path):
    """`progress` prints the chart's sentence and the next case, and saves the plots asked for."""
    code, out, _ = run("progress", "alder", "--plots", str(tmp_path))
    assert code == DONE
    assert out.startswith("2 of 3 counted attempts were successes.")
    assert "Next: whole-lower-jaw. The lower jaw: not tried without help yet." in out
    assert sorted(p.name for p in tmp_path.glob("*.png")) == [
        *("foretold.png", "learning.png", "maintenance.png", "points.png")
    ]


def test_progress_as_json(run):
    """`progress --json` prints one JSON object with charts, next case and caution."""
    code, out, _ = run("progress", "Alder", "--json")
    data = json.loads(out)
    assert code == DONE
    assert data["charts"]["successes"] == [True, False, True]
    assert {"next", "due", "refresh_on", "caution"} <= set(data)


def test_practise_gives_a_mixed_set_that_repeats(run):
    """`practise` lists different cases; the same seed gives the same list."""
    code, out, _ = run("practise", "--size", "3", "--seed", "5")
    assert code == DONE
    assert len(set(out.splitlines())) == 3
    assert run("practise", "--size", "3", "--seed", "5")[1] == out


def test_an_exam_needs_enough_cases(run):
    """`practise --exam` says that three cases are too few."""
    code, _, err = run("practise", "--exam")
    assert code == FAULTY
    assert "cannot fill its 8 places" in err


def test_group_shows_no_names(run):
    """`group` prints medians and counts of five people and none of their names."""
    code, out, _ = run("group", "Rowan")
    assert code == DONE
    assert "5 people, 15 attempts, 15 of them unassisted" in out
    assert "single sites: 5 people, 15 attempts; 10 successes, median 95 %" in out
    assert not [name for name in TREES if name in out]
    assert json.loads(run("group", "Rowan", "--json")[1])["people"] == 5


def test_group_shows_the_rows_of_a_case(run):
    """`group --items` prints each row's share; a case that few tried is refused."""
    code, out, _ = run("group", "Rowan", "--items", "case-a")
    assert code == DONE
    assert "  Row of position: 100 % (57–100 %); all did the same" in out
    assert out.count("5 attempts, 30 or more are wanted.") == 1
    code, _, err = run("group", "Rowan", "--items", "case-z")
    assert code == FAULTY
    assert "0 people tried case 'case-z'" in err


def test_standards_say_what_is_missing(run):
    """`standards` works without panel and ratings, and says that there are none."""
    code, out, _ = run("standards", "Rowan")
    assert code == DONE
    assert "Pass marks by panels: no estimates" in out


def test_a_learner_sees_no_group(run):
    """`group` and `standards` are for instructors."""
    for command in ("group", "standards"):
        code, out, err = run(command, "Alder")
        assert (code, out) == (FAULTY, "")
        assert "Alder is no instructor" in err


def test_somebody_unknown_is_told(run):
    """A pseudonym that nobody has is told, with exit code 2."""
    code, _, err = run("progress", "Yew")
    assert code == UNREADABLE
    assert "nobody called 'Yew'" in err
