"""Making the logs of the shipped solutions again."""

from __future__ import annotations

from pathlib import Path

from trainer.services.solutions import SOLUTIONS, log_of, make_all_solutions, solution_files

NAME = "lower_third_molar.yaml"


def test_every_list_has_its_log_beside_it() -> None:
    """The lists are found by the case they solve."""
    found = solution_files()
    assert found["lower-third-molar"] == SOLUTIONS / NAME
    assert all(log_of(path).is_file() for path in found.values())


def test_a_log_is_made_again_from_its_list(tmp_path: Path) -> None:
    """The log appears beside the list, with the bytes of the shipped one, and is told to pass."""
    path = tmp_path / NAME
    path.write_bytes((SOLUTIONS / NAME).read_bytes())
    told: list[str] = []
    assert make_all_solutions(told.append, [path]) == []
    assert told == ["lower_third_molar.log: passes"]
    assert log_of(path).read_bytes() == log_of(SOLUTIONS / NAME).read_bytes()
    assert make_all_solutions(told.append, [path]) == []


def test_a_list_that_fails_keeps_the_old_log(tmp_path: Path) -> None:
    """A list that cannot be done leaves the log as it was; one that misses the target is named."""
    path, text = tmp_path / NAME, (SOLUTIONS / NAME).read_text(encoding="utf-8")
    log_of(path).write_text("old", encoding="utf-8")
    path.write_text(text.replace("do: greet", "do: let-go"), encoding="utf-8")
    told: list[str] = []
    assert make_all_solutions(told.append, [path]) == [path]
    assert "cannot be done here" in told[0]
    assert log_of(path).read_text(encoding="utf-8") == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == [log_of(path).name, NAME]
    path.write_text(text.replace("chin_height_mm: -", "chin_height_mm: "), encoding="utf-8")
    assert make_all_solutions(told.append, [path]) == [path]
    assert told[1].endswith("DOES NOT PASS")
