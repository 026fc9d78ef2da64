"""A learner's progress in the window."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.attempts import attempt, series
from helpers.keyboard import missed_by_tab
from helpers.records import observation_of, supervised_of
from PySide6.QtCore import Qt

from trainer.app.debrief import debrief_job
from trainer.app.debrief.debrief_panel import PAGE
from trainer.app.learners.review_window import ReviewWindow
from trainer.engine.learning.practice import EXAM_CASES
from trainer.models.learning import HelpLevel, Task
from trainer.services.scoring import stored_attempt
from trainer.services.solutions import log_of, solution_files
from trainer.services.workbench import DEMO_CASE


@pytest.fixture
def worked(records, heron, hazel):
    """Eight attempts of the learner's, one of them helped, and what a supervisor wrote."""
    made = series("SSFSSSS", learner_id=heron.id)
    helped = attempt(7, learner_id=heron.id, help=HelpLevel.OPEN, task=Task.SINUS)
    said = {"percent": 70, "cut": [], "acceptable": True}
    for each in (*made, replace(helped, prediction=said)):
        records.add_attempt(replace(each, log=each.id.encode()))
    records.add_supervised(supervised_of(heron), hazel)
    records.add_observation(observation_of(heron), hazel)
    return heron


@pytest.fixture
def page(qtbot, enter, worked):
    """The learner's own progress, read."""
    door = enter(worked)
    door.acts["progress"].trigger()
    qtbot.waitUntil(door.page.tabs.isEnabled, timeout=20000)
    qtbot.waitUntil(door.page.isActiveWindow)
    return door.page


def draw(qtbot, page):
    """The page of charts, drawn; they are drawn only when they can be seen."""
    assert page.plots.choice.count() == 0
    page.tabs.setCurrentWidget(page.plots)
    qtbot.waitUntil(lambda: page.plots.choice.count() > 0, timeout=60000)
    return page.plots


def cells(table) -> list[list[str]]:
    """The texts of a table."""
    columns = range(table.columnCount())
    return [[table.item(row, c).text() for c in columns] for row in range(table.rowCount())]


def test_what_next_has_a_reason_and_a_button(page, monkeypatch) -> None:
    """The suggested case stands there with its reason; its button opens it, and the page closes."""
    report = page._view.report
    assert page.next.case.text() == f"Title of {report.next.case.id}"
    assert page.next.reason.text() == report.next.reason
    assert page.next.standing.text() == report.progress.sentence
    door, asked = page._door, []
    monkeypatch.setattr(door.window.door, "ask", asked.append)
    page.next.whole.click()
    assert asked == [report.next.case.id]
    assert door.page is None


def test_what_is_due_stands_there(page) -> None:
    """Every kind of target that was tried unassisted has its date, and its case can be opened."""
    (row,) = cells(page.next.due)
    (family,) = page._view.report.families
    assert row == ["Single sites", family.sentence]
    assert page.next.due.marked() == family.case.id
    assert page.next.upkeep.text() == page._view.report.upkeep.sentence


def test_charts_have_the_same_in_words(qtbot, page, tmp_path) -> None:
    """Each of the four charts shows a picture, its words stand below and are read aloud, too."""
    pane = draw(qtbot, page)
    titles = [pane.choice.itemText(i) for i in range(pane.choice.count())]
    assert titles == ["Points by attempt", "Learning chart", "Maintenance chart", "Predictions"]
    said = []
    for number in range(4):
        pane.choice.setCurrentIndex(number)
        assert not pane.picture._picture.isNull()
        assert pane.text.toPlainText() == pane.picture.accessibleDescription()
        said.append(pane.text.toPlainText())
    assert said[0].startswith("8 attempts. The latest 5 by time: 95, 95, 95, 95, 95 (helped)")
    assert page._view.report.progress.sentence in said[1]
    assert "25 points too cautious" in said[3]
    assert "From 10 predictions on" in said[3]
    pane.save(tmp_path / "chart.svg")
    assert (tmp_path / "chart.svg").read_bytes().startswith(b"<?xml")
    assert "Saved" in page.told.text()
    pane.save(tmp_path / "no-such-folder" / "chart.png")
    assert "cannot be written" in page.told.text()


def test_charts_by_kind_of_target(qtbot, page) -> None:
    """Points can be shown of one kind of target alone."""
    draw(qtbot, page)
    page.task.setCurrentIndex(page.task.findText("The sinus"))
    qtbot.waitUntil(lambda: "sinus" in page.plots.choice.itemText(0), timeout=20000)
    assert page.plots.text.toPlainText().startswith("1 attempt. ")


def test_attempts_the_latest_first(page) -> None:
    """Every stored attempt has a row with its case, help, points and result."""
    rows = cells(page.attempts.table)
    assert len(rows) == 8
    assert rows[0][2:6] == [
        "the sinus",
        "bone and field were shown",
        "95 %",
        "mark reached, with help",
    ]
    assert [row[5] for row in rows[1:]].count("success") == 6
    assert rows[5][4:6] == ["70 %", "mark not reached"]


def test_supervised_work_stands_apart(page) -> None:
    """A supervisor's words are on their own page, and no point of a simulation is there."""
    assert [row[1] for row in cells(page.supervised.cases)] == ["Mr Elder"]
    assert [row[3] for row in cells(page.supervised.observed)] == ["4 of 5"]
    texts = str(cells(page.supervised.cases) + cells(page.supervised.observed))
    assert "%" not in texts
    counted = page.supervised.counted.text()
    assert "cases 1 (25)" in counted and "observations of real procedures 1 (6)" in counted
    assert "No published minimum was found" in counted


def test_a_set_is_drawn_and_ticked_off(qtbot, page, records, worked, hands) -> None:
    """A mixed set stays for the sitting; a case that was done since has a tick, the next is marked.

    Cases that cannot fill an exam are told.
    """
    page.next.set_size.setValue(3)
    page.next.make_set.click()
    drawn = [c.id for c in page.next.drawn.cases]
    assert len(set(drawn)) == 3
    page.next.make_exam.click()
    assert f"its {EXAM_CASES} places" in page.next.told.text()
    door = page._door
    page.reject()
    done = attempt(99, learner_id=worked.id, case_id=drawn[0], finished_at=hands(), id="later")
    records.add_attempt(replace(done, log=b"later"))
    door.show_progress()
    again = door.page
    qtbot.waitUntil(lambda: again.next.cases.rowCount() == 3, timeout=20000)
    assert [row[0] for row in cells(again.next.cases)] == ["✓ done", "2", "3"]
    assert again.next.cases.marked() == drawn[1]


def test_the_debrief_of_a_stored_attempt_opens_again(
    qtbot, page, records, worked, real_bench, monkeypatch
) -> None:
    """Enter on an attempt replays its log and shows its debrief; one without a case is told."""
    monkeypatch.setattr(debrief_job, "worked_setups", lambda bench: ())
    monkeypatch.setattr(debrief_job.DebriefJobs, "ask_slices", lambda self, person: None)
    data = log_of(solution_files()[DEMO_CASE]).read_bytes()
    now = page._door.time()
    ids = {"attempt_id": "real", "learner_id": worked.id}
    records.add_attempt(stored_attempt(data, real_bench, finished_at=now, **ids))
    door = page._door
    page.reject()
    door.show_progress()
    page = door.page
    qtbot.waitUntil(lambda: page.attempts.table.rowCount() == 9, timeout=20000)
    page.tabs.setCurrentWidget(page.attempts)
    page.attempts.table.setFocus()
    assert page.attempts.table.marked() == "real"
    qtbot.keyClick(page.attempts.table, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: bool(page.findChildren(ReviewWindow)), timeout=20000)
    (window,) = page.findChildren(ReviewWindow)
    qtbot.waitUntil(lambda: window.panel._stack.currentIndex() == PAGE, timeout=20000)
    assert "5 of 5" in window.panel.page.headline.text()
    window.close_button.click()
    page.attempts.table.setCurrentCell(1, 0)
    page.attempts.open_button.click()
    qtbot.waitUntil(lambda: "case-" in page.attempts.told.text(), timeout=20000)


@pytest.mark.parametrize("number", range(4))
def test_every_page_is_worked_by_keyboard(qtbot, page, number: int) -> None:
    """Tab alone leads to everything on a page that can be pressed, chosen or typed in."""
    page.tabs.setCurrentIndex(number)
    if page.tabs.currentWidget() is page.plots:
        qtbot.waitUntil(lambda: page.plots.choice.count() > 0, timeout=60000)
    assert missed_by_tab(qtbot, page) == []


def test_no_attempt_yet_is_said(qtbot, enter, hazel) -> None:
    """Somebody without an attempt is told when one comes, and no debrief can be opened."""
    door = enter(hazel)
    door.show_progress()
    qtbot.waitUntil(door.page.tabs.isEnabled, timeout=20000)
    assert "No attempt is stored yet" in door.page.attempts.told.text()
    assert not door.page.attempts.open_button.isEnabled()
