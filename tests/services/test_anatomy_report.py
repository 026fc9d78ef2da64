"""The measures of a head as the command tells them."""

from __future__ import annotations

import contextlib
import io
import json
from typing import Any

import pytest

from trainer.anatomy.measures.measures import measurable
from trainer.cli.common import DONE
from trainer.cli.main import main
from trainer.errors import NotReadable
from trainer.models.subject import MEAN_MAN
from trainer.services.anatomy_report import measures_report, measures_text
from trainer.services.assets import known_structure_ids

IDS = [m.id for m in measurable(known_structure_ids())]


@pytest.fixture(scope="module")
def printed() -> str:
    """What `trainer anatomy --measure --json --person sex=female` prints."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["anatomy", "--measure", "--json", "--person", "sex=female"]) == DONE
    return out.getvalue()


@pytest.fixture(scope="module")
def report(printed: str) -> dict[str, Any]:
    """The same, read back."""
    found: dict[str, Any] = json.loads(printed)
    return found


def test_every_measure_is_told_beside_its_norm(report: dict[str, Any]) -> None:
    """Each measure has value, norm of the sex, source and mark, and its distance in deviations."""
    rows = {row["id"]: row for row in report["measures"]}
    assert list(rows) == IDS
    breadth = rows["head-breadth"]
    # ANSUR II, US Army 2012: women 147.8 (5.2)
    assert (breadth["norm"], breadth["sd"], breadth["unit"]) == (147.8, 5.2, "mm")
    assert breadth["sd_off"] == pytest.approx((breadth["value"] - 147.8) / 5.2, abs=0.01)
    assert breadth["within"] is True
    assert all(row["source"] and row["mark"] for row in report["measures"])
    assert report["in_words"] == "woman of 40"


def test_the_text_has_a_line_for_each_measure_and_the_caution(report: dict[str, Any]) -> None:
    """The text has one line a measure, marks what lies outside, and ends with the caution."""
    lines = measures_text(report).splitlines()
    rows = lines[2 : 2 + len(IDS)]
    for row, line in zip(report["measures"], rows, strict=True):
        assert row["name"] in line and row["source"] in line
        assert line.startswith("!") is (row["within"] is False)
    assert "Training only" in lines[-1]


def test_a_missing_head_is_told(tmp_path: Any) -> None:
    """Without the built head nothing is measured, and the error says how to make it."""
    with pytest.raises(NotReadable, match="build-head"):
        measures_report(MEAN_MAN, tmp_path)
