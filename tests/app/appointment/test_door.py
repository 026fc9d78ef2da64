"""From the bench into an appointment and back."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QMessageBox

from trainer.app.appointment.help_level import HelpLevel
from trainer.app.appointment.start_dialog import StartDialog
from trainer.app.case_list import CaseList
from trainer.models import appointment_commands as do
from trainer.services.appointment import attempts_of
from trainer.services.assets import SCENARIOS
from trainer.services.scenario_io import load_case


@pytest.fixture
def bench_window(make_window, real_bench, monkeypatch):
    """The bench's window on the shipped case."""
    monkeypatch.setenv("TRAINER_NO_3D", "1")
    window = make_window()
    window.controller.open(real_bench)
    return window


def dialog_of(window) -> StartDialog:
    """The dialog before an appointment."""
    (found,) = [d for d in window.findChildren(StartDialog) if d.isVisible()]
    return found


def begin(window, helped: HelpLevel):
    """A new appointment with that help."""
    window.actions_by_name["whole"].trigger()
    dialog = dialog_of(window)
    dialog.choices[helped].setChecked(True)
    dialog.begin_button.click()
    return window.door.open


def test_the_case_list_offers_both_ways(qtbot, real_bench) -> None:
    """A case with a visit can be practised or played whole; one without only practised."""
    plain = replace(real_bench.case, visit=None)
    dialog = CaseList({SCENARIOS / "a.yaml": real_bench.case, SCENARIOS / "b.yaml": plain})
    qtbot.addWidget(dialog)
    dialog.list.setCurrentRow(0)
    assert dialog.whole_button.isEnabled()
    dialog.list.setCurrentRow(1)
    assert not dialog.whole_button.isEnabled()
    assert "no visit" in dialog.whole_button.toolTip()
    assert dialog.open_button.isEnabled()
    dialog.list.setCurrentRow(0)
    dialog.whole_button.click()
    assert dialog.whole
    assert dialog.chosen == SCENARIOS / "a.yaml"


def test_an_appointment_opens_and_the_bench_comes_back(qtbot, bench_window) -> None:
    """The bench waits hidden while an appointment is open, and is there again afterwards."""
    visit = begin(bench_window, HelpLevel.EXAM)
    assert visit.isVisible()
    assert not bench_window.isVisible()
    assert visit.helped is HelpLevel.EXAM
    visit.close()
    assert bench_window.isVisible()
    assert bench_window.door.open is None


def test_what_was_left_is_gone_on_with(qtbot, bench_window, real_bench) -> None:
    """Closed and opened again, an appointment goes on in the same state, time and help."""
    visit = begin(bench_window, HelpLevel.EXAM)
    visit.controller.do(do.ReadRequest)
    visit.controller.do(do.CheckAuthorisation)
    left = visit.controller.state
    visit.close()
    bench_window.actions_by_name["whole"].trigger()
    dialog_of(bench_window).resume_button.click()
    again = bench_window.door.open
    state = again.controller.state
    assert (state.log, state.setup, state.seed) == (left.log, left.setup, left.seed)
    assert again.helped is HelpLevel.EXAM
    assert again.controller.clock.now_s() >= left.at_s
    assert len(again.events.texts()) == 2
    assert again.controller.do(do.AskPractitioner, topic="request")
    assert len(attempts_of(real_bench.case.id)) == 1
    again.close()


def test_nothing_is_offered_where_nothing_was_left(bench_window) -> None:
    """A first appointment, one without an act, and one that is over leave nothing to go on with."""
    visit = begin(bench_window, HelpLevel.WORDS)
    visit.close()
    visit = begin(bench_window, HelpLevel.WORDS)
    visit.controller.do(do.ReadRequest)
    visit.controller.do(do.Finish)
    visit.close()
    bench_window.actions_by_name["whole"].trigger()
    assert dialog_of(bench_window).resume_button is None
    dialog_of(bench_window).reject()


def test_a_damaged_log_is_not_offered(bench_window, real_bench) -> None:
    """An attempt whose log was changed is left alone; a new one can be begun."""
    visit = begin(bench_window, HelpLevel.WORDS)
    visit.controller.do(do.ReadRequest)
    visit.close()
    (path,) = attempts_of(real_bench.case.id)
    data = path.read_bytes()
    path.write_bytes(data.replace(b"read-request", b"read-requesT"))
    bench_window.actions_by_name["whole"].trigger()
    assert dialog_of(bench_window).resume_button is None
    dialog_of(bench_window).reject()


def test_a_case_without_a_visit_says_so(qtbot, bench_window, real_bench) -> None:
    """Asked for whole, such a case is told to be for placing only; the bench stays."""
    bench_window.controller.open(replace(real_bench, case=replace(real_bench.case, visit=None)))
    bench_window.actions_by_name["whole"].trigger()
    (box,) = [b for b in bench_window.findChildren(QMessageBox) if b.isVisible()]
    assert "placing only" in box.text()
    assert "Nothing was changed" in box.informativeText()
    assert bench_window.isVisible()
    box.close()


def test_closing_the_program_closes_the_appointment(qtbot, bench_window) -> None:
    """With the bench's window the appointment goes too, and its log is whole."""
    visit = begin(bench_window, HelpLevel.WORDS)
    visit.controller.do(do.ReadRequest)
    with qtbot.waitSignal(visit.closed):
        bench_window.close()


def test_at_least_one_shipped_case_has_a_visit() -> None:
    """The way into an appointment leads somewhere."""
    assert load_case(SCENARIOS / "lower_third_molar.yaml", SCENARIOS / "units").visit is not None
