"""A flat view in the window: the shapes of `scene.flat_picture`, painted by Qt."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from trainer.scene.flat_picture import TITLES, Area, Arrow, FlatPicture, Polygon, Strokes, Words
from trainer.scene.outlines import Flat, Outline
from trainer.scene.palette import PAPER, Rgb

Array = NDArray[np.float64]
# Letters against the window's, and against that in pictures narrower than so many pixels.
STRONG_SIZE, PLAIN_SIZE, NARROW_SIZE, NARROW_PX = 1.0, 0.9, 0.85, 170
WRAPPED = int(Qt.AlignmentFlag.AlignHCenter | Qt.TextFlag.TextWordWrap)
# By the outline's identity: the outline (kept, so that the identity stays its own), scale and
# stride, path.
Paths = dict[int, tuple[Outline, tuple[float, int], QPainterPath]]


class FlatView(QWidget):
    """Shows one `FlatPicture`, as large as it fits."""

    def __init__(self, view: Flat, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = view
        self.picture: FlatPicture | None = None
        self.quick = False
        self._paths: Paths = {}
        self.setMinimumSize(110, 110)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(f"Flat view: {TITLES[view]}")

    def show_picture(self, picture: FlatPicture, quick: bool = False) -> None:
        """Show these shapes; ``quick`` leaves edges unsmoothed while something moves."""
        self.picture, self.quick = picture, quick
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(300, 290)

    def on_widget(self, point_mm: tuple[float, float]) -> QPointF:
        """Where a point of the picture (across, up) [mm] stands in the widget."""
        scale, dx, dy = self._fit()
        return QPointF(point_mm[0] * scale + dx, dy - point_mm[1] * scale)

    def _fit(self) -> tuple[float, float, float]:
        assert self.picture is not None
        left, right, low, high = self.picture.window_mm
        scale = min(self.width() / (right - left), self.height() / (high - low))
        return (
            scale,
            self.width() / 2 - scale * (left + right) / 2,
            (self.height() / 2 + scale * (low + high) / 2),
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), _colour(PAPER))
        if self.picture is not None:
            left, right, low, high = self.picture.window_mm
            corner, other = self.on_widget((left, high)), self.on_widget((right, low))
            place = QRectF(corner, other)
            painter.setClipRect(place)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, not self.quick)
            painting = _Painting(painter, self._fit(), place, self._paths, self.quick)
            painting.draw(self.picture)
            self._paths = painting.used
        painter.end()


class _Painting:
    """Draws shapes with a painter: millimetres go to pixels by ``scale`` and a shift.

    ``place`` is the picture's part of the widget [px]; words stay within it.
    """

    def __init__(
        self,
        painter: QPainter,
        fit: tuple[float, float, float],
        place: QRectF,
        paths: Paths,
        quick: bool,
    ) -> None:
        self.painter = painter
        self.place = place
        self.scale, self.dx, self.dy = fit
        self.paths = paths
        self.used: Paths = {}
        self.quick = quick
        self.fonts: dict[bool, tuple[QFont, QFontMetricsF]] = {}

    def draw(self, picture: FlatPicture) -> None:
        """Draw all shapes, rearmost first."""
        for shape in picture.shapes:
            match shape:
                case Area():
                    self._area(shape)
                case Strokes():
                    self._strokes(shape)
                case Polygon():
                    self._polygon(shape)
                case Words():
                    self._words(shape)
                case Arrow():
                    self._arrow(shape)

    def _points(self, points_mm: Array) -> list[QPointF]:
        x = (points_mm[:, 0] * self.scale + self.dx).tolist()
        y = (self.dy - points_mm[:, 1] * self.scale).tolist()
        return [QPointF(a, b) for a, b in zip(x, y, strict=True)]

    def _area(self, shape: Area) -> None:
        path = self._path(shape)
        if self.quick:  # thin lines are many times quicker
            self.painter.setPen(QPen(_colour(shape.line), 0) if shape.line else Qt.PenStyle.NoPen)
            self.painter.setBrush(_colour(shape.fill) if shape.fill else Qt.BrushStyle.NoBrush)
            self.painter.drawPath(path)
            if shape.hatched:
                self.painter.setBrush(QBrush(_colour(PAPER), Qt.BrushStyle.BDiagPattern))
                self.painter.drawPath(path)
            return
        # the line first and the filling over it: only the outer half of the outer line stays
        if shape.line is not None:
            self.painter.setPen(QPen(_colour(shape.line), 2.0 * shape.line_px))
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
            self.painter.drawPath(path)
        self.painter.setPen(Qt.PenStyle.NoPen)
        if shape.fill is not None:
            self.painter.setBrush(_colour(shape.fill))
            self.painter.drawPath(path)
        if shape.hatched:
            self.painter.setBrush(QBrush(_colour(PAPER), Qt.BrushStyle.BDiagPattern))
            self.painter.drawPath(path)

    def _path(self, shape: Area) -> QPainterPath:
        """The outline at its place; made once for every outline and scale, then only moved."""
        # while something moves every second point does
        stride = 2 if self.quick else 1
        held = self.paths.get(id(shape.seen))
        if held is None or held[0] is not shape.seen or held[1] != (self.scale, stride):
            path = QPainterPath()
            path.setFillRule(Qt.FillRule.WindingFill)
            for loop in shape.seen.loops:
                at = (loop[::stride] * (self.scale, -self.scale)).tolist()
                path.addPolygon(QPolygonF([QPointF(x, y) for x, y in at]))
                path.closeSubpath()
            held = (shape.seen, (self.scale, stride), path)
        self.used[id(shape.seen)] = held
        x, y = shape.shift_mm
        return held[2].translated(x * self.scale + self.dx, self.dy - y * self.scale)

    def _strokes(self, shape: Strokes) -> None:
        pen = QPen(_colour(shape.colour), shape.line_px)
        if shape.dashed:
            pen.setStyle(Qt.PenStyle.DashLine)
        self.painter.setPen(pen)
        self.painter.drawLines(self._points(shape.pieces_mm.reshape(-1, 2)))

    def _polygon(self, shape: Polygon) -> None:
        self.painter.setPen(Qt.PenStyle.NoPen)
        if shape.fill is not None:
            fill = _colour(shape.fill)
            fill.setAlphaF(shape.opacity)
            self.painter.setBrush(fill)
        else:
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
        if shape.line is not None:
            self.painter.setPen(QPen(_colour(shape.line), shape.line_px))
        self.painter.drawPolygon(QPolygonF(self._points(shape.points_mm)))

    def _arrow(self, shape: Arrow) -> None:
        start, tip = self._points(np.array([shape.start_mm, shape.end_mm]))
        along = tip - start
        length = max((along.x() ** 2 + along.y() ** 2) ** 0.5, 1e-9)
        along = along / length
        across = QPointF(-along.y(), along.x())
        foot = tip - along * 10.0
        self.painter.setPen(QPen(_colour(shape.colour), 3.0))
        self.painter.drawLine(start, foot)
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(_colour(shape.colour))
        self.painter.drawPolygon(QPolygonF([tip, foot + across * 6.5, foot - across * 6.5]))

    def _words(self, shape: Words) -> None:
        if shape.strong not in self.fonts:
            font = QFont(self.painter.font())
            font.setBold(shape.strong)
            size = STRONG_SIZE if shape.strong else PLAIN_SIZE
            narrow = self.place.width() < NARROW_PX
            font.setPointSizeF(font.pointSizeF() * size * (NARROW_SIZE if narrow else 1.0))
            self.fonts[shape.strong] = (font, QFontMetricsF(font))
        font, sizes = self.fonts[shape.strong]
        (at,) = self._points(np.array([shape.at_mm]))
        # a picture that is too narrow for the words gets them in more lines, all within it
        wide, high = sizes.horizontalAdvance(shape.text), sizes.height()
        if wide > self.place.width():
            room = QRectF(0.0, 0.0, self.place.width(), self.place.height())
            needed = sizes.boundingRect(room, WRAPPED, shape.text)
            wide, high = needed.width(), needed.height()
        x = at.x() - {"left": 0.0, "middle": 0.5, "right": 1.0}[shape.anchor] * wide
        x = min(max(x, self.place.left()), self.place.right() - wide)
        y = min(max(at.y() - high / 2.0, self.place.top()), self.place.bottom() - high)
        if shape.boxed:
            ground = _colour(PAPER)
            ground.setAlpha(225)
            self.painter.fillRect(QRectF(x - 2.0, y, wide + 4.0, high), ground)
        self.painter.setFont(font)
        self.painter.setPen(_colour(shape.colour))
        self.painter.drawText(QRectF(x, y, wide + 1.0, high), WRAPPED, shape.text)


def _colour(rgb: Rgb) -> QColor:
    return QColor(*rgb)
