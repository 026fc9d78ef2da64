"""Whether there can be a window and a 3-D view."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QGuiApplication, QOpenGLContext

from trainer.app.display import FLAT_IS_ENOUGH, no_3d, no_window


@pytest.mark.parametrize(
    ("environment", "platform", "can"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({"QT_QPA_PLATFORM": "offscreen"}, "linux", True),
        ({}, "win32", True),
        ({}, "darwin", True),
    ],
)
def test_a_screen_is_needed(environment, platform, can) -> None:
    """Without a screen on Linux there is a sentence that says what to do; elsewhere none."""
    sentence = no_window(environment, platform)
    assert (sentence is None) is can
    if sentence:
        assert "trainer assess" in sentence


def test_no_3d_where_the_screen_has_no_opengl(qapp, monkeypatch) -> None:
    """On a screen without OpenGL the sentence says that the flat views are enough."""
    monkeypatch.setattr(QGuiApplication, "platformName", staticmethod(lambda: "offscreen"))
    assert FLAT_IS_ENOUGH in no_3d()


def test_no_3d_when_no_context_can_be_made(qapp, monkeypatch) -> None:
    """Where no OpenGL context can be made, the sentence names the version that is needed."""
    monkeypatch.setattr(QGuiApplication, "platformName", staticmethod(lambda: "xcb"))
    monkeypatch.setattr(QOpenGLContext, "create", lambda self: False)
    assert "needs OpenGL 3.2" in no_3d()


def test_3d_can_be_turned_off(qapp, monkeypatch) -> None:
    """The environment variable turns the 3-D view off and is named in the sentence."""
    monkeypatch.setenv("TRAINER_NO_3D", "1")
    assert "TRAINER_NO_3D" in no_3d()


def test_libraries_that_cannot_be_loaded_are_told(qtbot, monkeypatch) -> None:
    """When the 3-D libraries fail to load, a sentence stands in the view's place."""
    import sys

    from trainer.app.scene_holder import SceneHolder

    monkeypatch.setitem(sys.modules, "trainer.scene.view", None)
    monkeypatch.setattr("trainer.app.scene_holder.no_3d", lambda: None)
    holder = SceneHolder()
    qtbot.addWidget(holder)
    holder.start()
    qtbot.waitUntil(lambda: "cannot be shown" in holder.note.text(), timeout=5000)
    assert "flat views" in holder.note.text()
    assert holder.scene is None
    holder.shut()
