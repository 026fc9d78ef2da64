"""What pictures share: their place in a widget, and words on a ground of their own.

Such words can be read on any grey.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QWidget

from trainer.scene.palette import PAPER, TEXT


def place_in(widget: QWidget, image: QImage) -> QRectF:
    """Where an image stands in a widget: as large as fits, in its middle."""
    size = image.size().scaled(widget.size(), Qt.AspectRatioMode.KeepAspectRatio)
    left, top = (widget.width() - size.width()) / 2, (widget.height() - size.height()) / 2
    return QRectF(left, top, size.width(), size.height())


def paint_words(painter: QPainter, words: str, corner: QPointF, right: bool) -> None:
    """Paint words into the corner of a picture: its left one, or with ``right`` its right one."""
    box = _box(painter, words)
    box.moveTo(corner + QPointF(-box.width() - 3 if right else 3, 3))
    _paint(painter, words, box)


def paint_centred(painter: QPainter, words: str, middle: QPointF) -> None:
    """Paint words about a place."""
    box = _box(painter, words)
    box.moveCenter(middle)
    _paint(painter, words, box)


def _box(painter: QPainter, words: str) -> QRectF:
    metrics = painter.fontMetrics()
    return QRectF(0, 0, metrics.horizontalAdvance(words) + 8, metrics.height() + 2)


def _paint(painter: QPainter, words: str, box: QRectF) -> None:
    painter.fillRect(box, QColor(*PAPER))
    painter.setPen(QColor(*TEXT))
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)
