"""From the bench into an appointment and back."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from PySide6.QtWidgets import QMessageBox

from trainer.app.appointment.start_dialog import StartDialog
from trainer.app.case_list import CaseList
from trainer.app.debrief import debrief_job
from trainer.app.debrief.demonstration import DemonstrationWindow
from trainer.models import appointment_commands as do
from trainer.models.learning import HelpLevel
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
    visit = begin(bench_window, HelpLevel.NONE)
    assert visit.isVisible()
    assert not bench_window.isVisible()
    assert visit.helped is HelpLevel.NONE
    visit.close()
    assert bench_window.isVisible()
    assert bench_window.door.open is None


def test_what_was_left_is_gone_on_with(qtbot, bench_window, real_bench) -> None:
    """Closed and opened again, an appointment goes on in the same state, time and help."""
    visit = begin(bench_window, HelpLevel.NONE)
    visit.controller.do(do.ReadRequest)
    visit.controller.do(do.CheckAuthorisation)
    left = visit.controller.state
    visit.close()
    bench_window.actions_by_name["whole"].trigger()
    dialog_of(bench_window).resume_button.click()
    again = bench_window.door.open
    state = again.controller.state
    assert (state.log, state.setup, state.seed) == (left.log, left.setup, left.seed)
    assert again.helped is HelpLevel.NONE
    assert again.controller.clock.now_s() >= left.at_s
    assert len(again.events.texts()) == 2
    assert again.controller.do(do.AskPractitioner, topic="request")
    assert len(attempts_of(real_bench.case.id)) == 1
    again.close()


def test_nothing_is_offered_where_nothing_was_left(bench_window) -> None:
    """A first appointment, one without an act, and one that is over leave nothing to go on with."""
    visit = begin(bench_window, HelpLevel.LINES)
    visit.close()
    visit = begin(bench_window, HelpLevel.LINES)
    visit.controller.do(do.ReadRequest)
    visit.controller.do(do.Finish)
    visit.close()
    bench_window.actions_by_name["whole"].trigger()
    assert dialog_of(bench_window).resume_button is None
    dialog_of(bench_window).reject()


def test_a_damaged_log_is_not_offered(bench_window, real_bench) -> None:
    """An attempt whose log was changed is left alone; a new one can be begun."""
    visit = begin(bench_window, HelpLevel.LINES)
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
    visit = begin(bench_window, HelpLevel.LINES)
    visit.controller.do(do.ReadRequest)
    with qtbot.waitSignal(visit.closed):
        bench_window.close()


def test_at_least_one_shipped_case_has_a_visit() -> None:
    """The way into an appointment leads somewhere."""
    assert load_case(SCENARIOS / "lower_third_molar.yaml", SCENARIOS / "units").visit is not None


def test_help_is_suggested_from_what_was_done(bench_window) -> None:
    """With a history the next help is chosen beforehand and its reason told; else neither is."""
    bench_window.actions_by_name["whole"].trigger()
    dialog = dialog_of(bench_window)
    assert dialog.why.isHidden()
    dialog.reject()
    past = [Past("a"), Past("b")]
    bench_window.door.history_of = lambda case: past
    bench_window.actions_by_name["whole"].trigger()
    dialog = dialog_of(bench_window)
    assert dialog.helped is HelpLevel.NONE
    assert "2 different cases" in dialog.why.text()
    dialog.reject()


@dataclass(frozen=True)
class Past:
    """A clean attempt that had hints on request."""

    case_id: str
    help: HelpLevel = HelpLevel.ON_REQUEST
    critical: tuple[str, ...] = ()
    mastered: bool = True
    needless_retake: bool = False


def test_a_demonstration_makes_no_attempt(qtbot, bench_window, real_bench, monkeypatch) -> None:
    """It opens a window of its own, logs nothing, and the bench comes back."""
    monkeypatch.setattr(debrief_job, "worked_course", lambda bench: ())
    shown = begin(bench_window, HelpLevel.DEMONSTRATION)
    assert isinstance(shown, DemonstrationWindow)
    assert attempts_of(real_bench.case.id) == ()
    shown.close()
    assert bench_window.isVisible()


def test_attempts_can_be_kept_in_a_folder_of_a_learner(bench_window, real_bench, tmp_path) -> None:
    """With a folder set, the log lies there, is found there again, and its end is told."""
    door = bench_window.door
    door.folder = tmp_path / "learner"
    told = []
    door.attempt_finished.connect(lambda *found: told.append(found))
    visit = begin(bench_window, HelpLevel.ON_REQUEST)
    (path,) = attempts_of(real_bench.case.id, door.folder)
    assert attempts_of(real_bench.case.id) == ()
    visit.controller.do(do.Finish)
    visit.close()
    assert [found[0] for found in told] == [path]
