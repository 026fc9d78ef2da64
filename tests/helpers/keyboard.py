"""What a keyboard reaches in a window."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QPlainTextEdit,
    QTabBar,
    QWidget,
)

WORKED = (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
)


def missed_by_tab(qtbot: Any, window: QWidget, most: int = 200) -> list[str]:
    """Names of what can be worked in the window and never has the focus while Tab goes round."""
    reached: list[QWidget] = []
    for _ in range(most):
        at = QApplication.focusWidget()
        if at is None or at in reached[:-1]:
            break
        if at not in reached:  # a day keeps Tab for its year, month and day
            reached.append(at)
        qtbot.keyClick(at, Qt.Key.Key_Tab)
    wanted = (w for kind in WORKED for w in window.findChildren(kind))
    return [
        f"{type(w).__name__} {w.accessibleName() or getattr(w, 'text', str)()}"
        for w in wanted
        if w.isVisible() and w.isEnabled() and _is_own(w) and w not in reached
    ]


def _is_own(widget: QWidget) -> bool:
    """Whether it stands for itself: no part of another one, no table that only holds entries."""
    parent = widget.parentWidget()
    if isinstance(parent, QAbstractSpinBox | QComboBox | QTabBar):
        return False
    if isinstance(widget, QAbstractItemView) and widget.focusPolicy() == Qt.FocusPolicy.NoFocus:
        return False
    return not (widget.objectName().startswith("qt_") or isinstance(widget, QHeaderView))
