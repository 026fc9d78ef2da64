"""Whether this computer can show a window, and a 3-D view in it."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping

from PySide6.QtGui import QGuiApplication, QOffscreenSurface, QOpenGLContext, QSurfaceFormat

# What VTK needs (VTK 9 release notes: OpenGL 3.2).
LEAST_OPENGL = (3, 2)
WITHOUT_3D = ("offscreen", "minimal", "minimalegl", "vnc", "linuxfb")
FLAT_IS_ENOUGH = "The two flat views and the result show everything; all controls work."


def no_window(environment: Mapping[str, str], platform: str = sys.platform) -> str | None:
    """Why no window can be opened here, as a sentence; ``None`` where one can."""
    if not platform.startswith("linux") or environment.get("QT_QPA_PLATFORM"):
        return None
    if environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"):
        return None
    return (
        "There is no screen here (neither DISPLAY nor WAYLAND_DISPLAY is set), so the window was "
        "not opened; nothing was changed. Start it from a desktop session, put 'xvfb-run -a' in "
        "front, or use 'trainer assess CASE' and 'trainer render CASE', which need no screen."
    )


def no_3d() -> str | None:
    """Why there can be no 3-D view, as a sentence; ``None`` where there can. Needs a QApplication.

    The environment variable ``TRAINER_NO_3D`` turns it off, for computers where it misbehaves.
    """
    if os.environ.get("TRAINER_NO_3D"):
        return f"The 3-D view is turned off (TRAINER_NO_3D is set). {FLAT_IS_ENOUGH}"
    if QGuiApplication.platformName() in WITHOUT_3D:
        return f"This kind of screen has no OpenGL, so there is no 3-D view. {FLAT_IS_ENOUGH}"
    context = QOpenGLContext()
    context.setFormat(surface_format())
    surface = QOffscreenSurface()
    surface.setFormat(surface_format())
    surface.create()
    made = context.create() and context.makeCurrent(surface)
    found = (context.format().majorVersion(), context.format().minorVersion())
    if made:
        context.doneCurrent()
    if not made or found < LEAST_OPENGL:
        needs = ".".join(map(str, LEAST_OPENGL))
        return (
            f"The 3-D view needs OpenGL {needs}, which this computer does not offer. "
            f"{FLAT_IS_ENOUGH} A newer graphics driver, or Mesa's software renderer, brings it "
            "back."
        )
    return None


def surface_format() -> QSurfaceFormat:
    """What the 3-D view needs from OpenGL."""
    wanted = QSurfaceFormat()
    wanted.setRenderableType(QSurfaceFormat.RenderableType.OpenGL)
    wanted.setProfile(QSurfaceFormat.OpenGLContextProfile.CoreProfile)
    wanted.setVersion(*LEAST_OPENGL)
    wanted.setSamples(0)
    return wanted
