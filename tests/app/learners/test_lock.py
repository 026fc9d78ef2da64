"""Locking, unlocking, handing over."""

from __future__ import annotations

from helpers.records import PIN
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import QApplication

from trainer.app.learners.locking import USUAL_LOCK_MINUTES
from trainer.app.learners.sign_in import SignInDialog


def shown() -> list[str]:
    """The titles of all windows that can be seen."""
    return [w.windowTitle() for w in QApplication.topLevelWidgets() if w.isVisible()]


def test_nobody_there_for_a_while_locks_everything(qtbot, enter, hands, heron) -> None:
    """After the minutes that are set only the locked screen shows; the PIN brings all back."""
    door = enter(heron)
    hands.wait(USUAL_LOCK_MINUTES - 1)
    door.locking.watch.look()
    assert door.locking.screen is None
    hands.wait(1.1)
    door.locking.watch.look()
    screen = door.locking.screen
    assert shown() == [screen.windowTitle()]
    assert screen.windowTitle().endswith("locked")
    qtbot.waitUntil(screen.isActiveWindow)
    qtbot.keyClicks(screen.pin, "0000")
    qtbot.keyClick(screen.pin, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "not the PIN" in screen.told.text())
    assert shown() == [screen.windowTitle()]
    qtbot.keyClicks(screen.pin, PIN)
    with qtbot.waitSignal(screen.opened):
        qtbot.keyClick(screen.pin, Qt.Key.Key_Return)
    assert shown() == [door.window.windowTitle()]
    assert door.learner == heron
    door.locking.watch.look()
    assert door.locking.screen is None


def test_pages_come_back_as_they_were(qtbot, enter, heron) -> None:
    """An open page is covered with the rest, and stands there again after the PIN."""
    door = enter(heron)
    door.show_progress()
    page = door.page
    qtbot.waitUntil(page.tabs.isEnabled, timeout=20000)
    page.tabs.setCurrentIndex(2)
    door.locking.lock()
    assert not page.isVisible()
    door.locking.screen.pin.setText(PIN)
    with qtbot.waitSignal(door.locking.screen.opened):
        door.locking.screen.go()
    assert page.isVisible()
    assert door.page is page
    assert page.tabs.currentIndex() == 2


def test_handing_over_twice_asks_once(qtbot, enter, heron) -> None:
    """A second press while the first is being done opens no second dialog."""
    door = enter(heron)
    door.hand_over()
    door.hand_over()
    qtbot.waitUntil(lambda: door.learner is None)
    door.jobs._pool.waitForDone()
    qtbot.wait(50)
    (dialog,) = door.window.findChildren(SignInDialog)
    dialog.reject()


def test_a_touch_keeps_it_open(enter, hands, heron) -> None:
    """A key that comes to the window counts as somebody there."""
    door = enter(heron)
    hands.wait(USUAL_LOCK_MINUTES - 1)
    modifiers = Qt.KeyboardModifier.NoModifier
    key = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Shift, modifiers)
    QApplication.sendEvent(door.window.windowHandle(), key)
    hands.wait(USUAL_LOCK_MINUTES - 1)
    door.locking.watch.look()
    assert door.locking.screen is None


def test_the_time_can_be_set(enter, hands, heron) -> None:
    """A longer time chosen in the menu holds at once, and for the next start."""
    door = enter(heron)
    (longest,) = [a for a in door.window.findChildren(QAction) if a.data() == 60]
    longest.trigger()
    assert door.locking.minutes == 60
    hands.wait(59)
    door.locking.watch.look()
    assert door.locking.screen is None
    hands.wait(2)
    door.locking.watch.look()
    assert door.locking.screen is not None


def test_somebody_else_signs_in_at_the_locked_screen(qtbot, enter, heron) -> None:
    """The one before is signed out, and the dialog to sign in is there; nothing of theirs shows."""
    door = enter(heron)
    door.show_progress()
    door.acts["lock"].trigger()
    door.locking.screen.other_button.click()
    qtbot.waitUntil(lambda: bool(door.window.findChildren(SignInDialog)))
    assert door.learner is None
    assert door.locking.screen is None
    assert door.page is None
    assert sorted(shown()) == sorted([door.window.windowTitle(), "Sign in"])
    assert not any(heron.pseudonym in title for title in shown())
    assert door.window.door.folder is None
    door.window.findChildren(SignInDialog)[0].reject()


def test_the_program_can_be_closed_at_the_locked_screen(qtbot, enter, heron) -> None:
    """Closing there closes the program as a whole."""
    door = enter(heron)
    door.acts["lock"].trigger()
    with qtbot.waitSignal(door.window.closed):
        door.locking.screen.quit_button.click()
    assert shown() == []


def test_a_profile_without_pin_goes_on_with_enter(qtbot, enter, records, hands) -> None:
    """That the profile has no PIN is told, and Enter goes on."""
    open_one = records.learners.add("Wren 34", now=hands())
    door = enter(open_one)
    door.acts["lock"].trigger()
    screen = door.locking.screen
    qtbot.waitUntil(lambda: "no PIN" in screen.note.text())
    qtbot.waitUntil(screen.go_button.hasFocus)
    with qtbot.waitSignal(screen.opened):
        qtbot.keyClick(screen.go_button, Qt.Key.Key_Return)
    assert door.window.isVisible()


def test_handing_over_leaves_no_trace_at_the_bench(qtbot, enter, heron) -> None:
    """The case is as it was at its start, and undo leads nowhere."""
    door = enter(heron)
    controller = door.window.controller
    start = controller.state.setup
    controller.change({"pitch_deg": 3.0})
    door.hand_over()
    qtbot.waitUntil(lambda: door.learner is None)
    assert controller.state.setup == start
    assert not door.window.actions_by_name["undo"].isEnabled()
    qtbot.waitUntil(lambda: bool(door.window.findChildren(SignInDialog)))
    door.window.findChildren(SignInDialog)[0].reject()
