"""Items of a checklist."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.engine.statistics.items import item_figures
from trainer.errors import NotValid

# Six people by five items, the table of the reliability test R5.
MARKS = [
    [1, 1, 1, 0, 1],
    [1, 1, 0, 0, 0],
    [1] * 5,
    [1, 0, 0, 0, 0],
    [1, 1, 1, 0, 0],
    [1, 1, 1, 1, 0],
]
NAMES = ["identity", "metal", "scout", "reaction", "record"]


def test_difficulty_is_the_share_that_did_it():
    """Shares of six: 6, 5, 4, 2, 2."""
    found = item_figures(MARKS, NAMES)
    assert [f.name for f in found] == NAMES
    assert [round(6 * f.difficulty.rate) for f in found] == [6, 5, 4, 2, 2]
    assert found[1].difficulty.low < 5 / 6 < found[1].difficulty.high


def test_discrimination_is_the_point_biserial_correlation_with_the_rest():
    """(M1 - M0) / s * sqrt(p q) with the rest score's means (textbook formula, from memory)."""
    table = np.asarray(MARKS, float)
    figures = item_figures(MARKS, NAMES)
    for i in range(1, 5):
        mark, rest = table[:, i], table.sum(axis=1) - table[:, i]
        p = mark.mean()
        gap = rest[mark == 1].mean() - rest[mark == 0].mean()
        assert figures[i].discrimination == pytest.approx(gap / rest.std() * math.sqrt(p * (1 - p)))


def test_an_item_that_all_did_has_no_discrimination():
    """Where all did the same there is no number, and the warning says the item may still matter."""
    first = item_figures(MARKS, NAMES)[0]
    assert math.isnan(first.discrimination)
    assert "may still matter" in first.warnings[1]


def test_an_item_done_by_the_weaker_is_told():
    """An item that goes against the rest sends the instructor to its wording."""
    rows = ["1110", "1110", "1101", "0001", "0001"] * 6
    against = [[int(mark) for mark in row] for row in rows]
    found = item_figures(against, list("abcd"))
    assert found[3].discrimination < 0.0
    assert found[3].warnings == (
        "Those who do the item do worse elsewhere: read its wording again.",
    )
    assert found[1].warnings == ()


def test_few_attempts_are_told():
    """Fewer than 30 attempts carry a warning on every item."""
    assert all("6 attempts" in f.warnings[0] for f in item_figures(MARKS, NAMES))


@pytest.mark.parametrize(("marks", "names"), [([[1, 0]], ["a"]), ([[0.5]], ["a"]), ([], [])])
def test_marks_that_are_no_table_are_refused(marks, names):
    """Columns must fit the names, marks be 0 or 1, and an attempt be there."""
    with pytest.raises(NotValid, match="items"):
        item_figures(marks, names)
