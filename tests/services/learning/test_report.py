"""One learner's report, and the standards of a group."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from helpers.attempts import attempt, series, supervised

from trainer.engine.learning.practice import PracticeCase
from trainer.models.learning import HelpLevel, Task
from trainer.models.records import Observation, PanelEstimate
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.learning.report import (
    learner_data,
    learner_report,
    learner_text,
    mastery_mark,
    save_plots,
)
from trainer.services.learning.standards_report import exam_table, standards_report, standards_text

NOW = datetime(2026, 3, 1, tzinfo=UTC)
DAY = date(2026, 3, 1)
CASES = [
    PracticeCase("case-a", Task.SINGLE_SITE, 1),
    PracticeCase("case-b", Task.SINGLE_SITE, 1),
    PracticeCase("jaw", Task.LOWER_JAW, 2),
]
PEOPLE = ["alder", "birch", "cedar", "elder", "hazel", "maple"]


def test_a_learners_report_says_everything_once():
    """Chart, next case with reason, due families, dates and foretelling stand in the text."""
    said = {"percent": 99, "cut": [], "acceptable": True}
    attempts = [replace(a, prediction=said) for a in series("S" * 15)]
    report = learner_report(CASES, attempts, NOW)
    text = learner_text(report)
    assert text.startswith("Ready for observed practice since counted attempt 14.")
    assert "Next: jaw. The lower jaw: not tried without help yet." in text
    assert "Case: case-b" in text  # the family is due, and the case met last was case-a
    assert "A refresh is due on 2026-04-19." in text
    assert "Results were foretold 4 points too hopeful on average (15 predictions)." in text
    assert text.endswith(SHORT_CAUTION)


def test_the_data_are_json_and_hold_the_same():
    """The report as JSON has the charts' sums, the next case, due families and the caution."""
    attempts = series("SSFS")
    data = json.loads(
        json.dumps(learner_data(learner_report(CASES, attempts, NOW)), allow_nan=False)
    )
    assert data["charts"]["learning"] == [0.1823, 0.3646, 0.0, 0.1823]
    assert data["charts"]["signal"] is None
    assert data["next"]["case"] == "jaw"
    assert [d["task"] for d in data["due"]] == ["single-site"]
    assert data["caution"] == SHORT_CAUTION
    assert data["foretold"] is None


def test_a_beginners_report_has_a_start():
    """Without attempts there is a first case, and nothing is due."""
    report = learner_report(CASES, [], NOW)
    assert report.families == ()
    assert "Next: case-a." in learner_text(report)


def test_the_mark_is_the_latest_attempts_own():
    """The mastery mark in the plot is that of the latest attempt's rules."""
    rows = series("SS")
    strict = replace(rows[1], score={**rows[1].score, "mastery_percent": 95.0})
    assert mastery_mark([strict, rows[0]]) == 95.0
    assert mastery_mark([]) == 90.0


def test_four_plots_are_saved(tmp_path):
    """Each plot is a PNG file of its own."""
    paths = save_plots(series("SSF"), tmp_path / "new")
    assert [p.stem for p in paths] == ["learning", "maintenance", "points", "foretold"]
    assert all(p.read_bytes().startswith(b"\x89PNG") for p in paths)


def test_the_exam_table_has_first_attempts_of_people_who_did_all():
    """Cases of five people or more; who lacks one of them is left out, second attempts too."""
    done = [
        attempt(n, learner_id=name, case_id=case, percent=50.0 + i + 10 * n)
        for i, name in enumerate(PEOPLE)
        for n, case in enumerate(("case-a", "case-b"))
        if (name, case) != ("maple", "case-b")
    ]
    again = attempt(50, learner_id="alder", percent=1.0)
    helped = attempt(51, learner_id="maple", case_id="case-b", help=HelpLevel.ON_REQUEST)
    rare = attempt(52, learner_id="alder", case_id="rare")
    cases, table = exam_table([again, helped, rare, *done])
    assert cases == ("case-a", "case-b")
    assert table == [[50.0 + i, 60.0 + i] for i in range(5)]


def observed(number: int, observer: str, attempt_id: str, overall: int) -> Observation:
    """A supervisor's rating of a simulated attempt."""
    name = f"{observer}{number}"
    return Observation(
        name, "alder", DAY, observer, "simulated", {}, overall, 4, "", "", attempt_id
    )


@pytest.fixture(scope="module")
def report():
    """Six people with two exam cases each, two observers, one panel of two, 25 clean cases."""
    attempts = [
        attempt(10 * i + n, learner_id=name, case_id=case, percent=60.0 + 6 * i + 2 * n * (-1) ** i)
        for i, name in enumerate(PEOPLE)
        for n, case in enumerate(("case-a", "case-b"))
    ]
    on_a = [a for a in attempts if a.case_id == "case-a"]
    first = [observed(i, "Elm", on_a[i].id, rating) for i, rating in enumerate((1, 2, 2, 3, 4, 5))]
    second = [replace(o, id=o.id + "x", observer="Yew", overall=o.overall + 1) for o in first[:3]]
    panel = [
        PanelEstimate(f"{j}{i}", j, "spring", "case-a", f"i{i}", share, DAY)
        for j, shares in {"elm": [0.9, 0.6], "yew": [0.7, 0.4]}.items()
        for i, share in enumerate(shares)
    ]
    return standards_report(attempts, [*first, *second], panel, [supervised(i) for i in range(25)])


def test_standards_stand_side_by_side(report):
    """Panel, borderline regression, agreement, reliability and rejects have their line each."""
    text = standards_text(report)
    assert "  spring: 65.0 % (standard error 10.0)" in text
    assert "  case-a: " in text and "R2 0.9" in text
    assert "Agreement of observers (quadratic kappa): " in text and "of 3 pairs" in text
    assert "Reliability across 2 cases (alpha), 6 people: 0.9" in text
    assert "25 of 25 acceptable (100 %; target 95 %, SDCEP)" in text
    assert text.endswith(SHORT_CAUTION)


def test_every_small_number_is_warned_of(report):
    """2 judges, 6 rated attempts, 3 pairs, 6 people and 25 images each carry their warning."""
    text = standards_text(report)
    for told in ("2 judges", "Provisional: 6 attempts", "3 pairs", "6 people", "25 images"):
        assert told in text


def test_a_clean_log_is_not_taken_for_more_than_it_is(report):
    """25 clean cases leave a rate of up to 11.3 % possible (own table), and this is printed."""
    assert "the true rate may still be up to 11.3 % (95 %, one-sided)" in standards_text(report)


def test_nothing_known_is_said_plainly():
    """Without data each part says why it is empty."""
    text = standards_text(standards_report([], [], [], []))
    assert "no estimates" in text
    assert "no attempt was watched" in text
    assert "fewer than 5 people" in text
    assert "none written down" in text


def test_an_unfinished_panel_names_what_is_missing():
    """A panel with a gap has no cut, and the gap stands in its place."""
    words = [
        PanelEstimate("1", "elm", "spring", "case-a", "i0", 0.9, DAY),
        PanelEstimate("2", "yew", "spring", "case-a", "i1", 0.9, DAY),
    ]
    text = standards_text(standards_report([], [], words, []))
    assert "spring: none yet (elm: has not judged 'i1' of case 'case-a'; yew: has not" in text


def test_cases_without_a_borderline_mark_stand_together(report):
    """Cases that lack a mark for one reason are one line, by their titles where these are known."""
    attempts = [attempt(i, case_id=case) for i, case in enumerate(("case-c", "case-d"))]
    watched = [observed(i, "Elm", a.id, 3) for i, a in enumerate(attempts)]
    found = standards_report(attempts, watched, [], [])
    text = standards_text(found, title=str.upper)
    lines = [line for line in text.splitlines() if "CASE-" in line]
    assert len(lines) == 1
    assert "needs three attempts" in lines[0] and lines[0].endswith(": CASE-C; CASE-D")
    assert "  CASE-A: " in standards_text(report, title=str.upper)
