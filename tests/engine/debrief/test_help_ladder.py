"""Help fades with skill and comes back after a danger."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.debrief.help_ladder import FIRST_HELP, LADDER, is_clean, next_help
from trainer.models.learning import HelpLevel


@dataclass(frozen=True)
class Done:
    """An attempt that is over."""

    case_id: str = "a"
    help: HelpLevel = HelpLevel.LINES
    critical: tuple[str, ...] = ()
    mastered: bool = True
    needless_retake: bool = False


ATTEMPTS = st.builds(
    Done,
    case_id=st.sampled_from("abc"),
    help=st.sampled_from(HelpLevel),
    critical=st.sampled_from([(), ("target-outside",)]),
    mastered=st.booleans(),
    needless_retake=st.booleans(),
)


def test_the_ladder_leads_from_most_to_none() -> None:
    """Five steps, demonstration first and the exam last (training reference, H4 to H0)."""
    assert LADDER == ("demonstration", "open", "lines", "on-request", "none")


def test_who_begins_is_shown_it_first() -> None:
    """Without an attempt the demonstration is suggested."""
    assert next_help([])[0] is FIRST_HELP is HelpLevel.DEMONSTRATION


def test_two_clean_attempts_in_different_cases_take_a_step_away() -> None:
    """Clean in two cases: one step less; twice in the same case: not yet."""
    assert next_help([Done("a"), Done("b")])[0] is HelpLevel.ON_REQUEST
    assert next_help([Done("a"), Done("a")])[0] is HelpLevel.LINES
    assert "1 more clean attempt" in next_help([Done("a"), Done("a")])[1]


@pytest.mark.parametrize(
    "last", [Done("b", mastered=False), Done("b", needless_retake=True), Done("b", HelpLevel.OPEN)]
)
def test_what_is_not_clean_or_at_another_level_does_not_count(last: Done) -> None:
    """A clean attempt before one below the mark, with a needless repeat or more help is alone."""
    found, why = next_help([Done("a"), last])
    assert found is last.help
    assert "clean" in why


def test_a_critical_fail_gives_a_step_back() -> None:
    """However good the attempts before, a critical item that failed brings one step more."""
    fail = Done("c", critical=("not-watched",))
    found, why = next_help([Done("a"), Done("b"), fail])
    assert found is HelpLevel.OPEN
    assert "critical" in why


def test_the_ends_of_the_ladder_hold() -> None:
    """Below the exam and above the demonstration there is nothing."""
    none = HelpLevel.NONE
    assert next_help([Done("a", none), Done("b", none)])[0] is none
    shown = Done("a", HelpLevel.DEMONSTRATION, critical=("x",))
    assert next_help([shown])[0] is HelpLevel.DEMONSTRATION


@given(st.lists(ATTEMPTS, min_size=1, max_size=8))
def test_it_moves_one_step_at_most_and_never_down_after_a_danger(history: list[Done]) -> None:
    """From the last attempt's level at most one step; less help only after a clean attempt."""
    found, why = next_help(history)
    step = LADDER.index(found) - LADDER.index(history[-1].help)
    assert abs(step) <= 1
    assert step <= 0 or is_clean(history[-1])
    assert step >= 0 or history[-1].critical
    assert why.endswith(".")
