"""The command ``trainer debrief``."""

from __future__ import annotations

import pytest

from trainer.cli.main import main
from trainer.services.appointment import new_attempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import DEMO_CASE, open_workbench

LOG = SOLUTIONS / "lower_third_molar.log"


def test_it_tells_the_debrief_of_a_log(capsys) -> None:
    """Result, facts, aim and caution of a shipped solution."""
    assert main(["debrief", str(LOG)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Result\n  5 of 5 required structures are held")
    assert "Three facts" in told
    assert "One aim" in told
    assert told.strip().endswith(SHORT_CAUTION)


def test_an_attempt_under_way_is_not_revealed(capsys, tmp_path) -> None:
    """Before its end an attempt has no debrief, and nothing of its result is told."""
    attempt, path = new_attempt(open_workbench(DEMO_CASE), 1, tmp_path)
    attempt.close()
    assert main(["debrief", str(path)]) != 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "not finished" in err
    assert "Nothing was changed" in err


@pytest.mark.parametrize("part", [b"read-request", b"finish"])
def test_an_altered_log_is_refused(part: bytes, capsys, tmp_path) -> None:
    """A log whose bytes were changed is named with its line, and told nothing of."""
    path = tmp_path / "altered.log"
    data = LOG.read_bytes()
    path.write_bytes(data.replace(part, part.upper(), 1))
    assert main(["debrief", str(path)]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "altered.log" in err
