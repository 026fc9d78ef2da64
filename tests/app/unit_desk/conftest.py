"""The unit's window with a shipped unit, checked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from trainer.app.unit_desk.controller import UnitController
from trainer.app.unit_desk.window import UnitWindow
from trainer.services.assets import UNITS

FILE = UNITS / "alder_bench.yaml"


@pytest.fixture
def at_unit(qtbot, settings) -> Iterator[UnitWindow]:
    """The window; what was not saved is let go of at the end."""

    def let_go(window: UnitWindow) -> None:
        window.desk.draft = None

    window = UnitWindow(UnitController(), settings)
    qtbot.addWidget(window, before_close_func=let_go)
    window.resize(1280, 800)
    window.show()
    window.activateWindow()
    with qtbot.waitSignal(window.desk.checked, timeout=30000):
        assert window.open_file(FILE)
    yield window
    let_go(window)
    window.close()
