"""The group's simulated work, without names and without ranking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from trainer.app.instructor.fields import Choice
from trainer.app.learners.parts import GAP_PX, plain_text, words

if TYPE_CHECKING:
    from trainer.services.learning.group import Group
    from trainer.services.learning.view import Shelf

ABOUT = (
    "Simulated attempts only. Nobody is named or ranked; where fewer than five people stand behind "
    "a figure it is not shown."
)
NO_CASE = "Choose a case to see how the rows of its score worked."


class GroupPage(QWidget):
    """The group in words, and the items of one case."""

    def __init__(self) -> None:
        super().__init__()
        self._group: Group | None = None
        self.text = plain_text("The group in words")
        self.case = Choice({})
        self.case.setAccessibleName("Case whose items are shown")
        self.case.currentIndexChanged.connect(self._on_case)
        self.items = plain_text("Items of the case")
        self.items.setPlaceholderText(NO_CASE)
        right = QWidget()
        column = QVBoxLayout(right)
        column.setContentsMargins(GAP_PX, 0, 0, 0)
        row = QHBoxLayout()
        row.addWidget(QLabel("Items of"))
        row.addWidget(self.case, 1)
        column.addLayout(row)
        column.addWidget(self.items, 1)
        parts = QSplitter(Qt.Orientation.Horizontal)
        parts.addWidget(self.text)
        parts.addWidget(right)
        parts.setSizes([500, 500])
        parts.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.addWidget(words(ABOUT, "quiet"))
        column.addWidget(parts, 1)

    def show_group(self, group: Group, shelf: Shelf) -> None:
        """Show the group."""
        self._group = group
        self.text.setPlainText(group.simulated())
        tried = dict.fromkeys(a.case_id for a in group.attempts)
        self.case.set_options({case: shelf.title(case) for case in tried})

    def _on_case(self, _: int) -> None:
        chosen = self.case.value
        if self._group is not None:
            self.items.setPlainText("" if chosen is None else self._group.items(chosen))
