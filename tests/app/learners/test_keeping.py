"""Attempts of who is signed in: where they lie, when they are stored, what can go wrong."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from helpers.disks import filled, small_disk_at
from helpers.records import NOW, made_log
from PySide6.QtWidgets import QFileDialog, QLabel, QMessageBox

from trainer.app.appointment.start_dialog import StartDialog
from trainer.app.debrief import debrief_job
from trainer.app.learners.erase_dialog import EraseDialog
from trainer.app.learners.sign_in import SignInDialog
from trainer.engine.debrief.help_ladder import FIRST_HELP
from trainer.errors import NotAllowedNow, NotReadable
from trainer.models import appointment_commands as do
from trainer.models.learning import HelpLevel
from trainer.services.records.scorer import CaseScorer
from trainer.services.records.store import Records, open_records
from trainer.services.records.under_way import hold
from trainer.services.records.verify import verify


@pytest.fixture
def at_bench(qtbot, enter, heron, real_bench, monkeypatch):
    """The door, the learner signed in, and the shipped case on the bench."""
    monkeypatch.setattr(debrief_job, "worked_setups", lambda bench: ())
    door = enter(heron)
    door.window.controller.open(real_bench)
    return door


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 192 kB."""
    with small_disk_at(tmp_path / "small") as folder:
        yield folder


def begin(window, helped: HelpLevel = HelpLevel.NONE):
    """A new appointment with that help; a part of it is done."""
    window.actions_by_name["whole"].trigger()
    (dialog,) = [d for d in window.findChildren(StartDialog) if d.isVisible()]
    dialog.choices[helped].setChecked(True)
    dialog.begin_button.click()
    visit = window.door.open
    visit.controller.do(do.ReadRequest)
    return visit


def logs(records: Records, learner) -> list[Path]:
    """The learner's logs under way."""
    return sorted((records.place.attempts / learner.id).glob("*.log"))


def boxes(window) -> list[QMessageBox]:
    """Messages on the screen."""
    return [b for b in window.findChildren(QMessageBox) if b.isVisible()]


def test_an_attempt_lies_in_the_learners_folder_and_is_held(at_bench, records, heron) -> None:
    """Its log is in the learner's own folder, and no other window can open it meanwhile.

    The appointment's window says who is signed in.
    """
    visit = begin(at_bench.window)
    (path,) = logs(records, heron)
    with pytest.raises(NotAllowedNow, match="another window"):
        hold(path)
    assert "Signed in: Heron 12" in [label.text() for label in visit.findChildren(QLabel)]
    visit.close()
    hold(path).close()
    assert records.attempts(heron.id) == ()


def test_what_is_finished_is_stored(qtbot, at_bench, records, heron) -> None:
    """After the end the attempt is in the records with its log, and the file is gone.

    It is known at once as history: the next help is suggested from it.
    """
    visit = begin(at_bench.window)
    (path,) = logs(records, heron)
    visit.controller.do(do.Finish)
    data = path.read_bytes()
    with qtbot.waitSignal(at_bench.keeping.stored, timeout=20000) as told:
        visit._reveal()
    assert told.args == [1]
    (kept,) = records.attempts(heron.id)
    assert kept.log == data
    assert not path.exists()
    assert "stored" in visit.statusBar().currentMessage()
    visit.close()
    history = at_bench.window.door.history_of(at_bench.window.controller.bench.case)
    assert [a.id for a in history] == [kept.id]


def test_closing_the_program_stores_what_is_finished(at_bench, records, heron) -> None:
    """The program ends only after a finished attempt is in the records."""
    begin(at_bench.window).controller.do(do.Finish)
    at_bench.window.close()
    assert len(records.attempts(heron.id)) == 1
    assert logs(records, heron) == []


def test_handing_over_keeps_what_is_not_finished(qtbot, at_bench, records, heron) -> None:
    """The appointment closes, its owner can go on with it later, and the sign-in is there."""
    door = at_bench
    visit = begin(door.window)
    left = visit.controller.state
    acts = {a.text().replace("&", ""): a for a in visit.menuBar().actions()[-1].menu().actions()}
    acts["Finish and hand over"].trigger()
    qtbot.waitUntil(lambda: door.learner is None, timeout=20000)
    assert door.window.door.open is None
    assert door.window.isVisible()
    assert len(door.window.findChildren(SignInDialog)) == 1
    assert records.attempts(heron.id) == ()
    assert len(logs(records, heron)) == 1
    door.window.findChildren(SignInDialog)[0].reject()
    door.window.actions_by_name["whole"].trigger()  # as a guest: nothing of the learner's
    (dialog,) = [d for d in door.window.findChildren(StartDialog) if d.isVisible()]
    assert dialog.resume_button is None
    dialog.reject()
    door.sign_in(heron)
    qtbot.waitUntil(lambda: door.keeping.attempts is not None)
    door.window.actions_by_name["whole"].trigger()
    (dialog,) = [d for d in door.window.findChildren(StartDialog) if d.isVisible()]
    assert dialog.helped is FIRST_HELP
    dialog.resume_button.click()
    assert door.window.door.open.controller.state.log == left.log
    door.window.door.close()


def test_an_attempt_open_elsewhere_is_not_gone_on_with(at_bench, records, heron) -> None:
    """That another window has it open is told, and nothing is touched."""
    begin(at_bench.window).close()
    (path,) = logs(records, heron)
    before = path.read_bytes()
    with hold(path):
        at_bench.window.actions_by_name["whole"].trigger()
        (dialog,) = [d for d in at_bench.window.findChildren(StartDialog) if d.isVisible()]
        dialog.resume_button.click()
        (box,) = boxes(at_bench.window)
    assert "another window" in box.text()
    assert at_bench.window.door.open is None
    assert path.read_bytes() == before
    box.close()


def test_two_windows_on_one_record(
    qtbot, make_window, real_bench, records, heron, hands, monkeypatch
) -> None:
    """Signed in twice, what both windows finish is stored once each, and the chain stays whole.

    The window that stored first sees the other's attempt when it reads the record again.
    """
    monkeypatch.setattr(debrief_job, "worked_setups", lambda bench: ())
    windows = [make_window() for _ in range(2)]
    doors = [window.learners for window in windows]
    visits = []
    for door in doors:
        door.now = hands
        door.sign_in(heron)
        qtbot.waitUntil(lambda door=door: door.keeping.attempts is not None, timeout=20000)
        door.window.controller.open(real_bench)
        visits.append(begin(door.window))
    for visit in visits:
        visit.controller.do(do.Finish)
    for visit in visits:
        visit._reveal()
    for door in doors:
        qtbot.waitUntil(lambda door=door: bool(door.keeping.attempts), timeout=20000)
    for visit in visits:
        visit.close()
    assert len(records.attempts(heron.id)) == 2
    assert logs(records, heron) == []
    assert verify(records.place.folder, CaseScorer()).findings == ()
    doors[0].show_progress()
    qtbot.waitUntil(doors[0].page.tabs.isEnabled, timeout=20000)
    assert doors[0].page.attempts.table.rowCount() == 2
    doors[0].close_page()


def test_records_that_cannot_be_written_lose_nothing(
    qtbot, at_bench, records, heron, monkeypatch
) -> None:
    """A full disk is told calmly; the log stays, and the next sign-in stores it."""
    door = at_bench
    visit = begin(door.window)
    (path,) = logs(records, heron)
    visit.controller.do(do.Finish)

    def full(self, attempt):
        raise NotReadable("The records cannot be written: no space left on device.")

    with monkeypatch.context() as patch:
        patch.setattr(Records, "add_attempt", full)
        with qtbot.waitSignal(door.keeping.failed, timeout=20000):
            visit._reveal()
    (box,) = boxes(visit)
    assert "no space left" in box.text()
    assert "Nothing is lost" in box.informativeText()
    box.close()
    assert path.exists()
    visit.close()
    door.sign_in(heron)
    qtbot.waitUntil(lambda: len(door.keeping.attempts or ()) == 1, timeout=20000)
    assert not path.exists()


def test_a_disk_that_is_full_in_earnest_loses_nothing(
    qtbot, small_disk, enter, real_bench, monkeypatch
) -> None:
    """A finished attempt that has no room is told, and handing over stores it once there is."""
    monkeypatch.setattr(debrief_job, "worked_setups", lambda bench: ())
    monkeypatch.setenv("TRAINER_RECORDS", str(small_disk / "records"))
    records = open_records(small_disk / "records")
    heron = records.learners.add("Heron 12", now=NOW)
    door = enter(heron)
    door.window.controller.open(real_bench)
    visit = begin(door.window)
    visit.controller.do(do.Finish)
    filler = filled(small_disk)
    with qtbot.waitSignal(door.keeping.failed, timeout=20000):
        visit._reveal()
    (box,) = boxes(visit)
    assert "the disk is full" in box.text()
    assert "Nothing is lost" in box.informativeText()
    box.close()
    visit.close()
    assert records.attempts(heron.id) == ()
    filler.unlink()
    door.hand_over()
    qtbot.waitUntil(lambda: bool(door.window.findChildren(SignInDialog)), timeout=20000)
    assert len(records.attempts(heron.id)) == 1
    assert logs(records, heron) == []
    (dialog,) = door.window.findChildren(SignInDialog)
    dialog.reject()


def test_a_finished_log_that_cannot_be_scored_is_told(qtbot, door, records, heron) -> None:
    """A log of a case that has changed stays where it is, with the reason on the attempts' page."""
    folder = records.place.attempts / heron.id
    folder.mkdir(parents=True)
    (folder / "lower-third-molar-x.log").write_bytes(made_log(1))  # of another version of the case
    door.sign_in(heron)
    qtbot.waitUntil(lambda: door.keeping.attempts is not None, timeout=20000)
    ((path, why),) = door.keeping.left
    assert path.exists()
    door.show_progress()
    page = door.page
    qtbot.waitUntil(page.tabs.isEnabled, timeout=20000)
    assert why in page.attempts.left.text()
    assert "The log is kept" in page.attempts.left.text()


def test_the_clock_stands_while_the_screen_is_locked(qtbot, at_bench, heron) -> None:
    """No time of the appointment passes behind the locked screen, and it goes on after."""
    visit = begin(at_bench.window)
    clock = visit.controller.clock
    source = iter([10.0, 1000.0, 1000.0, 1003.0]).__next__
    clock._source, clock._offset_s = source, 90.0
    at_bench.locking.lock()  # reads 10.0
    assert clock.now_s() == 100.0
    assert not visit.isVisible()
    screen = at_bench.locking.screen
    screen.uncover()
    screen.opened.emit()  # reads 1000.0
    assert clock.now_s() == 100.0  # reads 1000.0
    assert clock.now_s() == 103.0  # reads 1003.0
    clock._source = lambda: 1003.0
    assert visit.isVisible()
    visit.close()


def test_erasing_asks_for_the_pseudonym_and_signs_out(qtbot, enter, records, heron) -> None:
    """What goes is told first; only the typed pseudonym erases, and nothing is left of it."""
    door = enter(heron)
    door.acts["erase"].trigger()
    (dialog,) = door.window.findChildren(EraseDialog)
    qtbot.keyClicks(dialog.typed, "heron 12")
    dialog.erase_button.click()
    assert "Nothing was erased" in dialog.told.text()
    dialog.typed.clear()
    qtbot.keyClicks(dialog.typed, "Heron 12")
    with qtbot.waitSignal(door.changed):
        dialog.erase_button.click()
    assert records.learners.all() == ()
    assert door.learner is None
    (box,) = boxes(door.window)
    assert "copies and exports" in box.text()
    box.close()


def test_exporting_writes_what_verify_proves(qtbot, enter, records, heron, monkeypatch) -> None:
    """The archive holds the learner's record, and verifying it finds nothing changed."""
    door = enter(heron)
    out = records.place.folder.parent / "heron"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(out), ""))
    door.acts["export"].trigger()
    qtbot.waitUntil(lambda: "Saved" in door.window.statusBar().currentMessage())
    report = verify(out.with_suffix(".zip"), CaseScorer())
    assert (report.learners, report.findings) == (1, ())
