"""Scores from logs by the real scorer: the same for the same log, and refused for another case."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from helpers.records import NOW

from trainer.errors import TrainerError
from trainer.services.appointment import play
from trainer.services.assets import SCENARIOS
from trainer.services.attempt_log import parse_log
from trainer.services.command_list import load_commands
from trainer.services.records import scorer as module
from trainer.services.records.scorer import CannotRecompute, CaseScorer
from trainer.services.scenario_io import find_case
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import open_workbench

SOLUTION = SOLUTIONS / "lower_third_molar.yaml"
FACTS = {"attempt_id": "ab" * 16, "learner_id": "cd" * 16, "finished_at": NOW}


def played(tmp_path: Path, case: str = "") -> bytes:
    """The log of a shipped solution, played now."""
    commands = load_commands(SOLUTION)
    play(commands, open_workbench(case or commands.case), tmp_path / "x.log", str(SOLUTION))
    return (tmp_path / "x.log").read_bytes()


def own_case(tmp_path: Path) -> Path:
    """A case of one's own with the shipped one's name, changed in a remark."""
    folder = tmp_path / "scenarios"
    folder.mkdir()
    path = Path(shutil.copy(find_case("lower-third-molar", SCENARIOS), folder))
    path.write_text(path.read_text("utf-8") + "# a remark\n", encoding="utf-8")
    return path


def test_a_solution_gets_its_points_every_time(tmp_path):
    """Two scorers give the same attempt, with the facts that were passed in."""
    log = played(tmp_path)
    one, two = CaseScorer()(log, **FACTS), CaseScorer()(log, **FACTS)
    assert one == two
    assert (one.id, one.learner_id, one.finished_at) == tuple(FACTS.values())
    assert one.log == log and one.case_id == "lower-third-molar"
    assert one.mastered and one.critical == ()


def test_a_case_that_was_changed_cannot_be_recomputed(tmp_path):
    """The log of another content of the case is refused, unless its file is named."""
    path = own_case(tmp_path)
    log = played(tmp_path, str(path))
    with pytest.raises(CannotRecompute, match="have been changed since the attempt"):
        CaseScorer()(log, **FACTS)
    assert CaseScorer([path])(log, **FACTS).mastered


def test_an_unknown_case_cannot_be_recomputed(tmp_path):
    """Its name is told."""
    log = played(tmp_path).replace(b"lower-third-molar", b"lower-third-polar", 1)
    with pytest.raises(TrainerError, match="header is missing or has been changed"):
        CaseScorer()(log, **FACTS)
    header = parse_log(played_elsewhere(log), "log").header
    with pytest.raises(CannotRecompute, match="case lower-third-polar is not on this computer"):
        CaseScorer()._bench(header)


def played_elsewhere(log: bytes) -> bytes:
    """The header of a case that nobody here has."""
    import json

    from trainer.services.attempt_log import START, chained

    data = json.loads(log.splitlines()[0])
    del data["hash"]
    return chained(START, data).encode("ascii")


def test_another_version_that_does_it_otherwise_cannot_tell(tmp_path, monkeypatch):
    """A log at fault counts as changed, unless an older or newer program wrote it."""
    log = played(tmp_path)
    whole = log[: log.rindex(b"\n", 0, -1) + 1]  # not finished: no score
    with pytest.raises(TrainerError) as told:
        CaseScorer()(whole, **FACTS)
    assert not isinstance(told.value, CannotRecompute)
    monkeypatch.setattr(module, "PROGRAM_VERSION", "9.9.9")
    with pytest.raises(CannotRecompute, match=r"version 0\.1\.0 of the program, and version 9"):
        CaseScorer()(whole, **FACTS)
    assert CaseScorer()(log, **FACTS).mastered
