"""What a learner's and an instructor's pages are made of."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from helpers.attempts import attempt, series, supervised
from helpers.records import NOW, observation_of, supervised_of

from trainer.engine.judgement.score import score
from trainer.engine.learning.practice import PracticeCase
from trainer.engine.statistics.rejects import supervised_rejects
from trainer.errors import NotAllowedNow, TrainerError
from trainer.models.learning import Task
from trainer.services.learning.charts import learner_charts, rejects_chart
from trainer.services.learning.group import group_of, judged_rows, keep_estimates, overdue_text
from trainer.services.learning.view import Shelf, learner_view, review
from trainer.services.records.store import Records, open_records
from trainer.services.scoring import stored_attempt
from trainer.services.solutions import log_of, solution_files
from trainer.services.workbench import DEMO_CASE, open_workbench

SHELF = Shelf((PracticeCase("case-a", Task.SINGLE_SITE, 1),), {"case-a": "Case A"})


@pytest.fixture
def records(tmp_path) -> Records:
    """Empty records."""
    return open_records(tmp_path / "records")


@pytest.fixture
def people(records):
    """An instructor, a learner of the group, and somebody of another group."""
    add = records.learners.add
    hazel = add("Hazel 11", now=NOW, group="spring", is_instructor=True)
    return (
        hazel,
        add("Heron 12", now=NOW, group="spring"),
        add("Siskin 99", now=NOW, group="autumn"),
    )


def test_a_view_is_for_who_may_see_it(records, people) -> None:
    """Learner and own instructor see attempts and forms; somebody of another group does not."""
    hazel, heron, siskin = people
    for each in series("SF", learner_id=heron.id):
        records.add_attempt(replace(each, log=each.id.encode()))
    records.add_supervised(supervised_of(heron), hazel)
    records.add_observation(observation_of(heron), hazel)
    for viewer in (heron, hazel):
        found = learner_view(records, heron, viewer, SHELF, NOW)
        assert [a.percent for a in found.attempts] == [95.0, 70.0]
        assert (len(found.supervised), len(found.observations)) == (1, 1)
        assert [(s.successes, s.attempts) for s in found.skills] == [(1, 2)]
    with pytest.raises(NotAllowedNow):
        learner_view(records, heron, siskin, SHELF, NOW)


def test_a_case_that_is_gone_keeps_its_id_as_title() -> None:
    """A title is a kindness: without one the id stands in."""
    assert SHELF.title("case-a") == "Case A"
    assert SHELF.title("case-of-old") == "case-of-old"


def test_a_stored_attempt_is_replayed_to_its_own_score(records, people) -> None:
    """The state from the stored log has the stored points; an attempt at a lost case is refused."""
    _, heron, _ = people
    data = log_of(solution_files()[DEMO_CASE]).read_bytes()
    bench = open_workbench(DEMO_CASE)
    kept = stored_attempt(
        data, bench, attempt_id="real", learner_id=heron.id, finished_at=datetime.now(UTC)
    )
    records.add_attempt(kept)
    found = review(records, heron.id, "real")
    assert score(found.state).percent == kept.percent
    assert found.bench.case.id == DEMO_CASE
    records.add_attempt(attempt(3, learner_id=heron.id, log=b"x"))
    with pytest.raises(TrainerError, match="case-a"):
        review(records, heron.id, "0003")


def test_a_group_is_the_instructors_own(records, people) -> None:
    """A group holds its learners without instructors and other groups; learners have none."""
    hazel, heron, _ = people
    records.add_attempt(attempt(1, learner_id=heron.id, log=b"x"))
    found = group_of(records, hazel)
    assert found.people == (heron,)
    assert len(found.attempts) == 1
    assert found.simulated_rejects() is None  # one person would be recognised
    assert "5 people on" in found.items("case-a")
    with pytest.raises(NotAllowedNow):
        group_of(records, heron)


def test_estimates_are_kept_whole_or_refused(records, people) -> None:
    """Percents become shares of the judge's own; without panel, case or estimate none is kept."""
    hazel, heron, _ = people
    key = judged_rows()[0][1]
    for panel, case, given in (("", "case-a", {key: 50}), ("p", "", {key: 50}), ("p", "a", {})):
        with pytest.raises(TrainerError, match="Name the panel"):
            keep_estimates(records, hazel, panel, case, given, NOW.date())
    assert records.estimates(hazel) == ()
    assert keep_estimates(records, hazel, " p ", "case-a", {key: 85}, NOW.date()) == 1
    (kept,) = records.estimates(hazel)
    assert (kept.panel, kept.item, kept.share, kept.judge_id) == ("p", key, 0.85, hazel.id)
    with pytest.raises(NotAllowedNow):
        keep_estimates(records, heron, "p", "case-a", {key: 85}, NOW.date())


def test_overdue_people_are_listed_by_pseudonym(records, people) -> None:
    """Only people of the group, after the months have passed."""
    _, heron, _ = people
    assert "Nobody" in overdue_text(records, (heron,), 36, NOW)
    late = NOW.replace(year=NOW.year + 4)
    assert overdue_text(records, (heron,), 36, late).splitlines()[1:] == [
        "Heron 12: nothing new since 2026-03-02"
    ]


def test_charts_say_in_words_what_they_draw() -> None:
    """A critical item failed is said beside its points, and a kind of target has its own points."""
    made = [*series("SS"), attempt(2, False, critical=("identity-not-confirmed",))]
    points, learning, maintenance, predictions = learner_charts(made)
    assert points.words.startswith(
        "3 attempts. The latest 3 by time: 95, 95, 70 (critical item failed) % (mark 90 %)."
    )
    assert points.png.startswith(b"\x89PNG")
    assert b"<svg" in points.svg
    assert "3 counted attempts are drawn" in learning.words
    assert "0 attempts since the signal" in maintenance.words
    assert predictions.words == "No prediction yet."
    assert learner_charts(made, Task.EAR)[0].words == "No attempt yet."
    # two successes of LC-CUSUM weight ln(0.90 / 0.75) = 0.1823 each, then a failure down to 0
    # (training reference, 5.7, test value C2: +.182322)
    assert "stands at 0.36" in learner_charts(made[:2])[1].words


def test_rejects_say_a_warning_once() -> None:
    """Words beside the chart hold rate, interval and each warning, once."""
    found = supervised_rejects([supervised(1), supervised(2, "N", "motion")])
    chart = rejects_chart(found, found.warnings)
    lines = chart.words.splitlines()
    assert lines[0].startswith("Supervised examinations graded not acceptable: 1 of 2 (50 %")
    assert len(lines) == len(set(lines))
    assert sum("at least 100" in line for line in lines) == 1
