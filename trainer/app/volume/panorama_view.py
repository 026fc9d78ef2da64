"""A panoramic picture to look at, with its greys."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QDoubleSpinBox,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from trainer.app.picture_parts import paint_centred, paint_words, place_in
from trainer.scene.palette import GROUND
from trainer.services.panorama import (
    SHOWN_DEPTHS,
    PanoramaPicture,
    ToothMark,
    grey_of_depths,
    shown_depths,
)

# How far a level and a window can be set, in optical depth; own working values.
MOST_LEVEL, LEAST_WINDOW, MOST_WINDOW, STEP = 9.0, 0.5, 9.0, 0.25
UPPER_QUADRANTS = "1256"  # FDI, permanent and milk teeth
LEVEL_TIP = "Level: how much of the beam is lost in the middle of the greys"
WINDOW_TIP = "Window: from black to white"


class PanoramaView(QWidget):
    """Shows one panoramic picture. Empty until `show_picture`."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        low, high = SHOWN_DEPTHS
        self.level = _number(0.0, MOST_LEVEL, (low + high) / 2.0, LEVEL_TIP)
        self.window_width = _number(LEAST_WINDOW, MOST_WINDOW, high - low, WINDOW_TIP)
        self.sheet = PanoramaSheet()
        bar = QHBoxLayout()
        for text, box in (("L&evel", self.level), ("&Window", self.window_width)):
            label = QLabel(text)
            label.setBuddy(box)
            bar.addWidget(label)
            bar.addWidget(box)
            box.valueChanged.connect(self._draw)
        self.teeth = QCheckBox("&Teeth, ≈ beside the sharp layer")
        self.teeth.setToolTip("Numbers of the teeth where they are shown; FDI")
        self.teeth.toggled.connect(self._show_teeth)
        bar.addWidget(self.teeth)
        bar.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(bar)
        column.addWidget(self.sheet, 1)
        self._depths: NDArray[np.float32] | None = None
        self._marks: tuple[ToothMark, ...] = ()
        self.allow_teeth(False)

    def show_picture(self, picture: PanoramaPicture, marks: tuple[ToothMark, ...] = ()) -> None:
        """Show this picture, with its teeth where they may be named."""
        self._depths, self._marks = shown_depths(picture), marks
        self._draw()
        self._show_teeth()

    def allow_teeth(self, allowed: bool) -> None:
        """Whether the teeth can be named; they are when they newly can."""
        newly = allowed and not self.teeth.isEnabled()
        self.teeth.setEnabled(allowed)
        self.teeth.setVisible(allowed)
        self.teeth.setChecked(allowed and (newly or self.teeth.isChecked()))

    def _show_teeth(self) -> None:
        self.sheet.show_marks(self._marks if self.teeth.isChecked() else ())

    def _draw(self) -> None:
        if self._depths is not None:
            half = self.window_width.value() / 2.0
            middle = self.level.value()
            self.sheet.show_grey(grey_of_depths(self._depths, middle - half, middle + half))


class PanoramaSheet(QWidget):
    """The picture itself, with the patient's sides and what it is."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.grey: NDArray[np.uint8] | None = None
        self.marks: tuple[ToothMark, ...] = ()
        self._image: QImage | None = None
        self.setMinimumSize(200, 110)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Panoramic picture, the patient's right on its left")

    def sizeHint(self) -> QSize:
        return QSize(620, 340)

    def show_grey(self, grey: NDArray[np.uint8]) -> None:
        """Show (rows, columns) of greys."""
        self.grey = np.ascontiguousarray(grey)
        rows, columns = self.grey.shape
        self._image = QImage(
            self.grey.data, columns, rows, columns, QImage.Format.Format_Grayscale8
        )
        self.update()

    def show_marks(self, marks: tuple[ToothMark, ...]) -> None:
        """Name these teeth on the picture."""
        self.marks = marks
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(*GROUND))
        if self._image is not None:
            place = place_in(self, self._image)
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(place, self._image)
            scale = place.width() / self._image.width()
            for mark in self.marks:
                at = QPointF(mark.column + 0.5, mark.row + 0.5) * scale + place.topLeft()
                at += QPointF(0.0, _aside(mark) * 1.6 * painter.fontMetrics().height())
                paint_centred(painter, mark.number if mark.is_sharp else f"≈{mark.number}", at)
            paint_words(painter, "R", place.topLeft(), False)
            paint_words(painter, "L", place.topRight(), True)
            paint_words(painter, "SIMULATED", place.bottomLeft() - QPointF(0, 24), False)
        painter.end()


def _aside(mark: ToothMark) -> int:
    """Every second number stands a line nearer to the roots, so that front teeth find room."""
    if int(mark.number[1]) % 2:
        return 0
    return -1 if mark.number[0] in UPPER_QUADRANTS else 1


def _number(least: float, most: float, first: float, name: str) -> QDoubleSpinBox:
    box = QDoubleSpinBox()
    box.setRange(least, most)
    box.setSingleStep(STEP)
    box.setValue(first)
    box.setAccessibleName(name)
    box.setToolTip(name)
    return box
