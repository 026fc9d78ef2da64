"""Signing in, new profiles, PINs."""

from __future__ import annotations

import os
import subprocess
import sys

from helpers.records import PIN
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from trainer.app.learners.new_learner import DIFFER, NewLearnerDialog
from trainer.app.learners.pin_dialog import PinDialog

WINDOW_AND_LIST = """
import sys
from PySide6.QtWidgets import QApplication
app = QApplication([])
from trainer.app.main import build_window
window = build_window()
window.show()
heavy = ("sqlalchemy", "alembic", "argon2", "fsrs", "matplotlib", "reportlab", "scipy.stats")
print([name for name in heavy if name in sys.modules])
print(window.learners.note.text())
window.close()
"""


def wrong_pin(qtbot, dialog) -> None:
    """A wrong PIN is typed and found wrong."""
    qtbot.keyClicks(dialog.pin, "0000")
    qtbot.keyClick(dialog.pin, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "This is not the PIN" in dialog.told.text())


def test_the_program_starts_as_a_guest_and_loads_nothing_for_records() -> None:
    """Nobody is signed in at the start, which loads no database, hash, plot or PDF library."""
    done = subprocess.run(
        [sys.executable, "-c", WINDOW_AND_LIST],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )
    assert done.stdout.splitlines() == ["[]", "No learner signed in"], done.stderr


def test_a_guest_keeps_nothing_but_logs(door, records, real_bench) -> None:
    """Without a learner no record can be opened, and attempts go where they always went."""
    disabled = [name for name, act in door.acts.items() if not act.isEnabled()]
    assert disabled == ["progress", "instructor", "pin", "export", "erase", "lock", "hand-over"]
    assert door.window.door.folder is None
    assert door.window.door.history_of(real_bench.case) is None


def test_signing_in_by_keyboard(qtbot, door, records, heron, hazel) -> None:
    """Ctrl+L, the first letters of the pseudonym, Tab, PIN, Enter: the learner is signed in."""
    qtbot.keyClick(door.window, Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), type(None)) is False)
    dialog = QApplication.activeModalWidget()
    qtbot.waitUntil(lambda: dialog.list.count() == 2)
    qtbot.waitUntil(dialog.list.hasFocus)
    qtbot.keyClicks(dialog.list, "Her")
    qtbot.keyClick(dialog.list, Qt.Key.Key_Tab)
    assert dialog.pin.hasFocus()
    qtbot.keyClicks(dialog.pin, PIN)
    with qtbot.waitSignal(door.changed):
        qtbot.keyClick(dialog.pin, Qt.Key.Key_Return)
    assert door.learner == heron
    assert door.note.text() == "Signed in: Heron 12"
    assert door.window.door.folder == records.place.attempts / heron.id
    assert not door.acts["sign-in"].isEnabled()
    assert not door.acts["instructor"].isEnabled()
    assert door.acts["progress"].isEnabled()


def test_wrong_pins_make_wait_and_say_so(qtbot, door, heron, hazel, ask_sign_in) -> None:
    """The third wrong PIN costs 15 seconds, which count down; another person need not wait."""
    dialog = ask_sign_in()
    dialog.list.setCurrentRow(1)
    dialog.pin.setFocus()
    for _ in range(3):
        wrong_pin(qtbot, dialog)
        assert dialog.pin.text() == ""
    assert "Wait 15 seconds" in dialog.told.text()
    assert not dialog.go_button.isEnabled()
    qtbot.waitUntil(lambda: "another 14 seconds" in dialog.told.text())
    dialog.list.setCurrentRow(0)
    assert dialog.told.isHidden()
    assert dialog.go_button.isEnabled()
    assert door.learner is None
    dialog.reject()


def test_without_records_that_can_be_read_a_guest_goes_on(
    qtbot, door, tmp_path, ask_sign_in
) -> None:
    """Where the records cannot be opened that is told, and practising without one is offered."""
    (tmp_path / "records").write_text("this is no folder")
    dialog = ask_sign_in()
    assert str(tmp_path / "records") in dialog.told.text()
    assert dialog.guest_button.hasFocus()
    assert not dialog.go_button.isEnabled()
    qtbot.keyClick(dialog.guest_button, Qt.Key.Key_Space)
    assert door.learner is None
    assert door.window.isVisible()


def test_a_new_learner_by_keyboard(qtbot, door, records) -> None:
    """With a made-up name proposed, a group and two equal PINs the profile is made and signed in.

    What is kept, why, where and for how long stands there before.
    """
    door.acts["new"].trigger()
    (dialog,) = door.window.findChildren(NewLearnerDialog)
    qtbot.waitUntil(lambda: dialog.pseudonym.text() != "")
    qtbot.waitUntil(dialog.isActiveWindow)
    kept = dialog.kept.text()
    assert str(records.place) in kept
    assert f"{door.keep_months} months" in kept
    assert "erase all of it" in kept
    first = dialog.pseudonym.text()
    dialog.another.click()
    pseudonym = dialog.pseudonym.text()
    assert pseudonym != first
    assert not dialog.name.text()
    dialog.group.setFocus()
    qtbot.keyClicks(dialog.group, "spring")
    qtbot.keyClicks(dialog.pin, "4711")
    qtbot.keyClicks(dialog.again, "4712")
    dialog.add_button.click()
    assert dialog.told.text() == DIFFER
    assert (dialog.pin.text(), dialog.again.text()) == ("", "")
    qtbot.keyClicks(dialog.pin, "47")
    qtbot.keyClicks(dialog.again, "47")
    dialog.add_button.click()
    qtbot.waitUntil(lambda: "4 to 12 digits" in dialog.told.text())
    dialog.pin.setText("4711")
    dialog.again.setText("4711")
    with qtbot.waitSignal(door.changed):
        dialog.add_button.click()
    (made,) = records.learners.all()
    assert (made.pseudonym, made.group, made.is_instructor) == (pseudonym, "spring", False)
    assert door.learner == made


def test_an_instructor_adds_people_and_stays_signed_in(qtbot, enter, records, hazel) -> None:
    """A second instructor of the group can be added by the first, who stays signed in."""
    door = enter(hazel)
    door.acts["new"].trigger()
    (dialog,) = door.window.findChildren(NewLearnerDialog)
    qtbot.waitUntil(lambda: dialog.pseudonym.text() != "")
    assert dialog.group.text() == "spring"
    dialog.instructor.setChecked(True)
    with qtbot.waitSignal(door.people_changed):
        dialog.add_button.click()
    assert door.learner == hazel
    assert sum(each.is_instructor for each in records.learners.all()) == 2


def test_changing_the_own_pin(qtbot, enter, hands, records, heron) -> None:
    """The old PIN is asked for; after the change only the new one signs in."""
    door = enter(heron)
    door.acts["pin"].trigger()
    (dialog,) = door.window.findChildren(PinDialog)
    dialog.old.setText("0000")
    dialog.new.setText("1234")
    dialog.again.setText("1234")
    dialog.change_button.click()
    qtbot.waitUntil(lambda: "not the PIN" in dialog.told.text())
    dialog.old.setText(PIN)
    with qtbot.waitSignal(dialog.changed):
        dialog.change_button.click()
    assert records.learners.sign_in(heron.id, "1234", hands()) == heron
