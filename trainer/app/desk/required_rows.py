"""The required structures with their margins, one in a line."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QGroupBox, QLabel, QPushButton, QWidget

from trainer.app.desk.controller import DeskController
from trainer.app.desk.entries import NumberLine
from trainer.app.desk.fault_label import FaultLabel
from trainer.services.drafts.draft import Checked
from trainer.services.yaml_text import KeyPath

REQUIRED, MARGIN = "required", "margin_mm"


class RequiredRows(QGroupBox):
    """Name, margin and a button to take it out for every required structure."""

    def __init__(self, desk: DeskController) -> None:
        super().__init__("Must be inside")
        self.desk = desk
        self.field = desk.field(REQUIRED).part(MARGIN)
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(8, 4, 8, 6)
        self.grid.setVerticalSpacing(2)
        self.grid.setColumnStretch(0, 1)
        head = QLabel(f"Margin, {self.field.range_words()}")
        head.setObjectName("quiet")
        self.grid.addWidget(head, 0, 0, 1, 2)
        self.all = NumberLine(self.field)
        self.all.setAccessibleName(f"One margin for all, {self.field.range_words()}")
        self.all.setPlaceholderText("for all")
        self.all.setToolTip("One margin for all of them.")
        self.all.edited.connect(self._on_all)
        self.grid.addWidget(self.all, 0, 2)
        self.names: list[QLabel] = []
        self.margins: list[NumberLine] = []
        self.outs: list[QPushButton] = []
        self.faults: list[FaultLabel] = []

    def show_draft(self, required: Sequence[str]) -> None:
        """Show these structures with the margins of the draft."""
        while len(self.margins) < len(required):
            self._add(len(self.margins))
        while len(self.margins) > len(required):
            last: Sequence[QWidget] = (
                self.names.pop(), self.margins.pop(), self.outs.pop(), self.faults.pop(),
            )  # fmt: skip
            for widget in last:
                self.grid.removeWidget(widget)
                widget.hide()
                widget.deleteLater()
        for number, name in enumerate(required):
            self.names[number].setText(name)
            words = f"{self.field.label} of {name}, {self.field.range_words()}"
            self.margins[number].setAccessibleName(words)
            self.margins[number].show_value(self.desk.value((REQUIRED, number, MARGIN)))
            self.outs[number].setAccessibleName(f"Take out: {name}")

    def show_faults(self, result: Checked) -> None:
        """Show the faults below each structure."""
        for number, label in enumerate(self.faults):
            label.show_faults(result.within((REQUIRED, number)))

    def focus_at(self, where: KeyPath) -> bool:
        """Take the focus for one of the structures."""
        number = where[1] if len(where) > 1 else None
        if not isinstance(number, int) or number >= len(self.margins):
            return False
        self.margins[number].setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def usual_margin(self, otherwise: float) -> float:
        """The margin of the last structure."""
        value = self.desk.value((REQUIRED, len(self.margins) - 1, MARGIN)) if self.margins else None
        return value if isinstance(value, (int, float)) else otherwise

    def _add(self, number: int) -> None:
        name, fault, out = QLabel(), FaultLabel(), QPushButton("Take out")
        margin = NumberLine(self.field)
        margin.setMaximumWidth(margin.fontMetrics().horizontalAdvance("0" * 9))
        margin.edited.connect(partial(self._on_margin, number))
        margin.refused.connect(fault.refuse)
        out.clicked.connect(partial(self.desk.leave_out, (REQUIRED, number)))
        row = 1 + 2 * number
        self.grid.addWidget(name, row, 0)
        self.grid.addWidget(margin, row, 2)
        self.grid.addWidget(out, row, 3)
        self.grid.addWidget(fault, row + 1, 0, 1, 4)
        for widget in (margin, out):
            widget.setMinimumHeight(24)
        self.names.append(name)
        self.margins.append(margin)
        self.outs.append(out)
        self.faults.append(fault)

    def _on_margin(self, number: int, value: object) -> None:
        self.faults[number].clear_refusal()
        self.desk.set((REQUIRED, number, MARGIN), value)

    def _on_all(self, value: object) -> None:
        rows = range(len(self.margins))
        self.desk.set_together({(REQUIRED, n, MARGIN): value for n in rows})
        self.all.show_value(None)
        self.all.clear()
