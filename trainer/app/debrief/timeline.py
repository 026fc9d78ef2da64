"""The course of an appointment on a line, with a slider that goes through it event by event."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSlider, QVBoxLayout, QWidget

from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.clock import minutes
from trainer.engine.debrief.course import Moment
from trainer.models import appointment_events as ev
from trainer.models.appointment_visit import Visit
from trainer.scene.palette import FIELD_LINE, INSIDE, LINE, MISSED, PAPER, QUIET_TEXT
from trainer.services.event_words import event_text

# How long a moment stands while the course is played [ms].
STEP_MS = 1600
RADIATION = (ev.ScoutTaken, ev.RunStarted)
PLACING = (ev.SetupMoved, ev.HeadNudged, ev.SpacerPlaced, ev.SpacerTakenOut, ev.PlaceTaken)
MARKS = "| anything   ● placing   ▲ radiation"


class EventLine(QWidget):
    """All events along the time: small lines, round marks for placing, triangles for radiation."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._moments: Sequence[Moment] = ()
        self._at = 0
        self.setFixedHeight(26)
        self.setAccessibleName("Events along the time")

    def sizeHint(self) -> QSize:
        return QSize(400, 26)

    def show_moments(self, moments: Sequence[Moment]) -> None:
        """Show these."""
        self._moments = moments
        self.update()

    def show_at(self, number: int) -> None:
        """Mark the moment of that number."""
        self._at = number
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(*PAPER))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._moments:
            self._paint(painter)
        painter.end()

    def _paint(self, painter: QPainter) -> None:
        last = max(self._moments[-1].at_s, 1.0)
        wide, middle = self.width() - 16.0, self.height() / 2.0
        painter.setPen(QPen(QColor(*LINE), 1.0))
        painter.drawLine(QPointF(8.0, middle), QPointF(8.0 + wide, middle))
        for moment in self._moments:
            x = 8.0 + wide * moment.at_s / last
            if isinstance(moment.event, RADIATION):
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(*MISSED))
                corners = [(x, middle - 9.0), (x - 6.0, middle + 4.0), (x + 6.0, middle + 4.0)]
                painter.drawPolygon([QPointF(*c) for c in corners])
            elif isinstance(moment.event, PLACING):
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(*INSIDE))
                painter.drawEllipse(QPointF(x, middle), 3.5, 3.5)
            else:
                painter.setPen(QPen(QColor(*QUIET_TEXT), 1.0))
                painter.drawLine(QPointF(x, middle - 4.0), QPointF(x, middle + 4.0))
        x = 8.0 + wide * self._moments[self._at].at_s / last
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(*FIELD_LINE), 2.0))
        painter.drawRect(QRectF(x - 6.0, 1.5, 12.0, self.height() - 3.0))


class Timeline(QWidget):
    """Line, slider and words of the moment; steps by arrow keys, or plays by itself.

    Signals
    -------
    moved : int
        The number of the moment that was gone to.
    """

    moved = Signal(int)

    def __init__(self, visit: Visit, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._visit = visit
        self.moments: Sequence[Moment] = ()
        column = QVBoxLayout(self)
        column.setContentsMargins(2, 2, 2, 2)
        column.setSpacing(2)
        self.line = EventLine()
        self.line.setToolTip(MARKS)
        column.addWidget(self.line)
        row = QHBoxLayout()
        self.back = act_button("Back", self._on_back)
        self.play = act_button("Play", self.toggle)
        self.forth = act_button("Next", self._on_next)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName("Moment of the appointment")
        self.slider.setToolTip("Arrow keys: event by event. Page keys: ten events.")
        self.slider.setPageStep(10)
        self.slider.setMinimumHeight(24)
        self.slider.valueChanged.connect(self._on_moved)
        for button in (self.back, self.play, self.forth):
            row.addWidget(button)
        row.addWidget(self.slider, 1)
        column.addLayout(row)
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setMinimumHeight(2 * self.fontMetrics().height() + 2)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        column.addWidget(self.words)
        self._ticks = QTimer(self)
        self._ticks.setInterval(STEP_MS)
        self._ticks.timeout.connect(self._on_tick)

    @property
    def number(self) -> int:
        """The number of the moment that is shown."""
        return self.slider.value()

    @property
    def plays(self) -> bool:
        """Whether it goes on by itself."""
        return self._ticks.isActive()

    def show_moments(self, moments: Sequence[Moment]) -> None:
        """Show these, from the first."""
        self.moments = moments
        self.line.show_moments(moments)
        for widget in (self.back, self.play, self.forth, self.slider):
            widget.setEnabled(len(moments) > 1)
        self.slider.blockSignals(True)
        self.slider.setRange(0, max(len(moments) - 1, 0))
        self.slider.setValue(0)
        self.slider.blockSignals(False)
        self._tell()

    def go_to(self, number: int) -> None:
        """Go to the moment of that number."""
        self.slider.setValue(number)

    def toggle(self) -> None:
        """Go on by itself from here (from the start when at the end), or pause."""
        if self.plays:
            self.pause()
            return
        if self.number >= self.slider.maximum():
            self.go_to(0)
        self._ticks.start()
        self.play.setText("Pause")

    def pause(self) -> None:
        """Stand still."""
        self._ticks.stop()
        self.play.setText("Play")

    def _on_back(self) -> None:
        self.pause()
        self.go_to(self.number - 1)

    def _on_next(self) -> None:
        self.pause()
        self.go_to(self.number + 1)

    def _on_tick(self) -> None:
        self.go_to(self.number + 1)
        if self.number >= self.slider.maximum():
            self.pause()

    def _on_moved(self, number: int) -> None:
        self._tell()
        self.moved.emit(number)

    def _tell(self) -> None:
        if not self.moments:
            self.words.setText("Nothing has happened.")
            return
        moment = self.moments[self.number]
        self.line.show_at(self.number)
        words = event_text(moment.event, self._visit)
        told = f"{minutes(moment.at_s)}   {words}"
        self.words.setText(f"{told}   ({self.number + 1} of {len(self.moments)})")
