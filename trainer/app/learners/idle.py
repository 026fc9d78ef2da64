"""The watch that tells when nobody has touched the program for a while."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import QEvent, QObject, QTimer, Signal
from PySide6.QtGui import QGuiApplication, QWindow

from trainer.models.records import Learner
from trainer.services.records.sitting import Sitting

LOOK_MS = 5000  # how often the watch looks at the time
INPUT = (
    QEvent.Type.KeyPress,
    QEvent.Type.MouseButtonPress,
    QEvent.Type.MouseMove,
    QEvent.Type.Wheel,
    QEvent.Type.TouchBegin,
    QEvent.Type.TabletMove,
)


class IdleWatch(QObject):
    """Notes every touch of keyboard or mouse while somebody is signed in, and tells when to lock.

    Signals
    -------
    idle : no value
        Nothing was done for as long as was set.
    """

    idle = Signal()

    def __init__(self, now: Callable[[], datetime], parent: QObject) -> None:
        super().__init__(parent)
        self._now = now
        self.sitting: Sitting | None = None
        self.after_s = 0.0
        self._look = QTimer(self)
        self._look.setInterval(LOOK_MS)
        self._look.timeout.connect(self.look)

    def start(self, learner: Learner, after_s: float) -> None:
        """Watch for this learner."""
        self.sitting, self.after_s = Sitting(learner, self._now()), after_s
        app = QGuiApplication.instance()
        assert isinstance(app, QGuiApplication)
        app.focusWindowChanged.connect(self._on_window)
        for window in QGuiApplication.allWindows():
            self._on_window(window)
        self._look.start()

    def stop(self) -> None:
        """Watch no more."""
        self.sitting = None
        self._look.stop()
        app = QGuiApplication.instance()
        if isinstance(app, QGuiApplication):
            app.focusWindowChanged.disconnect(self._on_window)
        for window in QGuiApplication.allWindows():
            window.removeEventFilter(self)

    def touch(self) -> None:
        """Somebody is there."""
        if self.sitting is not None:
            self.sitting = self.sitting.touched(self._now())

    def look(self) -> None:
        """Look whether it is time to lock."""
        if self.sitting is not None and self.sitting.is_locked(self._now(), self.after_s):
            self.idle.emit()

    def eventFilter(self, _: QObject, event: QEvent) -> bool:
        if event.type() in INPUT:
            self.touch()
        return False

    def _on_window(self, window: QWindow | None) -> None:
        # the windows and not the application: only what people do comes by there
        if window is not None and self.sitting is not None:
            window.removeEventFilter(self)
            window.installEventFilter(self)
