"""Builds the window's parts, passes them to each other, and runs them."""

from __future__ import annotations

import logging
import os
import sys
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSettings, QTimer
from PySide6.QtWidgets import QApplication

from trainer.app.controller import SessionController
from trainer.app.display import no_window
from trainer.app.notices import (
    NAME,
    CautionsDialog,
    cautions_read,
    note_cautions_read,
    on_unforeseen,
)
from trainer.app.window import TrainerWindow
from trainer.services.workbench import DEMO_CASE

log = logging.getLogger("trainer.app")

DONE, NO_SCREEN = 0, 2


def run(case: str | Path | None = None) -> int:
    """Open the window on a case (the demo case if none is named); the program's exit code."""
    why_not = no_window(os.environ)
    if why_not is not None:
        sys.stderr.write(why_not + "\n")
        return NO_SCREEN
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName(NAME)
    app.setStyle("Fusion")  # the same plain style on every system; colours are ours
    before = sys.excepthook
    sys.excepthook = on_unforeseen
    logging.basicConfig(level=logging.WARNING, format="%(name)s: %(message)s")
    try:
        window = build_window()
        window.closed.connect(app.quit)
        window.show()
        begin(window, str(case) if case is not None else DEMO_CASE)
        return int(app.exec())
    finally:
        sys.excepthook = before


def build_window() -> TrainerWindow:
    """The window with its controller and settings, nothing loaded yet."""
    settings = QSettings("placement-trainer", "placement-trainer")
    return TrainerWindow(SessionController(), settings)


def begin(window: TrainerWindow, case: str) -> None:
    """Load what the window shows, step by step, so that it takes input from the start."""
    QTimer.singleShot(0, window.view3d.start)
    QTimer.singleShot(0, partial(window.open_case, case))
    if not cautions_read(window.settings):
        QTimer.singleShot(0, partial(show_first_notice, window))


def show_first_notice(window: TrainerWindow) -> None:
    """The notice of the first start; it comes again until it has been read."""
    dialog = CautionsDialog(window, first_time=True)
    dialog.accepted.connect(partial(note_cautions_read, window.settings))
    dialog.open()
