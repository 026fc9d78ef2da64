"""The exposure switch: held by mouse or key, behind a guard that a stray key cannot pass."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QPushButton, QWidget

HOLD_KEY = Qt.Key.Key_Space


class HoldButton(QPushButton):
    """Radiates only while it is held.

    It takes a fresh press of the space bar or the left mouse button, while it has the focus and is
    armed. Repeats of a key that is held down count as nothing, in both directions; so does a key
    that went down elsewhere, or with Ctrl, Alt or the like. Losing the focus, being disarmed,
    disabled or hidden lets go.

    Signals
    -------
    pressed_down : no value
        The switch is pressed.
    let_go : no value
        The switch is let go.
    """

    pressed_down = Signal()
    let_go = Signal()

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(words, parent)
        self.setObjectName("hold")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAutoDefault(False)
        self.setAutoRepeat(False)
        self._armed = False
        self._held = False

    @property
    def armed(self) -> bool:
        """Whether a press would count."""
        return self._armed

    @property
    def held(self) -> bool:
        """Whether it is being held."""
        return self._held

    def arm(self, on: bool) -> None:
        """Lift the guard, or close it; closing lets go."""
        self._armed = on
        if not on:
            self._release()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # Enter and everything else do nothing here, and do not travel on as a shortcut
        plain = event.modifiers() == Qt.KeyboardModifier.NoModifier
        if event.key() == HOLD_KEY and plain and not event.isAutoRepeat():
            self._press()
        if event.key() in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab, Qt.Key.Key_Escape):
            self._release()
            super().keyPressEvent(event)
            return
        event.accept()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.key() == HOLD_KEY and not event.isAutoRepeat():
            self._release()
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self._press()
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._release()
        event.accept()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self._release()
        super().focusOutEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.EnabledChange and not self.isEnabled():
            self._release()
        super().changeEvent(event)

    def hideEvent(self, event: object) -> None:
        self._release()
        super().hideEvent(event)  # type: ignore[arg-type]

    def _press(self) -> None:
        if self._armed and self.isEnabled() and self.hasFocus() and not self._held:
            self._held = True
            self.setDown(True)
            self.pressed_down.emit()

    def _release(self) -> None:
        if self._held:
            self._held = False
            self.setDown(False)
            self.let_go.emit()
