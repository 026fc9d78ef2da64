"""Rejects in words."""

from __future__ import annotations

import pytest
from helpers.attempts import supervised

from trainer.engine.statistics.rejects import supervised_rejects
from trainer.services.learning.reject_words import published_lines, reject_lines

# Rates with their Wilson intervals in our table of published retakes (training reference, 3.1),
# computed there apart from this program.
PUBLISHED = (
    "80 of 1737 (4.6 %, 95 % interval 3.7–5.7 %)",
    "82 of 4986 (1.6 %, 95 % interval 1.3–2.0 %)",
)


@pytest.mark.parametrize("line", PUBLISHED)
def test_published_rates_have_their_intervals(line: str) -> None:
    """A published rate stands there with count, rate and interval."""
    assert any(each.endswith(line) for each in published_lines())


def test_published_causes_add_up() -> None:
    """The published causes are those of the 80 repeats: 46 coverage, 22 motion, 12 others."""
    lines = list(published_lines())
    below = lines[lines.index("Published causes of the 80 repeats in Hong Kong:") + 1 :]
    assert [line.split(" (")[0].strip() for line in below] == [
        "coverage: 46",
        "motion: 22",
        "other: 12",
    ]


def test_own_rejects_name_only_causes_that_were_there() -> None:
    """One reject of four has its rate, interval, cause and the warning of a small number."""
    made = [supervised(0, "N", "motion"), *(supervised(i) for i in range(1, 4))]
    lines = list(reject_lines(supervised_rejects(made)))
    # Wilson's formula for 1 of 4, computed apart with z = 1.96: 0.0456 to 0.6994
    assert lines[0].endswith("1 of 4 (25 %, 95 % interval 5–70 %)")
    assert lines[1].startswith("  motion: 1 (100 %")
    assert len(lines) == 3 and "at least 100" in lines[2]


def test_without_an_image_there_is_no_rate() -> None:
    """Of nothing there is no percentage."""
    first = next(reject_lines(supervised_rejects([])))
    assert first.endswith("0 of 0")
