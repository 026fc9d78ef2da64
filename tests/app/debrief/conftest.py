"""Fixtures of the debrief's tests: the shipped case, no 3-D view, no phantom, no solution."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from trainer.app.debrief import debrief_job
from trainer.app.debrief.debrief_panel import PAGE, DebriefPanel
from trainer.services.slices import Cut, Slice
from trainer.services.workbench import DEMO_CASE, Workbench, open_workbench


@pytest.fixture(scope="session")
def real_bench() -> Workbench:
    """The shipped case with its visit, rules and the real head."""
    return open_workbench(DEMO_CASE)


class PlainHead:
    """A head whose slices are plain grey with one structure held and one missed."""

    def __init__(self, bench: object, person: object, tell: Callable[[str], None]) -> None:
        tell("everything")

    def slice(self, placement: object, cut: Cut, at_mm: float = 0.0) -> Slice:
        """The same slice anywhere."""
        return plain_slice(cut, at_mm)


def plain_slice(cut: Cut = Cut.ACROSS, at_mm: float = 0.0) -> Slice:
    """Forty pixels square: a held square on the left, a missed one on the right."""
    held, missed = np.zeros((40, 40), bool), np.zeros((40, 40), bool)
    held[10:20, 5:15] = True
    missed[10:20, 25:35] = True
    ring = np.array([[-10.0, -10.0], [10.0, -10.0], [10.0, 10.0], [-10.0, 10.0]])
    grey = np.full((40, 40), 90, np.uint8)
    window = (-20.0, 20.0, -20.0, 20.0)
    return Slice(cut, at_mm, grey, window, ring, {"missed-one": missed}, {"held-one": held})


@pytest.fixture
def plain(monkeypatch) -> None:
    """Nothing takes long: no 3-D view, slices of nothing, no replay of the solution."""
    monkeypatch.setenv("TRAINER_NO_3D", "1")
    monkeypatch.setattr(debrief_job, "SlicedHead", PlainHead)
    monkeypatch.setattr(debrief_job, "worked_setups", lambda bench: ())


@pytest.fixture
def make_panel(qtbot, real_bench, plain):
    """Makes shown panels; what they do is stopped at the end."""
    made: list[DebriefPanel] = []

    def make(state, reveal: bool = True) -> DebriefPanel:
        panel = DebriefPanel(real_bench)
        made.append(panel)
        qtbot.addWidget(panel)
        panel.resize(1000, 660)
        panel.show()
        panel.activateWindow()
        qtbot.waitUntil(panel.isActiveWindow)
        panel.ask(state)
        if reveal:
            panel.reveal(state)
            qtbot.waitUntil(lambda: panel._stack.currentIndex() == PAGE, timeout=20000)
        return panel

    yield make
    for panel in made:
        panel.shut()
