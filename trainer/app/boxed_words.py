"""Words on a picture, on a ground of their own so that they can be read on any grey."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter

from trainer.scene.palette import PAPER, TEXT


def paint_words(painter: QPainter, words: str, corner: QPointF, right: bool) -> None:
    """Paint words into the corner of a picture: its left one, or with ``right`` its right one."""
    metrics = painter.fontMetrics()
    box = QRectF(0, 0, metrics.horizontalAdvance(words) + 8, metrics.height() + 2)
    box.moveTo(corner + QPointF(-box.width() - 3 if right else 3, 3))
    painter.fillRect(box, QColor(*PAPER))
    painter.setPen(QColor(*TEXT))
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)
