"""When to practise again: the kept library against golden values, and its use for families."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from importlib.metadata import version

import pytest
from fsrs import Card, Rating, Scheduler
from helpers.attempts import START, attempt
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.learning.practice import PracticeCase
from trainer.models.learning import HelpLevel, Task
from trainer.services.learning.spacing import (
    FAMILIES,
    LONGEST_DAYS,
    families_due,
    family_card,
    grade,
    interval_days,
    months_later,
    upkeep,
)

NOW = datetime(2026, 3, 1, tzinfo=UTC)
# The library as its cards of facts are used: steps of minutes, no chance.
FACTS = Scheduler(enable_fuzzing=False)


def test_weights_are_those_of_the_open_algorithm():
    """The 21 default weights of FSRS-6 (several open implementations)."""
    assert FACTS.parameters == (
        *(0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796),
        *(1.4835, 0.0614, 0.2629, 1.6483, 0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542),
    )
    assert FAMILIES.parameters == FACTS.parameters
    assert version("fsrs").startswith("6.")


def test_intervals_of_a_known_row_of_grades():
    """F1: the golden row of intervals in days that many open implementations carry.

    An older stored test file has 497 and 20 in two places; this is the row of the pinned library.
    """
    card, now, intervals = Card(card_id=1, due=START), START, []
    for mark in (3, 3, 3, 3, 3, 3, 1, 1, 3, 3, 3, 3, 3):
        card, _ = FACTS.review_card(card, Rating(mark), now)
        assert card.last_review is not None
        intervals.append((card.due - card.last_review).days)
        now = card.due
    assert intervals == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]


def test_stability_and_difficulty_of_a_known_row():
    """F2: the golden stability and difficulty after grades 1 3 3 3 3 3 at given gaps."""
    card, now = Card(card_id=1, due=START), START
    for mark, gap in zip((1, 3, 3, 3, 3, 3), (0, 0, 1, 3, 8, 21), strict=True):
        now += timedelta(days=gap)
        card, _ = FACTS.review_card(card, Rating(mark), now)
    assert card.stability == pytest.approx(53.6269, abs=1e-4)
    assert card.difficulty == pytest.approx(6.35749, abs=1e-4)


@pytest.mark.parametrize(
    ("days", "stability", "kept"),
    [(7, 2.3065, 0.808310), (30, 10.0, 0.809388), (365, 100.0, 0.790897)],
)
def test_what_is_kept_after_days(days, stability, kept):
    """F3: the estimate after some days (own, from the published formula)."""
    card = Card(card_id=1, due=START, stability=stability, difficulty=5.0, last_review=START)
    found = FAMILIES.get_card_retrievability(card, START + timedelta(days=days))
    assert round(found, 6) == kept
    assert interval_days(stability, found) == pytest.approx(days, rel=1e-9)


def test_intervals_for_a_wanted_estimate():
    """F3: days to .85 and .80 for a stability of ten days; at .9 they equal the stability (own)."""
    assert round(interval_days(10.0, 0.85), 3) == 19.064
    assert round(interval_days(10.0, 0.80), 3) == 33.160
    assert interval_days(10.0, 0.90) == pytest.approx(10.0, rel=1e-12)


@pytest.mark.parametrize(
    ("change", "first", "mark"),
    [
        ({"critical": ("target-outside",), "mastered": False, "percent": 99.0}, True, Rating.Again),
        ({"mastered": False, "percent": 89.9}, True, Rating.Hard),
        ({"needless_retake": True}, True, Rating.Hard),
        ({"scout_pairs": 2}, True, Rating.Good),
        ({}, False, Rating.Good),
        ({}, True, Rating.Easy),
        ({"scout_pairs": 0}, True, Rating.Easy),
    ],
)
def test_grades_come_from_evidence(change, first, mark):
    """Critical fail 1, below mastery 2, mastery 3, first time without a repeated scout 4."""
    assert grade(attempt(**change), first) is mark


def test_a_family_that_goes_well_is_due_later_and_later():
    """Successes when due: 8, 43 days, then the cap of 90; hand check 8 = S0(4) 8.2956 rounded."""
    done = [attempt(0)]
    gaps = []
    for _ in range(4):
        card = family_card(done, Task.SINGLE_SITE)
        gaps.append((card.due - card.last_review).days)
        done.append(attempt((card.due - START).days))
    assert gaps[0] == 8
    assert gaps[0] < gaps[1] < gaps[2] <= LONGEST_DAYS == gaps[3]


@given(st.lists(st.tuples(st.integers(0, 200), st.booleans()), min_size=1, max_size=25))
def test_no_interval_leaves_one_to_ninety_days(rows):
    """Whatever the results, the next date is 1 to 90 days after the last attempt."""
    done, day = [], 0
    for gap, success in rows:
        day += gap
        done.append(attempt(day, success, critical=() if success else ("target-outside",)))
    card = family_card(done, Task.SINGLE_SITE)
    assert 1 <= (card.due - card.last_review).days <= LONGEST_DAYS


def test_only_unassisted_attempts_of_the_task_are_reviews():
    """Helped attempts and other tasks leave a family's date alone."""
    done = [attempt(0)]
    more = [attempt(1, help=HelpLevel.LINES), attempt(2, task=Task.EAR)]
    assert family_card([*done, *more], Task.SINGLE_SITE) == family_card(done, Task.SINGLE_SITE)
    assert family_card(more[:1], Task.SINGLE_SITE) is None


CASES = [
    PracticeCase("case-a", Task.SINGLE_SITE, 1),
    PracticeCase("case-b", Task.SINGLE_SITE, 2),
    PracticeCase("ear", Task.EAR, 4),
    PracticeCase("sinus", Task.SINUS, 2),
]


def test_families_are_due_in_order_with_a_different_case():
    """The most overdue family stands first, and the case is not the one met last."""
    done = [attempt(0), attempt(50, False, task=Task.EAR, case_id="ear")]
    site, ear = families_due(CASES, done, NOW)
    assert [(f.task, f.case.id) for f in (site, ear)] == [
        (Task.SINGLE_SITE, "case-b"),
        (Task.EAR, "ear"),
    ]
    assert site.due == START + timedelta(days=8)
    assert site.is_due and site.last == START
    assert "one case of this task only" in ear.sentence
    assert site.sentence.startswith("Single sites: overdue by 47 days (estimated ")


def test_a_family_not_yet_due_says_when():
    """Before its date the sentence counts days, and the estimate is above 90 %."""
    (site,) = families_due(CASES[:2], [attempt(0)], START + timedelta(days=5))
    assert not site.is_due
    assert site.retention > 0.9
    assert site.sentence.startswith("Single sites: due in 3 days")


def test_the_same_attempts_give_the_same_dates():
    """No clock and no chance: two computations agree to the bit."""
    done = [attempt(i, i % 3 > 0, task=list(Task)[i % 4]) for i in range(20)]
    assert families_due(CASES, done, NOW) == families_due(CASES, done[::-1], NOW)
    card = family_card(done, Task.SINGLE_SITE)
    assert json.loads(card.to_json())["card_id"] == 0


def test_refresh_after_three_months_and_check_after_six():
    """Refresh counts from the latest unassisted attempt, the check from the latest exam attempt."""
    done = [attempt(0), attempt(20, help=HelpLevel.ON_REQUEST), attempt(40, help=HelpLevel.OPEN)]
    found = upkeep(done, NOW)
    assert found.refresh_on == date(2026, 4, 25)
    assert found.recheck_on == date(2026, 7, 5)
    assert found.sentence == (
        "A refresh is due on 2026-04-25. A check without help is due on 2026-07-05."
    )
    late = upkeep(done, datetime(2026, 12, 1, tzinfo=UTC)).sentence
    assert late.count("was due") == 2


def test_nothing_to_keep_up():
    """Without an unassisted attempt there are no dates."""
    assert upkeep([attempt(0, help=HelpLevel.OPEN)], NOW).refresh_on is None


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2027, 11, 30), 3, date(2028, 2, 29)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2026, 1, 5), 12, date(2027, 1, 5)),
    ],
)
def test_months_end_on_their_last_day(day, months, later):
    """A day that the month lacks becomes its last one."""
    assert months_later(day, months) == later
