"""The unit drawn to scale from above and from the side; follows its numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from trainer.app.unit_desk.plan import Line, LineKind, from_above, from_the_side, told
from trainer.app.words import REGION_WORDS
from trainer.models.device import Region, Unit
from trainer.scene.palette import (
    FIELD_LINE,
    LIGHT,
    MISSED,
    PAPER,
    QUIET_TEXT,
    SKIN_LINE,
    TEXT,
    Rgb,
)

PEN = Qt.PenStyle
LOOKS: dict[LineKind, tuple[Rgb, float, Qt.PenStyle]] = {
    LineKind.FIELD: (FIELD_LINE, 2.4, PEN.SolidLine),
    LineKind.BEAM: (QUIET_TEXT, 1.2, PEN.DashLine),
    LineKind.DETECTOR: (TEXT, 3.0, PEN.SolidLine),
    LineKind.PART: (QUIET_TEXT, 1.4, PEN.SolidLine),
    LineKind.LIGHT: (LIGHT, 1.6, PEN.DashDotLine),
    LineKind.HEAD: (SKIN_LINE, 1.2, PEN.DotLine),
    LineKind.SUPPORT: (MISSED, 2.4, PEN.SolidLine),
    LineKind.ZERO: (QUIET_TEXT, 1.0, PEN.DashLine),
    LineKind.AXIS: (TEXT, 1.2, PEN.DashDotDotLine),
    LineKind.LAYER: (FIELD_LINE, 2.4, PEN.DotLine),
}
OLD = "Drawn as it was before the faults. Mend them, and the drawing follows again."
BAR_MM = 100.0
MARGIN_PX = 26.0


class PlanView(QWidget):
    """One drawing: lines in millimetres, a letter at each side, a bar of 100 mm."""

    def __init__(self, title: str, letters: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self.letters = title, letters  # left, right, top, bottom
        self.lines: tuple[Line, ...] = ()
        self.setMinimumSize(200, 160)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(title)

    def sizeHint(self) -> QSize:
        return QSize(420, 300)

    def show_lines(self, lines: tuple[Line, ...]) -> None:
        """Draw these."""
        self.lines = lines
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(*PAPER))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.lines:
            self._paint_lines(painter)
        self._paint_words(painter)
        painter.end()

    def _paint_lines(self, painter: QPainter) -> None:
        everything = np.concatenate([line.points for line in self.lines])
        low, high = everything.min(axis=0), everything.max(axis=0)
        room = QRectF(self.rect()).adjusted(MARGIN_PX, MARGIN_PX, -MARGIN_PX, -MARGIN_PX)
        size = np.maximum(high - low, 1.0)
        scale = min(room.width() / size[0], room.height() / size[1])
        middle = (low + high) / 2.0

        def at(point: np.ndarray) -> QPointF:
            off = (point - middle) * scale
            return room.center() + QPointF(float(off[0]), -float(off[1]))

        taken: list[QRectF] = []
        for line in self.lines:
            colour, width, style = LOOKS[line.kind]
            painter.setPen(QPen(QColor(*colour), width, style))
            painter.drawPolyline(QPolygonF([at(p) for p in line.points]))
        for line in self.lines:
            if line.word:
                self._paint_word(painter, line, at(_where(line, middle)), taken)
        painter.setPen(QPen(QColor(*TEXT), 2.0))
        start = QPointF(8.0, self.height() - 8.0)
        painter.drawLine(start, start + QPointF(BAR_MM * scale, 0.0))
        painter.drawText(start + QPointF(0.0, -4.0), f"{BAR_MM:g} mm")

    def _paint_word(self, painter: QPainter, line: Line, at: QPointF, taken: list[QRectF]) -> None:
        """The word beside its line, moved down or else up until it stands on no other."""
        box = painter.fontMetrics().boundingRect(line.word).toRectF()
        box.moveCenter(at)
        if line.kind in (LineKind.FIELD, LineKind.SUPPORT, LineKind.LIGHT, LineKind.DETECTOR):
            box.moveLeft(at.x() + 6.0)
        inner = QRectF(self.rect()).adjusted(3, MARGIN_PX - 4, -3, -MARGIN_PX + 4)
        box.moveLeft(min(max(box.left(), inner.left()), inner.right() - box.width()))
        box.moveTop(min(max(box.top(), inner.top()), inner.bottom() - box.height()))
        for way in (4.0, -4.0):
            tried = QRectF(box)
            while any(tried.intersects(other) for other in taken) and inner.contains(tried):
                tried.translate(0.0, way)
            if inner.contains(tried):
                box = tried
                break
        taken.append(box)
        ground = QColor(*PAPER)
        ground.setAlpha(200)
        painter.fillRect(box.adjusted(-2, 0, 2, 0), ground)
        painter.setPen(QColor(*(QUIET_TEXT if line.kind is LineKind.PART else TEXT)))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, line.word)

    def _paint_words(self, painter: QPainter) -> None:
        flag, inner = Qt.AlignmentFlag, QRectF(self.rect()).adjusted(5, 3, -5, -3)
        painter.setPen(QColor(*QUIET_TEXT))
        painter.drawText(inner, int(flag.AlignLeft | flag.AlignTop), self.title)
        sides = (flag.AlignLeft | flag.AlignVCenter, flag.AlignRight | flag.AlignVCenter,
                 flag.AlignHCenter | flag.AlignTop,
                 flag.AlignHCenter | flag.AlignBottom)  # fmt: skip
        for letter, side in zip(self.letters, sides, strict=True):
            painter.drawText(inner, int(side), letter)


def _where(line: Line, middle: np.ndarray) -> np.ndarray:
    """Where the word of a line stands: a part's far corner, else the end on the right."""
    if line.kind is LineKind.PART:
        off = np.linalg.norm(line.points - middle, axis=1)
        return np.asarray(line.points[int(off.argmax())])
    if line.kind is LineKind.BEAM:
        return np.asarray(line.points[1])
    if line.kind is LineKind.HEAD:
        return np.asarray(line.points[line.points[:, 1].argmin()])
    if line.kind is LineKind.ZERO:
        return np.asarray(line.points[0])
    return np.asarray(line.points[int(line.points[:, 0].argmax())])


class UnitDrawing(QWidget):
    """Both drawings, for a field and a region that can be chosen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.unit: Unit | None = None
        self.field, self.region = QComboBox(), QComboBox()
        row = QHBoxLayout()
        for words, box in (("Draw &field", self.field), ("for the &region", self.region)):
            label = QLabel(words)
            label.setBuddy(box)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            row.addWidget(label)
            row.addWidget(box)
            box.currentIndexChanged.connect(self._draw)
        row.addStretch(1)
        self.above = PlanView("From above", ("R", "L", "front", "back"))
        self.side = PlanView("From the patient's right", ("back", "front", "up", "down"))
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setObjectName("quiet")
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.addLayout(row)
        column.addWidget(self.above, 3)
        column.addWidget(self.side, 2)
        column.addWidget(self.words)

    def show_unit(self, unit: Unit | None) -> None:
        """Draw that unit; without one the last drawing stays and says so."""
        if unit is None:
            self.words.setText(OLD)
            return
        self.unit = unit
        _refill(self.field, [f.id for f in unit.fields])
        _refill(self.region, [str(r) for r in unit.regions])
        self._draw()

    def _draw(self) -> None:
        if self.unit is None or self.field.count() == 0 or self.region.count() == 0:
            return
        unit = self.unit
        field = unit.fields[max(0, self.field.currentIndex())]
        region = Region(self.region.currentData())
        self.above.show_lines(from_above(unit, field))
        self.side.show_lines(from_the_side(unit, field, region))
        self.words.setText(told(unit, field, region))


def _refill(box: QComboBox, names: list[str]) -> None:
    """Offer these names, and stay with the one that was chosen where it is still there."""
    before = box.currentData()
    box.blockSignals(True)
    box.clear()
    for name in names:
        box.addItem(REGION_WORDS.get(Region(name), name) if name in set(Region) else name, name)
    box.setCurrentIndex(max(0, box.findData(before)))
    box.blockSignals(False)
