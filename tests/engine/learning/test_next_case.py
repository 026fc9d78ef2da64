"""The next case: weakest skill first, with its reason."""

from __future__ import annotations

import pytest
from helpers.attempts import attempt, score_of_blocks

from trainer.engine.learning.next_case import block_care, block_shares, next_case, skills
from trainer.engine.learning.practice import PracticeCase
from trainer.errors import NotFound
from trainer.models.learning import Block, HelpLevel, Task

SITE, JAW, EAR = Task.SINGLE_SITE, Task.LOWER_JAW, Task.EAR
CASES = [
    PracticeCase("site-1", SITE, 1),
    PracticeCase("site-1b", SITE, 1),
    PracticeCase("site-2", SITE, 2),
    PracticeCase("jaw-2", JAW, 2),
    PracticeCase("jaw-3", JAW, 3),
    PracticeCase("ear-4", EAR, 4),
]


def met(*rows: tuple[str, bool]) -> list:
    """Attempts at these cases, a success or not."""
    task_of = {c.id: c.task for c in CASES}
    return [
        attempt(i, success, case_id=case, task=task_of[case])
        for i, (case, success) in enumerate(rows)
    ]


def test_a_beginner_starts_with_the_easiest_task():
    """Where nothing is known, the task with the easiest case comes first."""
    found = next_case(CASES, [])
    assert found.case.id == "site-1"
    assert found.reason == "Single sites: not tried without help yet."
    assert found.care is None


def test_little_evidence_counts_as_weakness():
    """1 of 1 stands behind 9 of 10: the lower end of the interval decides, not the rate.

    Wilson 95 %: 1/1 from 21 %, 9/10 from 60 %.
    """
    rows = [(f"site-{'12'[i % 2]}", i > 0) for i in range(10)]
    ranked = skills(CASES[:5], met(*rows, ("jaw-2", True)))
    assert [s.task for s in ranked] == [JAW, SITE]
    assert (ranked[0].rate.rate, ranked[1].rate.rate) == (1.0, 0.9)
    assert [round(s.rate.low, 2) for s in ranked] == [0.21, 0.60]


def test_the_weakest_task_is_suggested_with_its_numbers():
    """The reason names task, counts and the lower end of the rate."""
    rows = [("ear-4", True), ("jaw-2", True), ("jaw-3", False), ("site-1", True), ("ear-4", True)]
    found = next_case(CASES, met(*rows))
    assert found.skill.task is JAW
    assert found.reason.startswith(
        "The lower jaw: 1 of the latest 2 unassisted attempts were successes, so the true rate may "
        "be as low as 9 %."
    )


def test_the_task_practised_last_is_passed_over_once():
    """The weakest task is left for the second weakest when it came last, and this is said."""
    rows = [("ear-4", True), ("site-1", True), ("jaw-2", False)]
    found = next_case(CASES, met(*rows))
    assert found.skill.task is not JAW
    assert "The lower jaw would be weaker still, but came last" in found.reason
    alone = [c for c in CASES if c.task is JAW]
    assert next_case(alone, met(*rows)).case.id == "jaw-3"


def test_levels_rise_with_clean_cases():
    """The next level comes after successes in two different cases of the level."""
    sites = CASES[:3]
    assert next_case(sites, met(("site-1", True), ("site-1", True))).case.id == "site-1b"
    assert next_case(sites, met(("site-1", True), ("site-1b", True))).case.id == "site-2"
    done = met(("site-1", True), ("site-1b", True), ("site-2", True))
    assert next_case(sites, done).case.id == "site-1"


def test_helped_attempts_are_no_evidence():
    """A skill is judged by unassisted attempts only."""
    helped = [attempt(i, case_id="ear-4", task=EAR, help=HelpLevel.LINES) for i in range(5)]
    assert next(s for s in skills(CASES, helped) if s.task is EAR).attempts == 0


def test_only_the_latest_ten_attempts_are_looked_at():
    """What was weak long ago is forgotten after ten attempts."""
    rows = [("ear-4", False)] * 5 + [("ear-4", True)] * 10
    (ear,) = [s for s in skills(CASES, met(*rows)) if s.task is EAR]
    assert (ear.successes, ear.attempts) == (10, 10)


def test_the_block_with_the_lowest_lower_end_needs_care():
    """An uncertain block goes before a slightly lower but certain one.

    Hand check: shares .9 .5 .7, mean .7, SD .2, t(2) 4.3027, low .7 - .4968 = .2032.
    """
    shares = [(0.9, 0.65), (0.5, 0.65), (0.7, 0.65)]
    attempts = [
        attempt(i, score=score_of_blocks({Block.POSITION: p, Block.REVIEW: r}))
        for i, (p, r) in enumerate(shares)
    ]
    care = block_care(attempts)
    assert care is not None
    assert (care.block, care.attempts) == (Block.POSITION, 3)
    assert (round(care.mean, 4), round(care.low, 4)) == (0.7, 0.2032)
    assert "Take most care with position: 70 % of its points" in next_case(CASES, attempts).reason


def test_two_attempts_say_nothing_on_blocks():
    """With fewer than three attempts no block is named."""
    assert block_care([attempt(i) for i in range(2)]) is None


def test_a_block_that_did_not_apply_is_left_out():
    """A block without items has no share."""
    score = score_of_blocks({Block.EXPOSURE: 0.0})
    score["blocks"][-2]["items"] = []
    assert Block.EXPOSURE not in block_shares(score)
    assert block_shares(score)[Block.REVIEW] == 1.0


def test_the_same_evidence_gives_the_same_suggestion():
    """The order of the list does not matter."""
    rows = met(("ear-4", True), ("jaw-2", False), ("site-1", True), ("site-1b", False))
    assert next_case(CASES, rows) == next_case(CASES, rows[::-1])


def test_no_case_is_told():
    """Without a case there is no suggestion but words."""
    with pytest.raises(NotFound, match="no case to practise"):
        next_case([], [])
