"""Fixtures of the desk's tests: a controller and a window on a shipped case."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from trainer.app.desk.controller import DeskController
from trainer.app.desk.window import DeskWindow
from trainer.services.assets import MESHES, SCENARIOS

CASE = SCENARIOS / "lower_third_molar.yaml"


def let_go(window: DeskWindow) -> None:
    """Drop the draft, so that nobody is asked whether to save it."""
    window.desk.draft = None


@pytest.fixture
def desk(qtbot) -> Iterator[DeskController]:
    """A controller with a shipped case, checked."""
    made = DeskController()
    with qtbot.waitSignal(made.checked, timeout=20000):
        assert made.open(CASE)
    yield made
    made.close()


@pytest.fixture
def at_desk(qtbot, settings) -> Iterator[DeskWindow]:
    """The desk's window with a shipped case, checked; without the 3-D view."""
    window = DeskWindow(DeskController(), settings, MESHES)
    qtbot.addWidget(window, before_close_func=let_go)
    window.resize(1280, 800)
    window.show()
    window.activateWindow()
    with qtbot.waitSignal(window.desk.checked, timeout=20000):
        assert window.open_case(Path(CASE))
    yield window
    let_go(window)
    window.close()
