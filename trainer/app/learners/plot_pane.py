"""Charts as pictures, with the text that says the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPixmap, QShowEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from trainer.app.learners.parts import button, plain_text
from trainer.errors import TrainerError

if TYPE_CHECKING:
    from trainer.services.learning.charts import Chart

LEAST = QSize(320, 200)
TEXT_LINES = 5


class Picture(QWidget):
    """A picture as large as its place allows; smaller ones are not blown up."""

    def __init__(self) -> None:
        super().__init__()
        self._picture = QPixmap()
        self.setMinimumSize(LEAST)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_png(self, data: bytes) -> None:
        """Show that picture."""
        self._picture.loadFromData(data)
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        if self._picture.isNull():
            return
        ratio = self.devicePixelRatioF()
        size = self._picture.size().scaled(self.size() * ratio, Qt.AspectRatioMode.KeepAspectRatio)
        size = size.boundedTo(self._picture.size())
        way = Qt.TransformationMode.SmoothTransformation
        small = self._picture.scaled(size, Qt.AspectRatioMode.KeepAspectRatio, way)
        small.setDevicePixelRatio(ratio)
        painter = QPainter(self)
        painter.drawPixmap(0, 0, small)
        painter.end()


class PlotPane(QWidget):
    """One of several charts, chosen by its title; below or beside it the same in words.

    ``tell`` and ``trouble`` say how saving went.
    """

    def __init__(
        self,
        tell: Callable[[str], object],
        trouble: Callable[[TrainerError], object],
        text_beside: bool = False,
    ) -> None:
        super().__init__()
        self._tell, self._trouble = tell, trouble
        self._charts: tuple[Chart, ...] = ()
        self._ask: Callable[[], object] | None = None
        self.choice = QComboBox()
        self.choice.setAccessibleName("Which chart is shown")
        self.choice.currentIndexChanged.connect(self._show)
        self.picture = Picture()
        self.text = plain_text("The chart in words")
        self.save_button = button("Save the chart…", self.ask_save, "As PNG picture or SVG drawing")
        self.row = QHBoxLayout()
        self.row.addWidget(QLabel("Chart"))
        self.row.addWidget(self.choice, 1)
        self.row.addWidget(self.save_button)
        column = QVBoxLayout(self)
        column.addLayout(self.row)
        place: QBoxLayout = QHBoxLayout() if text_beside else QVBoxLayout()
        place.addWidget(self.picture, 3)
        place.addWidget(self.text, 2 if text_beside else 0)
        if not text_beside:
            self.text.setMaximumHeight(self.fontMetrics().lineSpacing() * TEXT_LINES + 12)
        column.addLayout(place, 1)

    def when_shown(self, ask: Callable[[], object]) -> None:
        """Call ``ask``, which has the charts drawn, as soon as they can be seen."""
        if self.isVisible():
            ask()
        else:
            self._ask = ask

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        ask, self._ask = self._ask, None
        if ask is not None:
            ask()

    def show_charts(self, charts: Sequence[Chart]) -> None:
        """Show these; the one that was chosen before stays chosen."""
        number = max(0, self.choice.currentIndex())
        self._charts = tuple(charts)
        self.choice.blockSignals(True)
        self.choice.clear()
        self.choice.addItems([chart.title for chart in charts])
        self.choice.setCurrentIndex(min(number, len(charts) - 1))
        self.choice.blockSignals(False)
        self._show(self.choice.currentIndex())

    def ask_save(self) -> None:
        """Ask for a file, and save the chart that is shown."""
        if not self._charts:
            return
        kinds = "PNG picture (*.png);;SVG drawing (*.svg)"
        name, _ = QFileDialog.getSaveFileName(self, "Save the chart", "chart.png", kinds)
        if name:
            self.save(Path(name))

    def save(self, path: Path) -> None:
        """Save the chart that is shown; SVG if the name ends so, else PNG."""
        from trainer.services.exports.files import write_whole

        chart = self._charts[self.choice.currentIndex()]
        try:
            if path.suffix.lower() == ".svg":
                write_whole(path, chart.svg)
            else:
                write_whole(path if path.suffix else path.with_suffix(".png"), chart.png)
        except TrainerError as error:
            self._trouble(error)
        else:
            self._tell(f"Saved {path}")

    def _show(self, number: int) -> None:
        if 0 <= number < len(self._charts):
            chart = self._charts[number]
            self.picture.show_png(chart.png)
            self.picture.setAccessibleName(chart.title)
            self.picture.setAccessibleDescription(chart.words)
            self.text.setPlainText(chart.words)
