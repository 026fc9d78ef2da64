"""Two slices through the target, with the field's outline and what was held and missed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent, QPen, QPolygonF, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QSizePolicy,
    QSlider,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)
from scipy.ndimage import binary_erosion

from trainer.app.appointment.acts_panel import act_button
from trainer.engine.placement import Placement
from trainer.engine.wording import signed_amount
from trainer.scene.palette import FIELD, GROUND, MISSED, PAPER
from trainer.services.slices import LETTERS, Cut, Slice, SlicedHead

TITLES = {Cut.ACROSS: "Slice across, from below", Cut.ALONG: "Slice from front to back"}
WAYS = {Cut.ACROSS: ("up", "down"), Cut.ALONG: ("to the left", "to the right")}
REACH_MM = 40
BAR_MM = 20.0
# Arms of the cross on what is missed [px], and every so-manieth diagonal is a stripe.
CROSS_PX, STRIPES = 5.0, 4
WHAT = (
    "The synthetic head itself, without noise, motion or streaks. White line: the field's edge. "
    "Hatched and marked ×: missed; plain outline: held."
)


class SlicePicture(QWidget):
    """Paints one slice."""

    def __init__(self, cut: Cut, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.cut = cut
        self.found: Slice | None = None
        self._image: QImage | None = None
        self._over: NDArray[np.uint8] | None = None  # kept: the image is drawn from its memory
        self._over_image: QImage | None = None
        self.setMinimumSize(160, 140)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(TITLES[cut])

    def sizeHint(self) -> QSize:
        return QSize(320, 320)

    def show_slice(self, found: Slice) -> None:
        """Show this slice."""
        self.found = found
        rows, columns = found.grey.shape
        self._image = QImage(
            found.grey.data, columns, rows, columns, QImage.Format.Format_Grayscale8
        )
        over = np.ascontiguousarray(overlay(found))
        self._over = over
        self._over_image = QImage(
            over.data, columns, rows, 4 * columns, QImage.Format.Format_RGBA8888
        )
        missed = ", ".join(n.replace("-", " ") for n in found.missed) or "nothing"
        self.setAccessibleDescription(f"Missed in this slice: {missed}.")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(*GROUND))
        if self._image is not None and self._over_image is not None and self.found is not None:
            size = QSize(self._image.width(), self._image.height())
            size.scale(self.size(), Qt.AspectRatioMode.KeepAspectRatio)
            left, top = (self.width() - size.width()) / 2, (self.height() - size.height()) / 2
            place = QRectF(left, top, size.width(), size.height())
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(place, self._image)
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, False)
            painter.drawImage(place, self._over_image)
            self._paint_crosses(painter, place, self.found)
            self._paint_field(painter, place, self.found)
            self._paint_letters(painter, place)
        painter.end()

    def _paint_crosses(self, painter: QPainter, place: QRectF, found: Slice) -> None:
        scale = place.width() / found.grey.shape[1]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for mask in found.missed.values():
            row, column = (float(v.mean()) for v in np.nonzero(mask))
            middle = place.topLeft() + QPointF((column + 0.5) * scale, (row + 0.5) * scale)
            for pen in (QPen(QColor(*PAPER), 4.5), QPen(QColor(*MISSED), 2.5)):
                painter.setPen(pen)
                for arm in (QPointF(CROSS_PX, CROSS_PX), QPointF(CROSS_PX, -CROSS_PX)):
                    painter.drawLine(middle - arm, middle + arm)

    def _paint_field(self, painter: QPainter, place: QRectF, found: Slice) -> None:
        if not len(found.field_mm):
            return
        left, right, _, high = found.window_mm
        scale = place.width() / (right - left)
        points = [
            QPointF(place.left() + (u - left) * scale, place.top() + (high - v) * scale)
            for u, v in found.field_mm.tolist()
        ]
        painter.setClipRect(place)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for pen in (QPen(QColor(0, 0, 0), 4.0), QPen(QColor(*PAPER), 2.0)):
            painter.setPen(pen)
            painter.drawPolygon(QPolygonF(points))
        bar = BAR_MM * scale
        at = place.bottomLeft() + QPointF(10.0, -12.0)
        painter.drawLine(at, at + QPointF(bar, 0.0))
        painter.drawText(at + QPointF(bar + 6.0, 4.0), f"{BAR_MM:g} mm")

    def _paint_letters(self, painter: QPainter, place: QRectF) -> None:
        painter.setClipping(False)
        painter.setPen(QColor(*PAPER))
        inner = place.adjusted(8, 6, -8, -6)
        at_left, at_right = LETTERS[self.cut]
        top = Qt.AlignmentFlag.AlignTop
        painter.drawText(inner, int(top | Qt.AlignmentFlag.AlignLeft), at_left)
        painter.drawText(inner, int(top | Qt.AlignmentFlag.AlignRight), at_right)


class SlicePane(QWidget):
    """Both slices with a slider each, or a sentence while the head is being made ready.

    Signals
    -------
    cancelled : no value
        The head shall not be made ready further.
    wanted : no value
        The head shall be made ready after all.
    """

    cancelled = Signal()
    wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._head: SlicedHead | None = None
        self._placement: Placement | None = None
        self._middle: dict[Cut, float] = {}
        self._stack = QStackedLayout(self)
        waiting = QWidget()
        column = QVBoxLayout(waiting)
        column.addStretch(1)
        self.note = QLabel("The slices are being made ready …")
        self.note.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.note.setWordWrap(True)
        self.note.setMargin(24)
        column.addWidget(self.note)
        self.cancel = act_button("Cancel", self.cancelled.emit)
        self.again = act_button("Make them ready after all", self.wanted.emit)
        self.again.setVisible(False)
        for button in (self.cancel, self.again):
            column.addWidget(button, 0, Qt.AlignmentFlag.AlignHCenter)
        column.addStretch(1)
        self._stack.addWidget(waiting)
        whole = QWidget()
        grid = QGridLayout(whole)
        grid.setContentsMargins(4, 4, 4, 4)
        grid.setSpacing(4)
        self.pictures: dict[Cut, SlicePicture] = {}
        self.sliders: dict[Cut, QSlider] = {}
        self.places: dict[Cut, QLabel] = {}
        for number, cut in enumerate(Cut):
            title = QLabel(TITLES[cut])
            title.setObjectName("quiet")
            self.pictures[cut] = SlicePicture(cut)
            slider = self.sliders[cut] = QSlider(Qt.Orientation.Horizontal)
            slider.setRange(-2 * REACH_MM, 2 * REACH_MM)
            slider.setPageStep(10)
            slider.setMinimumHeight(24)
            slider.setAccessibleName(f"Place of the {TITLES[cut].lower()}")
            slider.setToolTip("Arrow keys: half a millimetre. Page keys: 5 mm.")
            slider.valueChanged.connect(self.draw)
            self.places[cut] = QLabel()
            for row, widget in enumerate((title, self.pictures[cut], slider, self.places[cut])):
                grid.addWidget(widget, row, number)
            grid.setColumnStretch(number, 1)
        grid.setRowStretch(1, 1)
        what = QLabel(WHAT)
        what.setWordWrap(True)
        what.setObjectName("quiet")
        grid.addWidget(what, 4, 0, 1, 2)
        self._stack.addWidget(whole)

    @property
    def is_ready(self) -> bool:
        """Whether slices can be shown."""
        return self._head is not None

    def wait(self, words: str) -> None:
        """The head is being made ready."""
        self.note.setText(words)
        self.cancel.setVisible(True)
        self.again.setVisible(False)
        self._stack.setCurrentIndex(0)

    def show_missing(self, why: str) -> None:
        """The head cannot be made ready, or shall not."""
        self.note.setText(why)
        self.cancel.setVisible(False)
        self.again.setVisible(True)
        self._stack.setCurrentIndex(0)

    def show_head(self, head: SlicedHead) -> None:
        """The head is ready."""
        self._head = head
        self._stack.setCurrentIndex(1)
        self.draw()

    def show_placement(self, placement: Placement) -> None:
        """Cut this placement; the sliders keep their places against the target's middle."""
        self._placement = placement
        self.draw()

    def draw(self) -> None:
        """Draw both slices now."""
        if self._head is None or self._placement is None or not self.isVisible():
            return  # drawn when it comes to the front
        for cut in Cut:
            off = self.sliders[cut].value() / 2.0
            middle = self._head.slice(self._placement, cut)
            found = middle
            if off:
                found = self._head.slice(self._placement, cut, middle.at_mm + off)
            self.pictures[cut].show_slice(found)
            where = signed_amount(off, "mm", *WAYS[cut])
            told = "Through the target's middle" if not off else f"{where} of the target's middle"
            self.places[cut].setText(told)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.draw()


def overlay(found: Slice) -> NDArray[np.uint8]:
    """What lies over the grey picture: (rows, columns, 4) uint8 with its opacity.

    Missed structures are filled and striped, held ones have a plain outline.
    """
    rows, columns = found.grey.shape
    over = np.zeros((rows, columns, 4), np.uint8)
    for mask in found.held.values():
        over[mask & ~binary_erosion(mask)] = (*FIELD, 255)
    stripe = np.add.outer(np.arange(rows), np.arange(columns)) % STRIPES < 1
    for mask in found.missed.values():
        over[mask] = (*MISSED, 255)
        over[mask & stripe] = (*PAPER, 255)
    return over
