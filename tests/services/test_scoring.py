"""Scores as data and text, and finished attempts made ready to be kept."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import pytest

from trainer.engine.appointment.plain_data import canonical
from trainer.engine.judgement.calibration import compare
from trainer.engine.judgement.score import score
from trainer.errors import NotReadable, NotValid, TrainerError
from trainer.models.appointment_commands import AskHint, Command, Predict
from trainer.models.learning import Block, HelpLevel, Prediction, Task
from trainer.models.records import StoredAttempt
from trainer.services.appointment import play, replay_file
from trainer.services.command_list import CommandList, load_commands
from trainer.services.scoring import (
    compared_of,
    score_data,
    score_of,
    score_text,
    stored_attempt,
)
from trainer.services.solutions import SOLUTIONS, log_of
from trainer.services.workbench import Workbench, open_workbench

LIST = SOLUTIONS / "lower_third_molar.yaml"
LOG = log_of(LIST)
WHEN = datetime(2026, 3, 4, 9, 30, tzinfo=UTC)
SAID = Prediction(frozenset({"tooth-48"}), 70, True)


@cache
def bench() -> Workbench:
    """The case that is played here."""
    return open_workbench("lower-third-molar")


@cache
def solution() -> CommandList:
    """Its shipped solution."""
    return load_commands(LIST)


def kept(data: bytes, where: Workbench | None = None) -> StoredAttempt:
    """The attempt of a log, made ready to be kept."""
    return stored_attempt(
        data, where or bench(), attempt_id="a-1", learner_id="l-1", finished_at=WHEN
    )


def log_with(tmp_path: Path, help: HelpLevel, *more: Command, cut: int = 0) -> bytes:
    """The log of the solution with commands after its end, or without its last ones."""
    commands = solution().commands[: len(solution().commands) - cut] + more
    lines = (0,) * len(commands)
    listed = replace(solution(), commands=commands, lines=lines, help=help)
    path = tmp_path / "some.log"
    play(listed, bench(), path, "some.yaml")
    return path.read_bytes()


def test_the_data_are_json_and_say_what_the_score_says() -> None:
    """Points of the blocks add up to the percent; nothing but JSON's own kinds of value."""
    found = score_of(replay_file(LOG, bench()))
    data = score_data(found)
    assert json.loads(canonical(data)) == data
    assert data["percent"] == found.percent == 100.0
    assert data["mastered"] is True and data["success"] is True
    assert data["task"] == "single-site" and data["help"] == "none"
    assert sum(b["points"] for b in data["blocks"]) == pytest.approx(100.0)
    assert [b["block"] for b in data["blocks"]] == [str(b) for b in Block]
    assert data["held"] == sorted(data["required"])


def test_a_log_gives_the_same_data_every_time() -> None:
    """Two replays on two benches give equal data, byte for byte."""
    again = open_workbench("lower-third-molar")
    one, two = (score_data(score_of(replay_file(LOG, b))) for b in (bench(), again))
    assert canonical(one) == canonical(two)


def test_a_finished_attempt_is_kept_with_what_its_log_gives() -> None:
    """Everything comes from the log but the ids and the date."""
    found = kept(LOG.read_bytes())
    assert (found.id, found.learner_id, found.finished_at) == ("a-1", "l-1", WHEN)
    assert (found.case_id, found.seed) == ("lower-third-molar", solution().seed)
    assert found.task is Task.SINGLE_SITE and found.help is HelpLevel.NONE
    assert found.percent == 100.0 and found.mastered and found.critical == ()
    assert (found.runs, found.scout_pairs, found.hints) == (1, 1, 0)
    assert found.prediction == {} and compared_of(found) is None
    assert found.log == LOG.read_bytes()
    assert found.score == score_data(score_of(replay_file(LOG, bench())))


def test_help_hints_and_prediction_are_kept(tmp_path: Path) -> None:
    """And the prediction is compared with the score as the engine does it."""
    end_s = solution().commands[-1].at_s
    first = AskHint(0.0)
    commands = (first, *solution().commands)
    listed = replace(
        solution(),
        commands=(*commands, Predict(end_s + 60.0, SAID)),
        lines=(0,) * (len(commands) + 1),
        help=HelpLevel.ON_REQUEST,
    )
    path = tmp_path / "some.log"
    state = play(listed, bench(), path, "some.yaml")
    found = kept(path.read_bytes())
    assert found.help is HelpLevel.ON_REQUEST and found.hints == 1
    assert found.prediction == {"cut": ["tooth-48"], "percent": 70, "acceptable": True}
    assert compared_of(found) == compare(SAID, score(state))
    assert found.duration_s == end_s


def test_a_helped_attempt_is_mastered_but_no_success(tmp_path: Path) -> None:
    """As the learner saw bone and field."""
    found = kept(log_with(tmp_path, HelpLevel.OPEN))
    assert found.mastered and found.score["success"] is False
    assert "bone and field were shown" in score_text(score_of(_state(tmp_path)))


def _state(folder: Path):  # type: ignore[no-untyped-def]
    return replay_file(folder / "some.log", bench())


def test_an_attempt_under_way_is_not_kept(tmp_path: Path) -> None:
    """It can be gone on with; keeping it would end it."""
    with pytest.raises(TrainerError, match="is not finished"):
        kept(log_with(tmp_path, HelpLevel.NONE, cut=1))


def test_a_log_that_was_altered_is_not_kept() -> None:
    """One changed digit is found with its line; bytes that are no log are refused."""
    data = LOG.read_bytes()
    spot = data.index(b'"at_s":', data.index(b"\n"))
    wrong = data[:spot] + data[spot:].replace(b'"at_s":', b'"at_s":1', 1)
    with pytest.raises(TrainerError, match="line 2"):
        kept(wrong)
    with pytest.raises((NotReadable, NotValid)):
        kept(b"nothing")


def test_an_attempt_at_another_case_is_not_kept() -> None:
    """Nor at a case that was changed since."""
    with pytest.raises(TrainerError, match="not at lower-third-molar"):
        kept((SOLUTIONS / "wheelchair.log").read_bytes())
    other = replace(bench(), files=bench().files[:1])
    with pytest.raises(TrainerError, match="have been changed"):
        kept(LOG.read_bytes(), other)


def test_the_text_sets_the_three_things_side_by_side() -> None:
    """Critical items, points and, as the supervisor's own, the global rating; and the time."""
    text = score_text(score_of(replay_file(LOG, bench())))
    lines = text.splitlines()
    assert lines[0] == "Critical items failed: none"
    assert lines[1] == "Points: 100 of 100 (mark 90)"
    assert lines[2].startswith("Global rating: the supervisor's")
    assert "never scored" in text
    assert "Time" in text


def test_the_text_names_what_cost_points(tmp_path: Path) -> None:
    """Every row that earned less than it could, with its sentence, and why it is not yet enough."""
    log_with(tmp_path, HelpLevel.NONE, cut=12)
    found = score_of(_state(tmp_path))
    text = score_text(found)
    assert "Not yet: the appointment is not finished." in text
    lost = [i for b in found.blocks for i in b.items if i.points < i.most]
    assert lost
    assert all(i.name in text and i.sentence in text for i in lost)
