"""Command lists: times, values, and every fault with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.errors import NotValid
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import IdentityItem
from trainer.models.learning import HelpLevel
from trainer.services.command_list import load_commands

TEXT = """# A list.
schema_version: 1
kind: commands
case: lower-third-molar
seed: 4
commands:
  - {do: read-request}
  - {do: ask-identity, after_s: 2.5, item: name, open_question: true}
  - {do: adjust, after_s: 0, values: {yaw_deg: 3}}
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "list.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_list_is_read_with_its_times(tmp_path: Path) -> None:
    """Times add up, two seconds each where nothing is said."""
    found = load_commands(written(tmp_path, TEXT))
    assert (found.case, found.seed, found.lines) == ("lower-third-molar", 4, (7, 8, 9))
    assert found.commands == (
        do.ReadRequest(2.0),
        do.AskIdentity(4.5, IdentityItem.NAME, True),
        do.Adjust(4.5, {"yaw_deg": 3.0}),
    )


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "text"),
    [
        ("do: read-request", "do: read-requst", 7, "commands[0].do", "did you mean 'read-request'"),
        ("item: name", "item: nme", 8, "commands[1].item", "must be one of name"),
        (", open_question: true", "", 8, "commands[1].open_question", "missing"),
        ("after_s: 2.5", "after_s: -1", 8, "commands[1].after_s", "must be 0 to 3600, got -1"),
        (
            "after_s: 2.5",
            "loud: true",
            8,
            "commands[1].loud",
            "known here: after_s, item, open_question",
        ),
        ("after_s: 2.5", "aftr_s: 2.5", 8, "commands[1].aftr_s", "did you mean 'after_s'?"),
        ("after_s: 2.5", "at_s: 2.5", 8, "commands[1].at_s", "told by after_s"),
        ("yaw_deg: 3", "yaw_deg: far", 9, "commands[2].values.yaw_deg", "must be a number"),
        ("seed: 4", "seed: -4", 5, "seed", "must be 0 to 999999"),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path, old, new, line, key, text) -> None:
    """Each fault of a list names line, key and what is expected."""
    assert TEXT.count(old) == 1
    with pytest.raises(NotValid) as told:
        load_commands(written(tmp_path, TEXT.replace(old, new)))
    (fault,) = told.value.faults
    assert (fault.line, fault.key) == (line, key)
    assert text in fault.text


@pytest.mark.parametrize("key", ["runs", "rejected_runs", "scouts"])
def test_a_record_counts_from_nothing_up(tmp_path: Path, key: str) -> None:
    """A record of less than no runs or scouts is refused."""
    counts = {"runs": 1, "rejected_runs": 0, "scouts": 2}
    record = "person: rowan, region: lower-jaw, field: 40x40, voxel_um: 80, grade: null, "
    record += "kap_noted: true, "
    wrong = counts | {key: -1}
    with pytest.raises(NotValid) as told:
        load_commands(written(tmp_path, _with_record(record, wrong)))
    (fault,) = told.value.faults
    assert (fault.line, fault.key) == (10, f"commands[3].{key}")
    assert fault.text == "must be 0 or more, got -1"
    assert len(load_commands(written(tmp_path, _with_record(record, counts))).commands) == 4


def _with_record(record: str, counts: dict[str, int]) -> str:
    words = record + ", ".join(f"{key}: {count}" for key, count in counts.items())
    return f"{TEXT}  - {{do: write-record, {words}}}\n"


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """Faults of several commands are told together, from top to bottom."""
    text = TEXT.replace("read-request", "sing").replace("item: name", "item: shoe size")
    with pytest.raises(NotValid) as told:
        load_commands(written(tmp_path, text))
    assert [f.line for f in told.value.faults] == [7, 8]


def test_a_list_may_name_its_help_level(tmp_path: Path) -> None:
    """Without a word it is played as an exam; another word than the five is a fault."""
    path = tmp_path / "list.yaml"
    path.write_text(TEXT, encoding="utf-8")
    assert load_commands(path).help is HelpLevel.NONE
    path.write_text(TEXT.replace("seed:", "help: on-request\nseed:"), encoding="utf-8")
    assert load_commands(path).help is HelpLevel.ON_REQUEST
    path.write_text(TEXT.replace("seed:", "help: much\nseed:"), encoding="utf-8")
    with pytest.raises(NotValid, match="help: must be one of demonstration, open, lines"):
        load_commands(path)
