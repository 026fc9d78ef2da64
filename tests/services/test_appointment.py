"""An appointment on a workbench: context, where attempts are kept, lists played into logs."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from trainer.engine.advice import advise
from trainer.engine.appointment.history import first_radiation_s
from trainer.errors import NotValid, TrainerError
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Programme
from trainer.models.learning import HelpLevel
from trainer.services.appointment import (
    PROGRAM_VERSION,
    attempts_folder,
    attempts_of,
    context_of,
    header_of,
    new_attempt,
    play,
    replay_file,
    resume_attempt,
)
from trainer.services.assets import PROJECT
from trainer.services.attempt_log import read_log
from trainer.services.command_list import load_commands
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import Workbench, open_workbench

CASE = "lower-third-molar"
SOLUTION = SOLUTIONS / "lower_third_molar.yaml"


@cache
def bench() -> Workbench:
    """The demo case with everything it needs."""
    return open_workbench(CASE)


def test_the_context_knows_unit_rules_and_body() -> None:
    """Presets, run length and rules are those of the files; a placement tells what comes near."""
    context = context_of(bench())
    assert context.protocols == ("adult", "child", "large-adult", "short")
    assert context.run_s(Programme("adult")) == 16.0
    assert context.rules == bench().rules
    placement = context.placing(bench().case.start)
    assert placement.clearance is not None
    assert not placement.clearance.touches
    assert context.placing(bench().case.start) is placement


def test_parts_are_stitched_with_the_same_head() -> None:
    """Two equal fields hold together exactly what one of them holds."""
    context, start = context_of(bench()), bench().case.start
    assert context.stitching is not None
    together = context.stitching((start, start))
    alone = context.placing(start)
    assert [s.holds for s in together.required] == [s.holds for s in alone.required]


def test_a_case_without_a_visit_stays_an_exercise_in_placing() -> None:
    """No appointment can be opened for it; the message says what can."""
    plain = replace(bench(), case=replace(bench().case, visit=None))
    with pytest.raises(TrainerError, match=r"exercise in placing only.*trainer assess"):
        context_of(plain)


def test_the_program_writes_its_own_version() -> None:
    """The version in a log's header is that of the project."""
    text = (PROJECT / "pyproject.toml").read_text(encoding="utf-8")
    found = re.search(r'^version = "(.+)"$', text, re.MULTILINE)
    assert found is not None and found[1] == PROGRAM_VERSION
    assert header_of(bench(), 3).program == PROGRAM_VERSION


def test_an_attempt_without_a_word_on_help_is_a_helped_one(tmp_path: Path) -> None:
    """So nothing counts as unassisted by mistake; a level that is given is kept."""
    attempt, _ = new_attempt(bench(), 1, tmp_path)
    attempt.close()
    assert attempt.state.help is HelpLevel.OPEN and not attempt.state.help.is_unassisted
    other, path = new_attempt(bench(), 1, tmp_path, HelpLevel.ON_REQUEST)
    with other:
        hint = other.do(do.AskHint(1.0)).events[0]
    assert read_log(path).header.help is HelpLevel.ON_REQUEST
    assert replay_file(path, bench()).events == (hint,)


def test_hints_at_the_unit_come_from_the_benchs_own_advice() -> None:
    """The smallest movement that puts the case's start right, and nothing once it is right."""
    context, case = context_of(bench()), bench().case
    assert context.advising is not None
    start = case.start.with_values({"jaw_gap_mm": 0.0})
    best = advise(case, bench().meshes.head, bench().unit, start)[0]
    assert context.advising(start) == best.sentence != ""
    assert context.advising(start.with_values(best.changes)) == ""


def test_an_attempt_is_kept_with_the_users_data_and_resumed(user_folder: Path) -> None:
    """A new attempt lies in the user's data folder, is listed, and goes on where it was left."""
    attempt, path = new_attempt(bench(), seed=7)
    with attempt:
        attempt.do(do.ReadRequest(1.0))
        attempt.do(do.CheckAuthorisation(2.0))
    assert path.parent == attempts_folder()
    assert path.is_relative_to(user_folder)
    assert attempts_of(CASE) == (path,)
    assert attempts_of("both-jaws") == ()
    again, done = resume_attempt(path, bench())
    with again:
        assert done.fault is None
        assert replace(again.state, context=attempt.state.context) == attempt.state
        again.do(do.Wait(3.0))
    assert len(read_log(path).entries) == 3


def test_two_attempts_in_a_second_keep_both(tmp_path: Path) -> None:
    """Attempts never share a file; the newest comes first in the list."""
    paths = []
    for _ in range(3):
        attempt, path = new_attempt(bench(), 1, tmp_path)
        attempt.close()
        paths.append(path)
    assert len(set(paths)) == 3
    assert set(attempts_of(CASE, tmp_path)) == set(paths)


def test_an_attempt_at_a_changed_case_is_not_resumed(tmp_path: Path) -> None:
    """A case file that differs by one comment is another case; replaying tells it, too."""
    attempt, path = new_attempt(bench(), 1, tmp_path)
    attempt.close()
    copy = tmp_path / "lower_third_molar.yaml"
    copy.write_bytes(bench().files[0].read_bytes() + b"# changed\n")
    changed = replace(bench(), files=(copy, *bench().files[1:]))
    with pytest.raises(TrainerError, match="have been changed since the attempt"):
        resume_attempt(path, changed)
    fault = replay_file(path, changed).fault
    assert fault is not None and fault.line == 1


def test_a_log_without_its_header_is_not_listed(tmp_path: Path) -> None:
    """Of two attempts the one whose header was altered is left out."""
    attempt, path = new_attempt(bench(), 1, tmp_path)
    attempt.close()
    altered = tmp_path / f"{CASE}-altered.log"
    altered.write_bytes(path.read_bytes().replace(b'"seed":1', b'"seed":2'))
    assert attempts_of(CASE, tmp_path) == (path,)


def test_an_attempt_at_another_case_is_not_resumed(tmp_path: Path) -> None:
    """The header names the case; another workbench does not take it."""
    attempt, path = new_attempt(bench(), 1, tmp_path)
    attempt.close()
    other = replace(bench(), case=replace(bench().case, id="both-jaws"))
    with pytest.raises(TrainerError, match="is one at lower-third-molar, not at both-jaws"):
        resume_attempt(path, other)


def test_a_list_is_played_into_a_log(tmp_path: Path) -> None:
    """The log holds the list's commands and replays to the same state."""
    commands = load_commands(SOLUTION)
    out = tmp_path / "out.log"
    state = play(commands, bench(), out, "list.yaml")
    assert state.finished
    assert tuple(e.command for e in read_log(out).entries) == commands.commands
    assert replay_file(out, bench()).state.log == state.log
    assert first_radiation_s(state) > 0.0
    with pytest.raises(TrainerError, match="is there already"):
        play(commands, bench(), out, "list.yaml")


def test_a_refused_command_is_told_with_its_line(tmp_path: Path) -> None:
    """What cannot be done now names the line of the list and why."""
    commands = load_commands(SOLUTION)
    broken = replace(
        commands, commands=(do.Greet(1.0), *commands.commands), lines=(99, *commands.lines)
    )
    out = tmp_path / "out.log"
    with pytest.raises(NotValid) as told:
        play(broken, bench(), out, "list.yaml")
    (fault,) = told.value.faults
    assert (fault.path, fault.line, fault.key) == ("list.yaml", 99, "commands[0]")
    assert "Nobody is in the room" in fault.text
    assert not list(tmp_path.iterdir())


def test_a_play_that_failed_or_was_killed_can_be_done_again(tmp_path: Path) -> None:
    """Neither a refused list nor a half log left lying stands in the way of the next play."""
    commands, out = load_commands(SOLUTION), tmp_path / "out.log"
    first = replace(commands, commands=commands.commands[:3], lines=commands.lines[:3])
    late = replace(first, commands=(*first.commands, do.Greet(0.0)), lines=(*first.lines, 99))
    with pytest.raises(NotValid):
        play(late, bench(), out, "list.yaml")
    (tmp_path / "out.log.half").write_bytes(b"half")
    play(first, bench(), out, "list.yaml")
    assert [path.name for path in tmp_path.iterdir()] == ["out.log"]
    assert len(read_log(out).entries) == 3


def test_a_list_for_another_case_is_refused(tmp_path: Path) -> None:
    """The list's case must be the workbench's; nothing is written then."""
    commands = replace(load_commands(SOLUTION), case="both-jaws")
    out = tmp_path / "out.log"
    with pytest.raises(NotValid, match="is for both-jaws, not for lower-third-molar"):
        play(commands, bench(), out, "list.yaml")
    assert not out.exists()
