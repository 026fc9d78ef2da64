"""The running list of what was said and happened."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QWidget

from trainer.app.appointment.clock import minutes
from trainer.app.appointment.told_words import Teller, event_words
from trainer.models.appointment import Logged

# What the list shows at most; the log keeps everything.
MOST_ROWS = 500


class EventList(QListWidget):
    """Time and sentence of every event, the newest at the end and in view."""

    def __init__(self, teller: Teller, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.teller = teller
        self.setAccessibleName("What was said and happened")
        self.setWordWrap(True)
        self.setUniformItemSizes(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setObjectName("events")

    def add(self, logged: tuple[Logged, ...]) -> None:
        """Append events."""
        for entry in logged:
            words = event_words(entry.event, self.teller)
            self.addItem(QListWidgetItem(f"{minutes(entry.at_s)}   {words}"))
        while self.count() > MOST_ROWS:
            self.takeItem(0)
        if logged:
            self.setCurrentRow(self.count() - 1)
            self.scrollToBottom()

    def texts(self) -> list[str]:
        """All rows as they stand there."""
        return [self.item(i).text() for i in range(self.count())]
