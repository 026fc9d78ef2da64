"""Opening cases and reading settings."""

from __future__ import annotations

import pytest

from trainer.errors import NotFound, NotValid
from trainer.services.workbench import DEMO_CASE, open_workbench, setup_from_words


@pytest.fixture(scope="module")
def bench():
    """The demo case."""
    return open_workbench(DEMO_CASE)


def test_words_are_laid_over_the_start(bench):
    """Numbers, choices and switches given as words change just those values."""
    words = ["chin_height_mm=-20", "field=50x50", "arm_turned=on", "region=upper-jaw"]
    setup = setup_from_words(bench.case.start, bench.unit, words)
    assert (setup.chin_height_mm, setup.field, setup.arm_turned) == (-20.0, "50x50", True)
    assert setup.region == "upper-jaw"
    assert setup.yaw_deg == bench.case.start.yaw_deg


def test_every_wrong_word_is_told_at_once(bench):
    """All wrong words are reported together, each with its key."""
    with pytest.raises(NotValid) as caught:
        setup_from_words(bench.case.start, bench.unit, ["chin=1", "yaw_deg=x", "roll_deg"])
    assert [f.key for f in caught.value.faults] == ["chin", "yaw_deg", "roll_deg"]


def test_a_field_that_the_region_does_not_serve_is_refused(bench):
    """A field and region that do not go together are told."""
    with pytest.raises(NotValid, match="140x60 serves joints, not lower-jaw"):
        setup_from_words(bench.case.start, bench.unit, ["field=140x60"])


def test_unknown_case_is_not_found():
    """A case that does not exist raises and offers the nearest name."""
    with pytest.raises(NotFound, match="lower-third-molar"):
        open_workbench("lower-third-molars")
