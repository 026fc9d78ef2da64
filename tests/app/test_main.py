"""Starting the program."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from trainer.app.main import begin, build_window
from trainer.services.workbench import DEMO_CASE

# Opens the program as a person does, and closes it when the first 3-D picture is there.
OPEN_AND_CLOSE = """
import sys
from PySide6.QtCore import QTimer
from trainer.app import main

build = main.build_window
def build_and_close():
    window = build()
    def look():
        if window.view3d.scene is not None and window.controller.placement is not None:
            QTimer.singleShot(0, window.close)
    timer = QTimer(window, interval=50)
    timer.timeout.connect(look)
    timer.start()
    return window
main.build_window = build_and_close
code = main.run()
print("exit", code, "libraries", "pyvista" in sys.modules)
"""


def in_new_python(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """What a fresh Python that runs ``code`` printed and returned."""
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=100,
        env={**os.environ, **environment},
    )  # fmt: skip


def test_without_a_screen_a_sentence_and_code_2() -> None:
    """Without a screen the program says so on the terminal and ends with 2, without a crash."""
    code = "from trainer.app.main import run; raise SystemExit(run())"
    done = in_new_python(code, DISPLAY="", WAYLAND_DISPLAY="", QT_QPA_PLATFORM="")
    if not sys.platform.startswith("linux"):
        pytest.skip("only Linux has windows by DISPLAY")
    assert done.returncode == 2
    assert done.stderr.startswith("There is no screen here")
    assert "Traceback" not in done.stderr


@pytest.mark.slow
def test_program_opens_and_closes() -> None:
    """The program starts on the demo case, shows its picture, and ends with 0 and no message."""
    done = in_new_python(OPEN_AND_CLOSE)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["exit", "0", "libraries", "True"]
    assert "Traceback" not in done.stderr


def test_building_the_window_loads_no_vtk() -> None:
    """The window is there before VTK is loaded, so that it comes quickly."""
    code = (
        "import sys\n"
        "from PySide6.QtWidgets import QApplication\n"
        "app = QApplication([])\n"
        "from trainer.app.main import build_window\n"
        "window = build_window()\n"
        "window.show()\n"
        "heavy = ('vtkmodules', 'pyvista', 'matplotlib', 'skimage')\n"
        "print([name for name in heavy if name in sys.modules])\n"
        "window.close()\n"
    )
    done = in_new_python(code, QT_QPA_PLATFORM="offscreen")
    assert done.stdout.strip() == "[]", done.stderr


def test_begin_opens_the_case(qtbot, monkeypatch) -> None:
    """What the start leads to: the case is open, and the first notice is on the screen."""
    monkeypatch.setenv("TRAINER_NO_3D", "1")
    window = build_window()
    qtbot.addWidget(window)
    window.show()
    begin(window, DEMO_CASE)
    qtbot.waitUntil(lambda: window.controller.bench is not None, timeout=20000)
    from trainer.app.notices import CautionsDialog

    qtbot.waitUntil(lambda: bool(window.findChildren(CautionsDialog)))
    window.findChildren(CautionsDialog)[0].reject()
