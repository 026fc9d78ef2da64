"""Every control in numbers: where the learner had it, and where it would have been better."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from trainer.app.words import REGION_WORDS, field_words, number_words
from trainer.models.controls import CONTROLS, Control, ControlKind
from trainer.models.device import Region, Unit
from trainer.models.setup import Setup

# What is not worth comparing: the arm is turned only to look.
LEFT_OUT = ("arm_turned",)


class NumbersTable(QTableWidget):
    """One row for each control, one column for each setup; differences are marked."""

    def __init__(self, unit: Unit, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit = unit
        self.setAccessibleName("The controls in numbers")
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.verticalHeader().setVisible(False)
        self.setWordWrap(True)

    def show_setups(self, named: Sequence[tuple[str, Setup]]) -> None:
        """Show these, by their names."""
        rows = [c for c in CONTROLS if c.key not in LEFT_OUT]
        self.setRowCount(len(rows))
        self.setColumnCount(1 + len(named))
        self.setHorizontalHeaderLabels(["Control", *(name for name, _ in named)])
        for row, c in enumerate(rows):
            self.setItem(row, 0, QTableWidgetItem(c.label))
            first = named[0][1] if named else None
            for column, (_, setup) in enumerate(named, 1):
                assert first is not None
                differs = getattr(setup, c.key) != getattr(first, c.key)
                item = QTableWidgetItem(
                    f"{'≠ ' if differs else ''}{value_words(setup, c, self._unit)}"
                )
                font = item.font()
                font.setBold(differs)
                item.setFont(font)
                item.setFlags(Qt.ItemFlag.ItemIsEnabled)
                self.setItem(row, column, item)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.resizeRowsToContents()

    def texts(self) -> list[list[str]]:
        """All cells as they stand there."""
        found = []
        for row in range(self.rowCount()):
            items = (self.item(row, column) for column in range(self.columnCount()))
            found.append([i.text() if i is not None else "" for i in items])
        return found


def value_words(setup: Setup, c: Control, unit: Unit) -> str:
    """A control's value in words of the patient."""
    value = setup.as_dict()[c.key]
    if c.kind is ControlKind.SWITCH:
        return "yes" if value else "no"
    if c.key == "region":
        return REGION_WORDS[Region(str(value))]
    if c.key == "field":
        return field_words(unit.field(str(value)))
    return number_words(c, unit.travel[c.key], float(value))
