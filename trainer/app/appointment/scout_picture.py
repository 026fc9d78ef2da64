"""A scout as a picture: letters, millimetre scale, the learner's mark, and the field if asked."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from trainer.app.picture_parts import paint_words, place_in
from trainer.physics.views import magnification, project_point
from trainer.scene.palette import FIELD_LINE, GROUND, PAPER, QUIET_TEXT, TEXT
from trainer.services.scouts import ScoutPicture, grey_levels

LETTERS = {"frontal": ("R", "L"), "lateral": ("back", "front")}
BAR_MM = 20.0
# A mark on any grey: light on dark, two widths.
MARK_PX = 11
# How far an arrow key moves the cross, and with Shift [pixels of the picture].
STEP_PX, LARGE_STEP_PX = 2, 20


class PictureView(QWidget):
    """Shows one picture; a click or Enter marks a place on it.

    Signals
    -------
    marked : float, float
        Row and column of the place that was marked.
    """

    marked = Signal(float, float)

    def __init__(self, view: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = view
        self.picture: ScoutPicture | None = None
        self.words = "No picture yet"
        self.cross: tuple[float, float] | None = None
        self.mark: tuple[float, float] | None = None
        self._field: NDArray[np.float64] | None = None
        self._bar_px = 0.0
        self._image: QImage | None = None
        self._grey: NDArray[np.uint8] | None = None
        self.setMinimumSize(150, 130)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(f"{view.capitalize()} picture")
        self.setToolTip("Click the target, or move the cross by the arrow keys, then Enter.")

    def sizeHint(self) -> QSize:
        return QSize(330, 300)

    def clear(self, words: str) -> None:
        """Show words in the picture's place."""
        self.picture, self._image, self._field = None, None, None
        self.cross = self.mark = None
        self.words = words
        self.update()

    def show_picture(
        self,
        picture: ScoutPicture,
        centre_mm: NDArray[np.float64],
        field_mm: tuple[float, float] | None = None,
    ) -> None:
        """Show a picture; ``centre_mm``: the field's centre, ``field_mm``: its diameter, height."""
        self.picture, self.mark = picture, None
        grey = grey_levels(picture.projection.values, picture.photons)
        self._grey = np.ascontiguousarray(grey)
        rows, columns = self._grey.shape
        self._image = QImage(
            self._grey.data, columns, rows, columns, QImage.Format.Format_Grayscale8
        )
        self.cross = (rows / 2.0, columns / 2.0)
        geometry = picture.view
        self._bar_px = BAR_MM * magnification(geometry, centre_mm) / geometry.pixel_mm
        self._field = None
        if field_mm is not None:
            along = geometry.column_step_mm / geometry.pixel_mm
            half, high = field_mm[0] / 2.0 * along, np.array([0.0, 0.0, field_mm[1] / 2.0])
            corners = [centre_mm + a * half + b * high for a, b in CORNERS]
            self._field = project_point(geometry, np.array(corners))
        self.update()

    def _place(self) -> QRectF:
        assert self._image is not None
        return place_in(self, self._image)

    def on_widget(self, row: float, column: float) -> QPointF:
        """Where a pixel's centre stands in the widget."""
        assert self._image is not None
        place = self._place()
        scale = place.width() / self._image.width()
        return QPointF(place.left() + (column + 0.5) * scale, place.top() + (row + 0.5) * scale)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(*GROUND))
        if self._image is None:
            painter.setPen(QColor(*QUIET_TEXT))
            flags = int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap)
            painter.drawText(self.rect().adjusted(10, 10, -10, -10), flags, self.words)
            painter.end()
            return
        place = self._place()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(place, self._image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._field is not None:
            outline = QPolygonF([self.on_widget(r, c) for r, c in self._field.tolist()])
            self._ground_line(painter)
            painter.drawPolygon(outline)
            painter.setPen(QPen(QColor(*FIELD_LINE), 2.0, Qt.PenStyle.DashLine))
            painter.drawPolygon(outline)
        self._letters(painter, place)
        self._bar(painter, place)
        if self.mark is None and self.cross is not None and self.hasFocus():
            self._draw_cross(painter, self.cross, False)
        if self.mark is not None:
            self._draw_cross(painter, self.mark, True)
        if self.hasFocus():
            painter.setPen(QPen(QColor(*FIELD_LINE), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _ground_line(self, painter: QPainter) -> None:
        painter.setPen(QPen(QColor(*PAPER), 4.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _letters(self, painter: QPainter, place: QRectF) -> None:
        at_left, at_right = LETTERS[self.view]
        for words, right in ((at_left, False), (at_right, True)):
            paint_words(painter, words, place.topRight() if right else place.topLeft(), right)
        paint_words(painter, "SIMULATED", place.bottomLeft() - QPointF(0, 24), False)

    def _bar(self, painter: QPainter, place: QRectF) -> None:
        assert self._image is not None
        long = self._bar_px * place.width() / self._image.width()
        right, low = place.right() - 8, place.bottom() - 8
        words = f"{BAR_MM:g} mm"
        high = painter.fontMetrics().height()
        wide = max(long, painter.fontMetrics().horizontalAdvance(words)) + 8
        painter.fillRect(QRectF(right - wide + 4, low - high - 6, wide, high + 10), QColor(*PAPER))
        painter.setPen(QPen(QColor(*TEXT), 2.0))
        painter.drawLine(QPointF(right - long, low), QPointF(right, low))
        for x in (right - long, right):
            painter.drawLine(QPointF(x, low - 4), QPointF(x, low))
        painter.drawText(
            QRectF(right - wide + 4, low - high - 5, wide - 4, high),
            int(Qt.AlignmentFlag.AlignRight),
            words,
        )

    def _draw_cross(self, painter: QPainter, at: tuple[float, float], done: bool) -> None:
        middle = self.on_widget(*at)
        for colour, width in ((PAPER, 4.0), (FIELD_LINE, 2.0)):
            painter.setPen(QPen(QColor(*colour), width))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            for dx, dy in ((MARK_PX, 0), (0, MARK_PX)):
                painter.drawLine(middle - QPointF(dx, dy), middle + QPointF(dx, dy))
            if done:
                painter.drawEllipse(middle, MARK_PX * 0.7, MARK_PX * 0.7)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self._image is None:
            return
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        place = self._place()
        scale = self._image.width() / place.width()
        at = (event.position() - place.topLeft()) * scale
        self._mark_at(at.y() - 0.5, at.x() - 0.5)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        ways = {
            Qt.Key.Key_Left: (0, -1),
            Qt.Key.Key_Right: (0, 1),
            Qt.Key.Key_Up: (-1, 0),
            Qt.Key.Key_Down: (1, 0),
        }
        key = Qt.Key(event.key())
        if self._image is None or self.cross is None:
            super().keyPressEvent(event)
        elif key in ways:
            shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            by = LARGE_STEP_PX if shift else STEP_PX
            down, along = ways[key]
            self.mark = None
            self.cross = self._within(self.cross[0] + by * down, self.cross[1] + by * along)
            self.update()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            if not event.isAutoRepeat():
                self._mark_at(*self.cross)
        else:
            super().keyPressEvent(event)

    def _within(self, row: float, column: float) -> tuple[float, float]:
        assert self._image is not None
        return (
            min(max(0.0, row), self._image.height() - 1.0),
            min(max(0.0, column), self._image.width() - 1.0),
        )

    def _mark_at(self, row: float, column: float) -> None:
        self.mark = self.cross = self._within(row, column)
        self.update()
        self.marked.emit(*self.mark)

    def focusInEvent(self, event: object) -> None:
        super().focusInEvent(event)  # type: ignore[arg-type]
        self.update()

    def focusOutEvent(self, event: object) -> None:
        super().focusOutEvent(event)  # type: ignore[arg-type]
        self.update()


CORNERS = ((-1, 1), (1, 1), (1, -1), (-1, -1))
