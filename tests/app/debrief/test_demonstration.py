"""The worked solution, played."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from tests.engine.debrief.attempts import attempt
from trainer.app.debrief import debrief_job
from trainer.app.debrief.demonstration import NO_SOLUTION, DemonstrationWindow
from trainer.engine.debrief.course import course_of
from trainer.services.event_words import event_text

COURSE = course_of(attempt("clean"))


@pytest.fixture
def make_window(qtbot, real_bench, plain, monkeypatch):
    """Makes shown windows on that course."""

    def make(course=COURSE) -> DemonstrationWindow:
        monkeypatch.setattr(debrief_job, "worked_course", lambda bench: course)
        window = DemonstrationWindow(real_bench)
        qtbot.addWidget(window)
        window.show()
        window.activateWindow()
        window.start()
        return window

    return make


def test_it_goes_step_by_step(qtbot, make_window) -> None:
    """ "Next" has the focus; every step tells its event, and shows the setup once there is one."""
    window = make_window()
    qtbot.waitUntil(lambda: bool(window.timeline.moments))
    qtbot.waitUntil(window.timeline.forth.hasFocus)
    visit = window.bench.case.visit
    assert event_text(COURSE[0].event, visit) in window.views.note.text()
    qtbot.keyClick(window.timeline.forth, Qt.Key.Key_Return)
    assert event_text(COURSE[1].event, visit) in window.timeline.words.text()
    at = next(i for i, m in enumerate(COURSE) if m.at_unit)
    window.timeline.go_to(at)
    assert window.views.shown == (COURSE[at].setup, None)


def test_a_case_without_a_solution_says_so(qtbot, make_window) -> None:
    """What to do is told, and closing works."""
    window = make_window(())
    qtbot.waitUntil(lambda: window.views.note.text() == NO_SOLUTION)
    with qtbot.waitSignal(window.closed):
        window.done.click()


def test_it_scores_nothing(qtbot, make_window) -> None:
    """No points and no result stand anywhere in its words."""
    window = make_window()
    qtbot.waitUntil(lambda: bool(window.timeline.moments))
    window.timeline.go_to(len(COURSE) - 1)
    assert "points" not in window.timeline.words.text()
    assert "100" not in window.timeline.words.text()
