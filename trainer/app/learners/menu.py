"""The menus through which learners come and go."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QLabel, QMainWindow, QMenu

from trainer.app.learners.locking import LOCK_MINUTES

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor

LOCK_KEYS, HAND_OVER_KEYS = "Ctrl+Shift+L", "Ctrl+Shift+F"


def fill_menu(door: LearnerDoor, menu: QMenu) -> dict[str, QAction]:
    """Put everything into the bench's menu; the actions by name."""
    found: dict[str, QAction] = {}
    for name, text, keys, on in (
        ("sign-in", "&Sign in…", "Ctrl+L", door.ask_sign_in),
        ("new", "&New learner…", "", door.ask_new),
        ("progress", "My &progress…", "Ctrl+P", door.show_progress),
        ("instructor", "&Instructor…", "Ctrl+G", door.show_instructor),
        ("pin", "&Change PIN…", "", door.papers.ask_pin),
        ("export", "E&xport my record…", "", door.papers.ask_export),
        ("erase", "&Erase my record…", "", door.papers.ask_erase),
        ("lock", "&Lock now", LOCK_KEYS, door.locking.lock),
        ("hand-over", "&Finish and hand over", HAND_OVER_KEYS, door.hand_over),
    ):
        action = QAction(text, door.window)
        action.setShortcut(QKeySequence(keys))
        action.triggered.connect(on)
        menu.addAction(action)
        found[name] = action
    times = menu.addMenu("Lock &after")
    group = QActionGroup(times)
    for minutes in LOCK_MINUTES:
        action = QAction(f"{minutes} minutes without a touch", times)
        action.setCheckable(True)
        action.setChecked(minutes == door.locking.minutes)
        action.setData(minutes)
        group.addAction(action)
        times.addAction(action)
    group.triggered.connect(door.locking.set_minutes)
    return found


def ways_out(door: LearnerDoor, window: QMainWindow, who: str) -> None:
    """Who is signed in, and the ways out, in an appointment's window."""
    window.statusBar().addWidget(QLabel(who))
    menu = window.menuBar().addMenu("Lea&rner")
    for text, keys, on in (
        ("&Lock now", LOCK_KEYS, door.locking.lock),
        ("&Finish and hand over", HAND_OVER_KEYS, door.hand_over),
    ):
        action = QAction(text, window)
        action.setShortcut(QKeySequence(keys))
        action.triggered.connect(on)
        menu.addAction(action)
