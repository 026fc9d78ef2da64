"""Shows pictures of the 3-D view and tells what the mouse wants."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QImage, QMouseEvent, QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QWidget

DEG_PER_PX = 0.4
ZOOM_PER_NOTCH = 1.1
CLICK_PX = 4.0  # a hand that only clicks moves less than this


class SceneCanvas(QWidget):
    """The last picture of the 3-D view.

    Signals
    -------
    dragged : float, float
        The view shall be turned: degrees sideways and up.
    zoomed : float
        The view shall be brought nearer by this factor.
    clicked : float, float
        The mouse was pressed and let go at one place: pixels of the widget from its upper left.
    resized : no value
        A picture of another size is wanted.
    painted : no value
        A new picture has reached the screen.
    """

    dragged = Signal(float, float)
    zoomed = Signal(float)
    clicked = Signal(float, float)
    resized = Signal()
    painted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.picture: NDArray[np.uint8] | None = None
        self._fresh = False
        self._held: QPointF | None = None
        self._pressed: QPointF | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("3-D view")
        self.setToolTip("Drag or Alt+arrow keys: walk round the patient. Wheel: nearer, farther.")

    def size_px(self) -> tuple[int, int]:
        """Width and height that a picture should have, in pixels of the screen."""
        ratio = self.devicePixelRatioF()
        return max(1, round(self.width() * ratio)), max(1, round(self.height() * ratio))

    def show_picture(self, picture: NDArray[np.uint8]) -> None:
        """Show a picture: (h, w, 4) uint8, top row first."""
        self.picture, self._fresh = np.ascontiguousarray(picture), True
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self.picture is not None:
            height, width = self.picture.shape[:2]
            image = QImage(
                self.picture.data, width, height, 4 * width, QImage.Format.Format_RGBX8888
            )
            painter.drawImage(self.rect(), image)
        painter.end()
        if self._fresh:
            self._fresh = False
            self.painted.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.resized.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._held = self._pressed = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._held is not None:
            moved = event.position() - self._held
            self._held = event.position()
            self.dragged.emit(-DEG_PER_PX * moved.x(), DEG_PER_PX * moved.y())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._pressed is not None:
            moved = event.position() - self._pressed
            if abs(moved.x()) + abs(moved.y()) <= CLICK_PX:
                self.clicked.emit(self._pressed.x(), self._pressed.y())
        self._held = self._pressed = None

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.zoomed.emit(ZOOM_PER_NOTCH ** (event.angleDelta().y() / 120.0))
