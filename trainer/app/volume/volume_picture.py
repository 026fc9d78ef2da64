"""One slice of a recorded volume on the screen, worked by keys, wheel and click."""

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
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from trainer.app.volume.greys import Greys, grey_of, overlay_of
from trainer.scene.palette import FIELD, MISSED, PAPER, Rgb
from trainer.services.volumes.sheets import Plane
from trainer.services.volumes.slices import VolumeSlice

Array = NDArray[np.float64]

TITLES = {
    Plane.AXIAL: "Axial",
    Plane.CORONAL: "Coronal",
    Plane.SAGITTAL: "Sagittal",
    Plane.ARCH: "Along the arch",
}
# At the left, right, top and bottom of each picture; always the patient's.
LETTERS = {
    Plane.AXIAL: ("R", "L", "front", "back"),
    Plane.CORONAL: ("R", "L", "up", "down"),
    Plane.SAGITTAL: ("back", "front", "up", "down"),
    Plane.ARCH: ("R", "L", "up", "down"),
}
SIMULATED = "SIMULATED"
KEYS = (
    "Arrow keys: move the point (with Shift ten times as far). Page Up and Page Down, or the "
    "wheel: next slice. + and −: zoom. Home: back to the middle. Return: this slice large. "
    "Click: put the point there."
)
CROSS: Rgb = (255, 236, 150)
QUIET: Rgb = (205, 212, 218)
# A picture is computed with at most so many pixels, and drawn larger where there is more room.
MOST_PIXELS = 150_000
MARK_PX, BAR_MM = 5.0, 10.0
# A narrower picture leaves out the words for up and down and those beside the bar.
ROOMY_EM = 40
ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}
PAGES = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}
ZOOMS = {Qt.Key.Key_Plus: 1, Qt.Key.Key_Equal: 1, Qt.Key.Key_Minus: -1}


class VolumePicture(QWidget):
    """Paints one slice and tells what keys and clicks ask for.

    Signals
    -------
    stepped : Plane, int, int
        The point shall go so many steps to the right and down in the picture.
    paged : Plane, int
        So many slices on.
    pointed : Plane, float, float
        The point shall go to that row and column.
    zoomed : int
        Closer by so many steps.
    centred : no value
        The point shall go back to the middle.
    enlarged : Plane
        This slice alone, or all of them again.
    resized : Plane
        The picture has another size.
    """

    stepped = Signal(object, int, int)
    paged = Signal(object, int)
    pointed = Signal(object, float, float)
    zoomed = Signal(int)
    centred = Signal()
    enlarged = Signal(object)
    resized = Signal(object)

    def __init__(self, plane: Plane, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.plane = plane
        self.found: VolumeSlice | None = None
        self.note = ""
        self._missed: frozenset[str] = frozenset()
        self._cross = (0.0, 0.0)
        self._line = np.zeros((0, 2))
        self._greys = Greys(0, 1)
        self._grey: NDArray[np.uint8] | None = None  # kept: images are drawn from their memory
        self._over: NDArray[np.uint8] | None = None
        self.setMinimumSize(120, 100)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(f"{TITLES[plane]} slice")
        self.setToolTip(KEYS)

    def sizeHint(self) -> QSize:
        return QSize(320, 280)

    @property
    def size_px(self) -> tuple[int, int]:
        """Rows and columns that the picture is to be computed with."""
        width, height = max(self.width(), 2), max(self.height(), 2)
        smaller = min(1.0, (MOST_PIXELS / (width * height)) ** 0.5)
        return max(2, round(height * smaller)), max(2, round(width * smaller))

    def show_slice(
        self,
        found: VolumeSlice,
        greys: Greys,
        missed: frozenset[str],
        cross: tuple[float, float],
        line: Array,
        where: str,
    ) -> None:
        """Show a slice.

        ``missed`` are ids among its marks, ``cross`` is the point's row and column, ``line``
        (n, 2) rows and columns of a dashed line, ``where`` says where the slice lies.
        """
        if found is not self.found or greys != self._greys:
            self._grey = np.ascontiguousarray(grey_of(found, greys))
        if found is not self.found or missed != self._missed:
            self._over = np.ascontiguousarray(overlay_of(found, missed))
        self.found, self._greys, self._missed = found, greys, missed
        self._cross, self._line, self.note = cross, line, where
        held = [n for n in found.marks if n not in missed]
        cut = [n for n in found.marks if n in missed]
        told = [f"{TITLES[self.plane]} slice, {where}."]
        for word, names in (("Held", held), ("Missed", cut)):
            if names:
                told.append(f"{word} here: {', '.join(n.replace('-', ' ') for n in names)}.")
        if found.landmarks:
            told.append(f"Landmarks: {', '.join(n.replace('-', ' ') for n in found.landmarks)}.")
        self.setAccessibleDescription(" ".join(told))
        self.update()

    # painting -------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(0, 0, 0))
        if self._grey is not None and self._over is not None:
            rows, columns = self._grey.shape
            place = QRectF(self.rect())
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            grey = QImage(self._grey.data, columns, rows, columns, QImage.Format.Format_Grayscale8)
            over = QImage(
                self._over.data, columns, rows, 4 * columns, QImage.Format.Format_RGBA8888
            )
            painter.drawImage(place, grey)
            painter.drawImage(place, over)
            self._paint_lines(painter)
            self._paint_marks(painter)
            self._paint_landmarks(painter)
        self._paint_words(painter)
        if self.hasFocus():
            painter.setPen(QPen(QColor(*FIELD), 3.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -2, -2))
        painter.end()

    def _at(self, row: float, column: float) -> QPointF:
        rows, columns = self.found.values.shape if self.found is not None else (1, 1)
        return QPointF((column + 0.5) * self.width() / columns, (row + 0.5) * self.height() / rows)

    def _paint_lines(self, painter: QPainter) -> None:
        """The cross with a gap at its middle, and the dashed line."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if len(self._line):
            painter.setPen(QPen(QColor(*QUIET), 1.0, Qt.PenStyle.DashLine))
            painter.drawPolyline(QPolygonF([self._at(r, c) for r, c in self._line.tolist()]))
        middle = self._at(*self._cross)
        gap = 7.0
        painter.setPen(QPen(QColor(*CROSS), 1.0))
        x, y = middle.x(), middle.y()
        painter.drawLine(QPointF(0, y), QPointF(x - gap, y))
        painter.drawLine(QPointF(x + gap, y), QPointF(self.width(), y))
        painter.drawLine(QPointF(x, 0), QPointF(x, y - gap))
        painter.drawLine(QPointF(x, y + gap), QPointF(x, self.height()))

    def _paint_marks(self, painter: QPainter) -> None:
        """A hook on what is held, a cross on what is missed."""
        if self.found is None:
            return
        a = MARK_PX
        for name, mask in self.found.marks.items():
            rows, columns = np.nonzero(mask)
            at = self._at(float(rows.mean()), float(columns.mean()))
            cut = name in self._missed
            strokes = (
                [(QPointF(-a, -a), QPointF(a, a)), (QPointF(-a, a), QPointF(a, -a))]
                if cut
                else [(QPointF(-a, 0), QPointF(-a / 3, a)), (QPointF(-a / 3, a), QPointF(a, -a))]
            )
            colour = MISSED if cut else FIELD
            under = PAPER if cut else (0, 0, 0)
            for pen in (QPen(QColor(*under), 5.0), QPen(QColor(*colour), 2.5)):
                painter.setPen(pen)
                for start, end in strokes:
                    painter.drawLine(at + start, at + end)

    def _paint_landmarks(self, painter: QPainter) -> None:
        """A ring and a name."""
        if self.found is None:
            return
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for name, place in self.found.landmarks.items():
            at = self._at(*place)
            for pen in (QPen(QColor(0, 0, 0), 4.0), QPen(QColor(*PAPER), 1.6)):
                painter.setPen(pen)
                painter.drawEllipse(at, MARK_PX, MARK_PX)
            room = QRectF(at.x() + 9.0, at.y() - 20.0, 400.0, 40.0)
            flag = Qt.AlignmentFlag
            self._write(painter, room, flag.AlignLeft | flag.AlignVCenter, name.replace("-", " "))

    def _paint_words(self, painter: QPainter) -> None:
        inner = QRectF(self.rect()).adjusted(6, 4, -6, -4)
        left, right, top, bottom = LETTERS[self.plane]
        flag = Qt.AlignmentFlag
        middle = flag.AlignVCenter
        self._write(painter, inner, flag.AlignLeft | flag.AlignTop, TITLES[self.plane])
        self._write(painter, inner, flag.AlignRight | flag.AlignTop, self.note)
        self._write(painter, inner, flag.AlignLeft | middle, left)
        self._write(painter, inner, flag.AlignRight | middle, right)
        self._write(painter, inner, flag.AlignRight | flag.AlignBottom, SIMULATED)
        roomy = self.width() >= ROOMY_EM * self.fontMetrics().averageCharWidth()
        if roomy:
            self._write(painter, inner, flag.AlignHCenter | flag.AlignTop, top)
            self._write(painter, inner, flag.AlignHCenter | flag.AlignBottom, bottom)
        if self.found is None:
            return
        bar = BAR_MM / self.found.sheet.pixel_mm * self.height() / self.found.values.shape[0]
        at = inner.bottomLeft() + QPointF(1.0, -5.0)
        for pen in (QPen(QColor(0, 0, 0), 4.0), QPen(QColor(*PAPER), 2.0)):
            painter.setPen(pen)
            painter.drawLine(at, at + QPointF(bar, 0.0))
        if roomy:
            room = inner.adjusted(bar + 6.0, 0, 0, 0)
            self._write(painter, room, flag.AlignLeft | flag.AlignBottom, f"{BAR_MM:g} mm")

    def _write(self, painter: QPainter, room: QRectF, where: Qt.AlignmentFlag, words: str) -> None:
        """Words on a dark ground, so that they can be read on any grey."""
        if not words:
            return
        box = painter.boundingRect(room, int(where), words)
        painter.fillRect(box.adjusted(-2, 0, 2, 0), QColor(0, 0, 0, 170))
        painter.setPen(QColor(*PAPER))
        painter.drawText(room, int(where), words)

    # keys and mouse -------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        many = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
        if key in ARROWS:
            right, down = ARROWS[key]
            self.stepped.emit(self.plane, many * right, many * down)
        elif key in PAGES:
            self.paged.emit(self.plane, many * PAGES[key])
        elif key in ZOOMS:
            self.zoomed.emit(ZOOMS[key])
        elif key == Qt.Key.Key_Home:
            self.centred.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.enlarged.emit(self.plane)
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y()
        if turned:
            self.paged.emit(self.plane, -1 if turned > 0 else 1)
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        if self.found is None:
            return
        rows, columns = self.found.values.shape
        at = event.position()
        row = at.y() * rows / self.height() - 0.5
        self.pointed.emit(self.plane, row, at.x() * columns / self.width() - 0.5)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.enlarged.emit(self.plane)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.resized.emit(self.plane)
