"""Forms made from field descriptions: label, unit and range, entry, and the faults beside it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from trainer.app.desk.entries import Entry, NumberLine, entry_for
from trainer.app.desk.fault_label import FaultLabel
from trainer.app.desk.file_controller import FileController
from trainer.app.desk.texts import TextsPart
from trainer.app.desk.tooth_chart import ToothChart
from trainer.services.drafts.draft import Checked
from trainer.services.drafts.fields import Field, FieldKind
from trainer.services.yaml_text import KeyPath, key_path

LABEL_PX = 128


class Part(Protocol):
    """A piece of a form: it shows the draft and its faults, and takes the focus for a place."""

    def show_draft(self) -> None:
        """Show what the draft says."""

    def show_faults(self, result: Checked) -> None:
        """Show the faults of this part beside its entries."""

    def focus_at(self, where: KeyPath) -> bool:
        """Give the focus to the entry of that place, if it is one of this part's."""


class SimplePart(QWidget):
    """Label, unit and range on the left, entry and faults on the right."""

    def __init__(self, desk: FileController, field: Field, where: KeyPath) -> None:
        super().__init__()
        self.desk, self.field, self.where = desk, field, where
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(1)
        grid.setColumnMinimumWidth(0, LABEL_PX)
        grid.setColumnStretch(1, 1)
        fitted = desk.fitted(field, where)
        self.label = QLabel(field.label)
        self.label.setWordWrap(True)
        self.label.setFixedWidth(LABEL_PX)
        self.range = QLabel()
        self.range.setObjectName("quiet")
        self.range.setWordWrap(True)
        self.entry: Entry = entry_for(fitted)
        self.fault = FaultLabel()
        left = QVBoxLayout()
        left.setSpacing(0)
        left.addWidget(self.label)
        left.addWidget(self.range)
        left.addStretch(1)
        grid.addLayout(left, 0, 0)
        right = QVBoxLayout()
        right.setSpacing(1)
        narrow = isinstance(self.entry, NumberLine)
        side = Qt.AlignmentFlag.AlignLeft if narrow else Qt.AlignmentFlag(0)
        right.addWidget(self.entry, 0, side)
        right.addWidget(self.fault)
        right.addStretch(1)
        grid.addLayout(right, 0, 1)
        self.label.setBuddy(self.entry)
        self.entry.setMinimumHeight(26)
        self.entry.edited.connect(self._on_edited)
        self.entry.refused.connect(self.fault.refuse)
        self._tell_range(fitted)

    def show_draft(self) -> None:
        """Show the value and what holds for it in this case."""
        fitted = self.desk.fitted(self.field, self.where)
        self._tell_range(fitted)
        if fitted.choices and hasattr(self.entry, "offer") and fitted.kind is FieldKind.CHOICE:
            self.entry.offer(fitted.choices)
        self.entry.show_value(self.desk.value(self.where))

    def show_faults(self, result: Checked) -> None:
        """Show the faults of this field and of what is in it, and the doubts."""
        self.fault.show_faults(result.within(self.where), result.doubts_within(self.where))

    def focus_at(self, where: KeyPath) -> bool:
        """Take the focus for this field."""
        if where[: len(self.where)] != self.where:
            return False
        self.entry.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _tell_range(self, field: Field) -> None:
        words = field.range_words()
        if self.range.text() != words or not words:
            self.range.setText(words)
            self.range.setVisible(bool(words) and "characters" not in words)
        tip = ". ".join(filter(None, (field.hint.rstrip("."), words)))
        self.entry.setToolTip(tip)
        self.entry.setAccessibleName(", ".join(filter(None, (field.label, words))))

    def _on_edited(self, value: object) -> None:
        self.fault.clear_refusal()
        self.desk.set(self.where, value)


class TeethPart(QWidget):
    """Teeth chosen in a chart."""

    def __init__(self, desk: FileController, field: Field, where: KeyPath) -> None:
        super().__init__()
        self.desk, self.field, self.where = desk, field, where
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(1)
        self.label = QLabel()
        self.label.setWordWrap(True)
        self.chart = ToothChart(field.label)
        self.chart.toggled.connect(self._on_toggled)
        self.fault = FaultLabel()
        for widget in (self.label, self.chart, self.fault):
            column.addWidget(widget)

    def show_draft(self) -> None:
        """Show the teeth of the list."""
        value = self.desk.value(self.where)
        chosen = {int(v) for v in value if str(v).isdigit()} if isinstance(value, list) else set()
        if self.field.key == "missing":
            self.chart.show_teeth((), chosen, shows_milk_teeth(self.desk))
        else:
            gone = teeth_missing(self.desk)
            self.chart.show_teeth(chosen, gone, shows_milk_teeth(self.desk))
        told = ", ".join(map(str, sorted(chosen))) or "none"
        self.label.setText(f"{self.field.label}: {told}")

    def show_faults(self, result: Checked) -> None:
        """Show the faults of the list."""
        self.fault.show_faults(result.within(self.where))

    def focus_at(self, where: KeyPath) -> bool:
        """Take the focus for this list."""
        if where[: len(self.where)] != self.where:
            return False
        self.chart.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _on_toggled(self, fdi: int) -> None:
        tooth: int | str = str(fdi) if self.field.as_text else fdi
        value = self.desk.value(self.where)
        teeth = list(value) if isinstance(value, list) else []
        if tooth in teeth:
            teeth.remove(tooth)
        else:
            teeth = sorted([*teeth, tooth], key=str)
        self.desk.set(self.where, teeth or None)


def teeth_missing(desk: FileController) -> tuple[int, ...]:
    """The teeth that the person of the draft has lost."""
    value = desk.value(("subject", "mouth", "missing"))
    return tuple(v for v in value if isinstance(v, int)) if isinstance(value, list) else ()


def shows_milk_teeth(desk: FileController) -> bool:
    """Whether the person is of an age at which milk teeth may stand."""
    age = desk.value(("subject", "age_years"))
    return isinstance(age, int) and age < 14


def _column_under_hint(box: QGroupBox, words: str) -> QVBoxLayout:
    """A box's column, with what its field is for on top."""
    column = QVBoxLayout(box)
    column.setContentsMargins(8, 4, 8, 6)
    if words:
        hint = QLabel(words)
        hint.setObjectName("quiet")
        hint.setWordWrap(True)
        column.addWidget(hint)
    return column


class GroupPart(QGroupBox):
    """A group of fields; one that may be left out has a button for that, or to put it in."""

    def __init__(self, desk: FileController, field: Field, where: KeyPath) -> None:
        super().__init__(field.label)
        self.desk, self.field, self.where = desk, field, where
        self._column = _column_under_hint(self, field.hint)
        self.inside: Form | None = None
        self.fault = FaultLabel()
        self.button = QPushButton()
        self.button.setMinimumHeight(26)
        self.button.clicked.connect(self._on_button)
        self._column.addWidget(self.fault)
        self._column.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        self.button.setVisible(not field.must)

    def show_draft(self) -> None:
        """Show the group's fields if it is there."""
        there = isinstance(self.desk.value(self.where), dict)
        if there and self.inside is None:
            self.inside = Form(self.desk, self.field.parts, self.where)
            self._column.insertWidget(self._column.count() - 2, self.inside)
        elif not there and self.inside is not None:
            self._column.removeWidget(self.inside)
            self.inside.hide()
            self.inside.deleteLater()
            self.inside = None
        name = self.field.label.lower()
        self.button.setText(f"Leave out: {name}" if there else f"Put in: {name}")
        if self.inside is not None:
            self.inside.show_draft()

    def show_faults(self, result: Checked) -> None:
        """Show the group's own faults, and those within."""
        self.fault.show_faults(result.at(self.where))
        if self.inside is not None:
            self.inside.show_faults(result)

    def focus_at(self, where: KeyPath) -> bool:
        """Pass the focus on to the field, or to the button."""
        if where[: len(self.where)] != self.where:
            return False
        if self.inside is not None and self.inside.focus_at(where):
            return True
        self.button.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _on_button(self) -> None:
        if self.inside is None:
            self.desk.begin(self.field, self.where)
        else:
            self.desk.leave_out(self.where)


class RowsPart(QGroupBox):
    """A list of groups, one below the other, to be put in, taken out and moved."""

    def __init__(self, desk: FileController, field: Field, where: KeyPath) -> None:
        super().__init__(field.label)
        self.desk, self.field, self.where = desk, field, where
        self._column = _column_under_hint(self, field.hint)
        self._rows_column = QVBoxLayout()
        self._column.addLayout(self._rows_column)
        self.rows: list[Row] = []
        self.fault = FaultLabel()
        self.add = QPushButton("Put one more in")
        self.add.setAccessibleName(f"Put one more in: {field.label.lower()}")
        self.add.setMinimumHeight(26)
        self.add.clicked.connect(self._on_add)
        self._column.addWidget(self.fault)
        self._column.addWidget(self.add, 0, Qt.AlignmentFlag.AlignLeft)

    def show_draft(self) -> None:
        """Show every row of the list."""
        value = self.desk.value(self.where)
        count = len(value) if isinstance(value, list) else 0
        while len(self.rows) < count:
            row = Row(self.desk, self.field, self.where, len(self.rows))
            self.rows.append(row)
            self._rows_column.addWidget(row)
        while len(self.rows) > count:
            row = self.rows.pop()
            self._rows_column.removeWidget(row)
            row.hide()
            row.deleteLater()
        for row in self.rows:
            row.show_draft(count)
        most = self.field.highest
        self.add.setEnabled(most is None or count < most)

    def show_faults(self, result: Checked) -> None:
        """Show the list's own faults, and those of its rows."""
        doubts = [d for d in result.doubts_within(self.where) if key_path(d.key) == self.where]
        self.fault.show_faults(result.at(self.where), doubts)
        for row in self.rows:
            row.show_faults(result)

    def focus_at(self, where: KeyPath) -> bool:
        """Pass the focus on to the row."""
        if where[: len(self.where)] != self.where:
            return False
        if any(row.form.focus_at(where) for row in self.rows):
            return True
        self.add.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _on_add(self) -> None:
        self.desk.begin(self.field, self.where)


class Row(QFrame):
    """One group of a list, with buttons to move it and to take it out."""

    def __init__(self, desk: FileController, field: Field, where: KeyPath, number: int) -> None:
        super().__init__()
        self.desk, self.where, self.number = desk, where, number
        self.setObjectName("card")
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 2, 4, 4)
        row = QHBoxLayout()
        row.addWidget(QLabel(f"{field.label}, {number + 1}"), 1)
        self.up, self.down, self.out = (QPushButton(w) for w in ("Up", "Down", "Take out"))
        for button, does in (
            (self.up, partial(desk.move, where, number, -1)),
            (self.down, partial(desk.move, where, number, 1)),
            (self.out, partial(desk.leave_out, (*where, number))),
        ):
            button.setAccessibleName(f"{button.text()}: {field.label.lower()} {number + 1}")
            button.setMinimumHeight(24)
            button.clicked.connect(does)
            row.addWidget(button)
        column.addLayout(row)
        self.form = Form(desk, field.parts, (*where, number))
        self.fault = FaultLabel()
        column.addWidget(self.fault)
        column.addWidget(self.form)

    def show_draft(self, count: int) -> None:
        """Show the row of a list of so many."""
        self.up.setEnabled(self.number > 0)
        self.down.setEnabled(self.number < count - 1)
        self.form.show_draft()

    def show_faults(self, result: Checked) -> None:
        """Show the row's own faults, and those of its fields."""
        self.fault.show_faults(result.at((*self.where, self.number)))
        self.form.show_faults(result)


class Form(QWidget):
    """Fields one below the other; ``base`` is the place of the group that holds them."""

    def __init__(self, desk: FileController, fields: Sequence[Field], base: KeyPath) -> None:
        super().__init__()
        self.parts: list[Part] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(7)
        for field in fields:
            # a field that is chosen for a page knows its own place, a row's only its key
            where = (*base, field.key) if base else field.where
            part = part_for(desk, field, where)
            self.parts.append(part)
            column.addWidget(part)  # type: ignore[arg-type]

    def show_draft(self) -> None:
        """Show what the draft says."""
        for part in self.parts:
            part.show_draft()

    def show_faults(self, result: Checked) -> None:
        """Show the faults beside the fields."""
        for part in self.parts:
            part.show_faults(result)

    def focus_at(self, where: KeyPath) -> bool:
        """Give the focus to the entry of that place, if it is here."""
        return any(part.focus_at(where) for part in self.parts)


def part_for(desk: FileController, field: Field, where: KeyPath) -> Part:
    """The piece of a form for a field."""
    match field.kind:
        case FieldKind.GROUP:
            return GroupPart(desk, field, where)
        case FieldKind.ROWS:
            return RowsPart(desk, field, where)
        case FieldKind.TEETH:
            return TeethPart(desk, field, where)
        case FieldKind.TEXTS:
            return TextsPart(desk, field, where)
        case _:
            return SimplePart(desk, field, where)
