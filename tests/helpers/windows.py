"""Windows that outlive their test."""

from __future__ import annotations

import gc

from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication, QWidget


def windows_left() -> list[str]:
    """Names of top-level widgets that survive being closed and let go; they are deleted after.

    pytest-qt has closed the widgets it was given before this runs. What is still there is closed,
    deferred deletes are carried out, and Python's unreachable objects are collected.
    """
    if QApplication.instance() is None:
        return []

    left = _drain()
    if left:
        for widget in left:
            widget.close()
        del widget, left
        gc.collect()
        left = _drain()
    names = [f"{type(widget).__name__} '{widget.windowTitle()}'" for widget in left]
    for widget in left:
        widget.deleteLater()
    return names


def _drain() -> list[QWidget]:
    for _ in range(2):  # a deleted window may itself ask for its parts to be deleted
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        QCoreApplication.processEvents()
    # QTipLabel is Qt's own one tooltip window, kept for the next tooltip.
    return [
        widget
        for widget in QApplication.topLevelWidgets()
        if widget.parent() is None and widget.metaObject().className() != "QTipLabel"
    ]
