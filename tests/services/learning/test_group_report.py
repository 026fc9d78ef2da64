"""A group for its instructor: no names, no ranking, nobody recognisable."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from helpers.attempts import attempt, score_of_blocks, series

from trainer.errors import TrainerError
from trainer.models.appointment_words import CriticalItem
from trainer.models.learning import Block, HelpLevel, Task
from trainer.models.records import StoredAttempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.learning.group_report import (
    Spread,
    case_items,
    group_data,
    group_text,
    group_view,
)

PEOPLE = ["alder", "birch", "cedar", "elder", "hazel"]


def group(people: int = 5) -> list[StoredAttempt]:
    """One person after another with one attempt more and ten points more each; the ear by three."""
    found = []
    for i, name in enumerate(PEOPLE[:people]):
        for n in range(i + 1):
            score = score_of_blocks({Block.POSITION: 0.5 + 0.1 * i})
            found.append(attempt(n, learner_id=name, percent=50.0 + 10.0 * i, score=score))
        if i < 3:
            ear = attempt(90, False, learner_id=name, task=Task.EAR, percent=33.25)
            found.append(replace(ear, critical=("target-outside",)))
    return found


def test_every_person_counts_once():
    """Median and quartiles of 50 60 70 80 90 are 70, 60 and 80, however often each practised."""
    view = group_view(group())
    site = view.tasks[0]
    assert (site.people, site.attempts, site.successes) == (5, 15, 15)
    assert site.percent == Spread(60.0, 70.0, 80.0)
    assert (view.people, view.attempts, view.unassisted) == (5, 18, 18)


def test_blocks_are_given_in_percent_of_their_points():
    """A block's spread is over people's median shares, checked with NumPy."""
    view = group_view(group())
    (row,) = [r for r in view.blocks if r.name == "position"]
    # Three people's single attempt at the ear earned all of its points.
    medians = [
        100.0 * np.median([0.5 + 0.1 * i] * (i + 1) + ([1.0] if i < 3 else [])) for i in range(5)
    ]
    assert row.percent == Spread(*np.percentile(medians, [25, 50, 75]).round(1).tolist())


def test_three_people_behind_a_task_are_not_shown():
    """A task that three tried has counts of people and attempts, and no figure of how they did."""
    ear = group_view(group()).tasks[1]
    assert (ear.name, ear.people, ear.attempts) == ("the ear", 3, 3)
    assert ear.percent is None and ear.successes is None


@pytest.mark.parametrize("people", [0, 1, 4])
def test_a_small_group_shows_no_distribution(people):
    """Below five people there are counts only, in data and in text."""
    view = group_view(group(people))
    assert view.critical is None and view.ready is None and view.rejects is None
    assert all(r.percent is None and r.successes is None for r in (*view.tasks, *view.blocks))
    text = group_text(view)
    assert "median" not in text
    assert "33" not in text
    assert "fewer than 5 people: not shown" in text


def test_critical_items_are_counted():
    """Critical items stand by number of attempts, commonest first."""
    more = [attempt(95, learner_id="hazel", critical=("target-outside", "identity-not-confirmed"))]
    view = group_view([*group(), *more])
    assert view.critical == ((CriticalItem.TARGET_OUTSIDE, 4), (CriticalItem.IDENTITY, 1))
    assert "  target outside: 4\n  identity not confirmed: 1" in group_text(view)


def test_learning_signals_are_counted_by_person():
    """14 clean attempts make two of five ready; a third one has had an alarm since."""
    results = ["S" * 14, "S" * 14, "S" * 14 + "FFF", "S" * 5, "S" * 5]
    rows = [series(r, learner_id=name) for r, name in zip(results, PEOPLE, strict=True)]
    view = group_view([a for row in rows for a in row])
    assert view.ready == 2
    assert "Ready for observed practice by their learning chart: 2 people" in group_text(view)


def test_helped_attempts_are_counted_and_not_judged():
    """Helped attempts raise the number of attempts and nothing else."""
    helped = [attempt(99, learner_id=n, percent=1.0, help=HelpLevel.OPEN) for n in PEOPLE]
    view, more = group_view(group()), group_view([*group(), *helped])
    assert more.attempts == view.attempts + 5
    assert group_data(replace(more, attempts=view.attempts)) == group_data(view)


def test_no_name_and_no_order_of_persons_gets_out():
    """Neither text nor data holds a learner's id, and exchanging people changes nothing."""
    attempts = group()
    view = group_view(attempts)
    data = json.dumps(group_data(view), allow_nan=False)
    assert not [name for name in PEOPLE if name in data or name in group_text(view)]
    other = dict(zip(PEOPLE, PEOPLE[::-1], strict=True))
    exchanged = group_view([replace(a, learner_id=other[a.learner_id]) for a in attempts])
    assert group_data(exchanged) == group_data(view)


def test_rejects_are_shown_with_their_interval():
    """3 of 20 examinations that do not answer, all for coverage; 95 % Wilson 5 to 36 %."""
    bad = {**score_of_blocks({}), "acceptable": False, "spoiled_by": ["coverage"]}
    attempts = [
        attempt(i, learner_id=PEOPLE[i % 5], **({"score": bad} if i < 3 else {})) for i in range(20)
    ]
    text = group_text(group_view(attempts))
    assert "do not answer: 3 of 20 (15 %, 95 % interval 5–36 %)" in text
    assert "  coverage: 3 (100 %, 95 % interval 44–100 %)" in text
    assert "20 images; an analysis wants at least 100" in text


def test_the_caution_is_in_data_and_text():
    """The report says that it is no evidence of competence."""
    view = group_view(group())
    assert group_data(view)["caution"] == SHORT_CAUTION
    assert group_text(view).endswith(SHORT_CAUTION)


def test_items_of_a_case_come_from_first_unassisted_attempts():
    """Only each person's first unassisted attempt at the case counts, helped ones do not."""
    attempts = []
    for i, name in enumerate(PEOPLE):
        first = score_of_blocks({Block.POSITION: 1.0 if i else 0.9, Block.REVIEW: 0.0})
        attempts += [
            attempt(0, learner_id=name, help=HelpLevel.LINES),
            attempt(1, learner_id=name, score=first),
            attempt(2, learner_id=name),
            attempt(3, learner_id=name, case_id="case-b"),
        ]
    found = {f.name: f for f in case_items(attempts, "case-a")}
    assert len(found) == 6
    assert found["Row of position"].difficulty.rate == 0.8
    assert found["Row of review"].difficulty.rate == 0.0
    assert found["Row of exposure"].attempts == 5


def test_items_that_did_not_apply_to_all_are_left_out():
    """A row that one person's attempt lacks is not compared."""
    attempts = [attempt(i, learner_id=name) for i, name in enumerate(PEOPLE)]
    lacking = score_of_blocks({})
    lacking["blocks"][0]["items"] = []
    attempts[0] = replace(attempts[0], score=lacking)
    assert "Row of preparation" not in {f.name for f in case_items(attempts, "case-a")}


def test_items_of_four_people_are_refused():
    """Items are not shown for fewer than five people."""
    with pytest.raises(TrainerError, match="4 people tried case 'case-a' without help"):
        case_items([attempt(i, learner_id=n) for i, n in enumerate(PEOPLE[:4])], "case-a")
