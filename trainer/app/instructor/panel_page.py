"""Pass marks by a panel: each judge's own estimates, and what they come to."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QSpinBox,
    QSplitter,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.app.instructor.fields import UNSET, Choice, count_entry
from trainer.app.learners.parts import GAP_PX, Told, button, plain_text, set_name, words
from trainer.engine.appointment.state import spoken
from trainer.engine.wording import sentence_start
from trainer.errors import TrainerError
from trainer.services.learning.group import judged_rows

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.models.records import Learner
    from trainer.services.learning.group import Group
    from trainer.services.learning.view import Shelf

ABOUT = (
    "Of 100 learners who just suffice, how many would get each item of this case right? Judge on "
    "your own, before you talk with the others (Angoff's method). All judges of a panel judge the "
    "same items; leave out what does not apply."
)


class PanelPage(QWidget):
    """Estimates of ``judge``, and pass marks, agreement and reliability of the group."""

    def __init__(self, door: LearnerDoor, judge: Learner) -> None:
        super().__init__()
        self._door, self._judge = door, judge
        self.panel = QLineEdit()
        set_name(self.panel, "Name of the panel", "For example the course and the round")
        self.case = Choice({})
        self.case.setAccessibleName("Case that is judged")
        self.table = QTableWidget(0, 2)
        self.table.setAccessibleName("Items of the case")
        self.table.setHorizontalHeaderLabels(["Item", "Of 100"])
        self.table.verticalHeader().hide()
        self.table.setTabKeyNavigation(False)
        self.table.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        self.shares: dict[str, QSpinBox] = {}
        self._fill()
        self.told = Told()
        self.keep_button = button("Keep my estimates", self.keep)
        self.text = plain_text("Pass marks, agreement, reliability")
        form = QFormLayout()
        form.addRow("&Panel", self.panel)
        form.addRow("&Case", self.case)
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(form)
        column.addWidget(self.table, 1)
        column.addWidget(self.told)
        row = QHBoxLayout()
        row.addWidget(self.keep_button)
        row.addStretch(1)
        column.addLayout(row)
        right = QWidget()
        column = QVBoxLayout(right)
        column.setContentsMargins(GAP_PX, 0, 0, 0)
        column.addWidget(words("Pass marks, agreement, reliability", "section"))
        column.addWidget(self.text, 1)
        parts = QSplitter(Qt.Orientation.Horizontal)
        parts.addWidget(left)
        parts.addWidget(right)
        parts.setSizes([500, 500])
        parts.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.addWidget(words(ABOUT, "quiet"))
        column.addWidget(parts, 1)

    def _fill(self) -> None:
        rows = judged_rows()
        self.table.setRowCount(len(rows))
        for number, (block, key, name) in enumerate(rows):
            item = QTableWidgetItem(f"{sentence_start(spoken(block))}: {name}")
            item.setFlags(Qt.ItemFlag.ItemIsEnabled)
            entry = count_entry(100)
            entry.setSpecialValueText("–")
            entry.setAccessibleName(f"{name}, of 100")
            self.table.setItem(number, 0, item)
            self.table.setCellWidget(number, 1, entry)
            self.shares[key] = entry

    def show_group(self, group: Group, shelf: Shelf) -> None:
        """Show the results, and the cases that can be judged."""
        chosen = self.case.value
        self.case.set_options({c.id: shelf.title(c.id) for c in shelf.cases})
        self.case.choose(chosen)
        self.text.setPlainText(group.standards(shelf.title))

    def keep(self) -> None:
        """Keep the estimates that were given."""
        from trainer.services.learning.group import keep_estimates

        given = {key: s.value() for key, s in self.shares.items() if s.value() != UNSET}
        work = partial(
            keep_estimates,
            judge=self._judge,
            panel=self.panel.text(),
            case_id=self.case.value or "",
            percents=given,
            on=self._door.time().date(),
        )
        self.keep_button.setEnabled(False)
        self._door.jobs.ask(self, work, self._on_kept, self._on_refused)

    def _on_kept(self, count: int) -> None:
        self.keep_button.setEnabled(True)
        self.told.tell(f"{count} estimates kept. A later one for the same item takes its place.")
        for entry in self.shares.values():
            entry.setValue(UNSET)
        self._door.people_changed.emit()

    def _on_refused(self, error: TrainerError) -> None:
        self.keep_button.setEnabled(True)
        self.told.trouble(error)
