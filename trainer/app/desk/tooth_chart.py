"""The teeth of both jaws as outlines with their FDI numbers, to be chosen by mouse or keyboard."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from trainer.app.desk.tooth_places import (
    ChartTooth,
    arch_order,
    permanent_places,
    primary_places,
)
from trainer.scene.palette import (
    FIELD_LINE,
    INSIDE,
    LINE,
    MISSED,
    PAPER,
    QUIET_TEXT,
    TEXT,
    TOOTH,
    TOOTH_LINE,
    Rgb,
)

# Free space round the arches [mm], and room for the words at the sides.
EDGE_MM, SIDE_MM = 3.0, 9.0


class ToothChart(QWidget):
    """Shows which teeth are chosen and which are gone.

    A chosen tooth is filled and ticked, a tooth that is gone is crossed, the tooth that the
    keyboard is at has a broken line round it. Arrow keys go from tooth to tooth, Space chooses.

    Signals
    -------
    toggled : int
        A person has chosen this tooth, or no longer.
    """

    toggled = Signal(int)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name = name
        self.chosen: frozenset[int] = frozenset()
        self.gone: frozenset[int] = frozenset()
        self.places: Mapping[int, ChartTooth] = permanent_places()
        self.at = 11
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(250, 240)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setSizePolicy(policy)
        self._name_it()

    def show_teeth(
        self, chosen: Collection[int], gone: Collection[int] = (), milk: bool = False
    ) -> None:
        """Show these as chosen and as gone; ``milk`` also shows the milk teeth."""
        self.chosen, self.gone = frozenset(chosen), frozenset(gone)
        self.places = {**permanent_places(), **(primary_places() if milk else {})}
        if self.at not in self.places:
            self.at = 11
        self._name_it()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(330, 290)

    # painting -----------------------------------------------------------------------------------

    def _fit(self) -> tuple[float, float, float]:
        """Pixels per millimetre and where the chart's origin stands."""
        outlines = [tooth.outline_mm for tooth in permanent_places().values()]
        low = min(float(o[:, 1].min()) for o in outlines) - EDGE_MM
        high = max(float(o[:, 1].max()) for o in outlines) + EDGE_MM
        wide = 2.0 * (max(float(o[:, 0].max()) for o in outlines) + SIDE_MM)
        scale = min(self.width() / wide, self.height() / (high - low))
        return scale, self.width() / 2.0, self.height() / 2.0 - scale * (low + high) / 2.0

    def _on_widget(self, tooth: ChartTooth) -> tuple[QPolygonF, QPointF]:
        scale, dx, dy = self._fit()
        points = [QPointF(x * scale + dx, y * scale + dy) for x, y in tooth.outline_mm.tolist()]
        x, y = tooth.middle_mm.tolist()
        return QPolygonF(points), QPointF(x * scale + dx, y * scale + dy)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), _colour(PAPER))
        for tooth in self.places.values():
            self._paint(painter, tooth)
        self._paint_words(painter)
        painter.end()

    def _paint(self, painter: QPainter, tooth: ChartTooth) -> None:
        shape, middle = self._on_widget(tooth)
        box = shape.boundingRect()
        chosen, gone = tooth.fdi in self.chosen, tooth.fdi in self.gone
        painter.setPen(QPen(_colour(INSIDE if chosen else TOOTH_LINE), 2.4 if chosen else 1.2))
        painter.setBrush(_colour(INSIDE if chosen else PAPER if gone else TOOTH))
        painter.drawPolygon(shape)
        if gone:
            painter.setPen(QPen(_colour(MISSED), 1.6))
            painter.drawLine(box.topLeft(), box.bottomRight())
            painter.drawLine(box.topRight(), box.bottomLeft())
        font = painter.font()
        font.setBold(chosen)
        font.setPixelSize(max(9, min(13, int(box.height() * 0.48), int(box.width() * 0.55))))
        painter.setFont(font)
        painter.setPen(_colour(PAPER if chosen else TEXT))
        words = f"{tooth.fdi}"
        place = QRectF(middle.x() - 20.0, middle.y() - 10.0, 40.0, 20.0)
        if gone and not chosen:
            size = painter.fontMetrics().boundingRect(words)
            ground = QRectF(0.0, 0.0, size.width() + 2.0, size.height() - 3.0)
            ground.moveCenter(middle)
            painter.fillRect(ground, _colour(PAPER))
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, words)
        if chosen:
            self._tick(painter, box)
        if tooth.fdi == self.at and self.hasFocus():
            painter.setPen(QPen(_colour(FIELD_LINE), 2.0, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box.adjusted(-3.0, -3.0, 3.0, 3.0))

    def _tick(self, painter: QPainter, box: QRectF) -> None:
        """A tick on a light disc at the tooth's upper corner."""
        disc = QRectF(0.0, 0.0, 11.0, 11.0)
        disc.moveCenter(QPointF(box.right() - 2.0, box.top() + 2.0))
        painter.setPen(QPen(_colour(INSIDE), 1.2))
        painter.setBrush(_colour(PAPER))
        painter.drawEllipse(disc)
        painter.setPen(QPen(_colour(INSIDE), 1.8))
        x, y = disc.center().x(), disc.center().y()
        painter.drawPolyline(
            QPolygonF([QPointF(x - 3, y), QPointF(x - 1, y + 2.5), QPointF(x + 3, y - 2.5)])
        )

    def _paint_words(self, painter: QPainter) -> None:
        scale, dx, dy = self._fit()
        font = painter.font()
        font.setBold(True)
        font.setPixelSize(12)
        painter.setFont(font)
        painter.setPen(_colour(TEXT))
        for word, x in (("R", 12.0), ("L", self.width() - 12.0)):
            painter.drawText(
                QRectF(x - 10.0, dy - 10.0, 20.0, 20.0), Qt.AlignmentFlag.AlignCenter, word
            )
        font.setBold(False)
        painter.setFont(font)
        painter.setPen(QPen(_colour(LINE), 1.0))
        painter.drawLine(QPointF(dx - 16 * scale, dy), QPointF(dx + 16 * scale, dy))
        painter.setPen(_colour(QUIET_TEXT))
        for word, way in (("upper", -1.0), ("lower", 1.0)):
            place = QRectF(dx - 30.0, dy + way * 9.0 - 8.0, 60.0, 16.0)
            painter.drawText(place, Qt.AlignmentFlag.AlignCenter, word)

    # choosing -----------------------------------------------------------------------------------

    def tooth_at(self, at: QPointF) -> int | None:
        """The tooth under that point of the widget."""
        for tooth in reversed(list(self.places.values())):
            shape, _ = self._on_widget(tooth)
            if shape.containsPoint(at, Qt.FillRule.WindingFill):
                return tooth.fdi
        return None

    def middle_of(self, fdi: int) -> QPointF:
        """Where the middle of a tooth stands in the widget."""
        return self._on_widget(self.places[fdi])[1]

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self.tooth_at(event.position())
        if found is not None:
            self._go(found)
            self.toggled.emit(found)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.toggled.emit(self.at)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self._go(self._along(1 if key == Qt.Key.Key_Right else -1))
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._go(self._across(1 if key == Qt.Key.Key_Down else -1))
        else:
            super().keyPressEvent(event)

    def _along(self, way: int) -> int:
        """The next tooth of the same arch to the right or left of the screen."""
        row = sorted(
            (f for f in self.places if arch_order(f)[0] == arch_order(self.at)[0]), key=arch_order
        )
        at = row.index(self.at) + way
        return row[max(0, min(at, len(row) - 1))]

    def _across(self, way: int) -> int:
        """The tooth of the next arch up or down that stands nearest."""
        rows = sorted({arch_order(f)[0] for f in self.places})
        at = rows.index(arch_order(self.at)[0]) + way
        if not 0 <= at < len(rows):
            return self.at
        x = self.places[self.at].middle_mm[0]
        row = [f for f in self.places if arch_order(f)[0] == rows[at]]
        return min(row, key=lambda f: abs(float(self.places[f].middle_mm[0] - x)))

    def _go(self, fdi: int) -> None:
        self.at = fdi
        self._name_it()
        self.update()

    def _name_it(self) -> None:
        """Tell screen readers where the keyboard is."""
        state = "chosen" if self.at in self.chosen else "not chosen"
        if self.at in self.gone:
            state += ", missing"
        self.setAccessibleName(f"{self.name}: tooth {self.at}, {state}")

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            found = self.tooth_at(QPointF(event.pos()))
            if found is not None:
                gone = " (missing)" if found in self.gone else ""
                QToolTip.showText(event.globalPos(), f"Tooth {found}{gone}", self)
                return True
        return super().event(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()


def _colour(rgb: Rgb) -> QColor:
    return QColor(*rgb)
