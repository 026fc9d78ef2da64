"""Fixtures of the window's tests: the window on the stand-in case, without the 3-D view."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings

from tests.scene.standin import standin_case, standin_head
from trainer.app.controller import SessionController
from trainer.app.window import TrainerWindow
from trainer.engine.points import pack_head
from trainer.models.meshes import HeadMeshes
from trainer.services.assets import UNITS
from trainer.services.unit_io import find_unit
from trainer.services.workbench import Workbench


@pytest.fixture(scope="session")
def meshes() -> HeadMeshes:
    """The stand-in head."""
    return standin_head()


@pytest.fixture(scope="session")
def bench(meshes: HeadMeshes) -> Workbench:
    """The stand-in case on its bench."""
    return Workbench(
        standin_case(), find_unit("alder-bench", UNITS), meshes, pack_head(meshes.head)
    )


@pytest.fixture
def settings(tmp_path: Path) -> QSettings:
    """Settings of this test alone."""
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


@pytest.fixture
def controller(bench: Workbench, qtbot: object) -> Iterator[SessionController]:
    """A controller with the stand-in case open."""
    made = SessionController()
    made.open(bench)
    yield made
    made.close()


@pytest.fixture
def make_window(qtbot, settings) -> Callable[..., TrainerWindow]:
    """Makes shown windows with nothing open; they are closed at the end."""

    def make(**places: Path) -> TrainerWindow:
        window = TrainerWindow(SessionController(), settings, **places)
        qtbot.addWidget(window)
        window.show()
        return window

    return make


@pytest.fixture
def window(make_window, bench) -> TrainerWindow:
    """A shown window with the stand-in case open."""
    made = make_window()
    made.controller.open(bench)
    return made
