"""One entry for each kind of field.

Every entry reports ``edited`` with the new value when a person has changed it (``None``: leave the
key out), ``refused`` with a sentence when what was typed is no value, and shows a value that is
given to it without reporting.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, ClassVar, TypeGuard

from PySide6.QtCore import QEvent, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QWheelEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)

from trainer.services.drafts.fields import Field, FieldKind

NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
NOT_SAID = "not said"
LINES, FEW_LINES, FEW_CHARACTERS = 4, 2, 400
# One step of the arrow keys in an entry of numbers, by unit.
STEP_OF_UNIT = {"standard deviations": 0.1, "years": 1.0, "s": 0.5}


def is_undo(event: QEvent) -> bool:
    """Whether the event asks if the undo and redo keys mean the letters in an entry.

    They do while something typed is not taken over yet; else they mean the case.
    """
    if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
        return False
    keys = QKeySequence.StandardKey
    return event.matches(keys.Undo) or event.matches(keys.Redo)


def not_said(field: Field) -> str:
    """How an entry tells that its key is left out, with what holds then."""
    return f"{NOT_SAID} ({field.usual})" if field.usual else NOT_SAID


def plain(word: str) -> str:
    """A name of files as a person reads it: ``class-2`` is "class 2"."""
    return word.replace("-", " ")


class LineEntry(QLineEdit):
    """A short text."""

    edited = Signal(object)
    refused = Signal(str)

    def __init__(self, field: Field) -> None:
        super().__init__()
        self.field = field
        self._shown = ""
        if not field.must:
            self.setPlaceholderText(not_said(field))
        self.editingFinished.connect(self.commit)

    def show_value(self, value: object) -> None:
        """Show that value."""
        text = "" if value is None else str(value)
        self._shown = text
        if self.text() != text and not (self.hasFocus() and self.isModified()):
            with QSignalBlocker(self):
                self.setText(text)

    def commit(self) -> None:
        """Report what stands here, if a person has changed it."""
        text = self.text().strip()
        self.setModified(False)
        if text != self._shown:
            self._shown = text
            leave_out = not text and not self.field.must
            self.edited.emit(None if leave_out else text)

    def event(self, event: QEvent) -> bool:
        if is_undo(event) and not self.isModified():
            event.ignore()
            return False
        return super().event(event)


class NumberLine(QLineEdit):
    """A number; Up and Down change it by a step. Its range is told beside it, not forced here."""

    edited = Signal(object)
    refused = Signal(str)

    def __init__(self, field: Field) -> None:
        super().__init__()
        self.field = field
        self._value: float | None = None
        self.setMaximumWidth(self.fontMetrics().horizontalAdvance("0" * 14))
        if not field.must:
            self.setPlaceholderText(not_said(field))
        self.editingFinished.connect(self.commit)

    def show_value(self, value: object) -> None:
        """Show that value."""
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        self._value = value if number else None  # type: ignore[assignment]
        text = "" if value is None else f"{value:g}" if number else str(value)
        if self.text() != text and not (self.hasFocus() and self.isModified()):
            with QSignalBlocker(self):
                self.setText(text)

    def commit(self) -> None:
        """Report the number, or refuse what is none."""
        text = self.text().strip().replace("−", "-")
        modified, shown = self.isModified(), self._value
        self.setModified(False)
        if not modified:
            return
        if not text and not self.field.must:
            if shown is not None:
                self.edited.emit(None)
            return
        if NUMBER.fullmatch(text) is None:
            self.refused.emit(f"“{text}” is no number; it stays as it was.")
            self.show_value(shown)
            return
        self._report(float(text.replace(",", ".")))

    def _report(self, value: float) -> None:
        number = int(value) if value.is_integer() else value
        if number != self._value:
            self.edited.emit(number)

    def event(self, event: QEvent) -> bool:
        if is_undo(event) and not self.isModified():
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        ways = {Qt.Key.Key_Up: 1.0, Qt.Key.Key_Down: -1.0}
        way = ways.get(Qt.Key(event.key()))
        if way is None:
            super().keyPressEvent(event)
            return
        self.commit()
        step = 1.0 if self.field.kind is FieldKind.WHOLE else STEP_OF_UNIT.get(self.field.unit, 1.0)
        self._report(round((self._value or 0.0) + way * step, 6))


class LongEntry(QPlainTextEdit):
    """A text of several lines; it is taken over when the entry is left."""

    edited = Signal(object)
    refused = Signal(str)

    def __init__(self, field: Field, lines: int = 0) -> None:
        super().__init__()
        self.field = field
        few = field.highest is not None and field.highest <= FEW_CHARACTERS
        lines = lines or (FEW_LINES if few else LINES)
        self._shown = ""
        self.setTabChangesFocus(True)
        if not field.must:
            self.setPlaceholderText(not_said(field))
        self.setFixedHeight(self.fontMetrics().lineSpacing() * lines + 14)

    def show_value(self, value: object) -> None:
        """Show that text."""
        text = "" if value is None else str(value).strip()
        self._shown = text
        if self.toPlainText() != text and not (self.hasFocus() and self.document().isModified()):
            self.setPlainText(text)

    def commit(self) -> None:
        """Report the text, if a person has changed it."""
        text = self.toPlainText().strip()
        self.document().setModified(False)
        if text != self._shown:
            self._shown = text
            leave_out = not text and not self.field.must
            self.edited.emit(None if leave_out else text)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.commit()

    def event(self, event: QEvent) -> bool:
        if is_undo(event) and not self.document().isModified():
            event.ignore()
            return False
        return super().event(event)


class ChoiceEntry(QComboBox):
    """One of several names; what may be left out can also be "not said"."""

    edited = Signal(object)
    refused = Signal(str)

    def __init__(self, field: Field) -> None:
        super().__init__()
        self.field = field
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(10)
        self.offer(field.choices)
        self.activated.connect(self._tell)

    def offer(self, choices: Sequence[str]) -> None:
        """Offer these names."""
        wanted = ([] if self.field.must else [None]) + list(choices)
        if [self.itemData(n) for n in range(self.count())] == wanted:
            return
        with QSignalBlocker(self):
            self.clear()
            for name in wanted:
                self.addItem(not_said(self.field) if name is None else plain(name), name)

    def show_value(self, value: object) -> None:
        """Show that name, also one that is not offered."""
        at = self.findData(value if value is None else str(value))
        with QSignalBlocker(self):
            if at < 0 and value is not None:
                self.addItem(f"{value} (unknown here)", str(value))
                at = self.count() - 1
            self.setCurrentIndex(at)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()  # a form that is scrolled must not change the case

    def _tell(self, index: int) -> None:
        self.edited.emit(self.itemData(index))


class SwitchEntry(ChoiceEntry):
    """Yes, no, or, where it may be left out, not said."""

    WORDS: ClassVar[dict[str, bool]] = {"yes": True, "no": False}

    def __init__(self, field: Field) -> None:
        super().__init__(field)
        self.offer(tuple(self.WORDS))

    def show_value(self, value: object) -> None:
        """Show yes, no or not said."""
        words = {True: "yes", False: "no"}
        super().show_value(words[value] if isinstance(value, bool) else value)

    def _tell(self, index: int) -> None:
        name = self.itemData(index)
        self.edited.emit(None if name is None else self.WORDS.get(name, name))


class SeveralEntry(QWidget):
    """Any of several names, each with a box to tick."""

    edited = Signal(object)
    refused = Signal(str)

    def __init__(self, field: Field, columns: int = 2) -> None:
        super().__init__()
        self.field = field
        self._shown: list[str] = []
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(3)
        self.boxes: dict[str, QCheckBox] = {}
        for number, name in enumerate(field.choices):
            box = QCheckBox(plain(name))
            box.setMinimumHeight(24)
            box.clicked.connect(self._tell)
            self.boxes[name] = box
            grid.addWidget(box, number // columns, number % columns)
        self.setFocusProxy(next(iter(self.boxes.values())))

    def show_value(self, value: object) -> None:
        """Tick the names that are in the list."""
        self._shown = list(map(str, value)) if isinstance(value, list) else []
        for name, box in self.boxes.items():
            with QSignalBlocker(box):
                box.setChecked(name in self._shown)

    def _tell(self) -> None:
        # in the order of the file, new ones behind
        ticked = [name for name, box in self.boxes.items() if box.isChecked()]
        names = [n for n in self._shown if n in ticked or n not in self.boxes]
        names += [n for n in ticked if n not in names]
        self._shown = names
        self.edited.emit(names if names or self.field.must else None)


class NumbersEntry(QWidget):
    """A fixed count of numbers side by side."""

    edited = Signal(object)
    refused = Signal(str)

    def __init__(self, field: Field) -> None:
        super().__init__()
        self.field = field
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(3)
        self.lines: list[NumberLine] = []
        for number in range(field.count):
            line = NumberLine(field)
            line.setAccessibleName(f"{field.label}, number {number + 1}")
            line.setMinimumWidth(line.fontMetrics().horizontalAdvance("-0.00") + 10)
            line.edited.connect(self._tell)
            line.refused.connect(self.refused)
            row.addWidget(line)
            self.lines.append(line)
        row.addStretch(1)
        self._values: list[Any] = []
        self.setFocusProxy(self.lines[0])

    def show_value(self, value: object) -> None:
        """Show these numbers."""
        self._values = list(value) if isinstance(value, list) else []
        for number, line in enumerate(self.lines):
            line.show_value(self._values[number] if number < len(self._values) else None)

    def _tell(self, value: object) -> None:
        at = next(n for n, line in enumerate(self.lines) if line is self.sender())
        values = [*self._values, *[0] * self.field.count][: self.field.count]
        values[at] = 0 if value is None else value
        self._values = values
        self.edited.emit(values)


class NumberListEntry(LineEntry):
    """Any count of numbers in one line, parted by commas."""

    def show_value(self, value: object) -> None:
        """Show these numbers."""
        shown = ", ".join(f"{v:g}" for v in value) if _are_numbers(value) else str(value or "")
        super().show_value(shown)

    def commit(self) -> None:
        """Report the numbers, or refuse what is none."""
        text = self.text().strip()
        if text == self._shown:
            self.setModified(False)
            return
        try:
            numbers = [float(part) for part in text.split(",") if part.strip()]
        except ValueError:
            self.refused.emit("must be numbers parted by commas, such as 100, 150, 200")
            return
        self.setModified(False)
        self._shown = text
        self.edited.emit([int(n) if n.is_integer() else n for n in numbers])


def _are_numbers(value: object) -> TypeGuard[list[float]]:
    return isinstance(value, list) and all(isinstance(v, (int, float)) for v in value)


Entry = LineEntry | NumberLine | LongEntry | ChoiceEntry | SeveralEntry | NumbersEntry


def entry_for(field: Field) -> Entry:
    """The entry for a simple field.

    Raises
    ------
    LookupError
        If the field is a group or list that takes more than one entry.
    """
    kinds: dict[FieldKind, type[Entry]] = {
        FieldKind.TEXT: LineEntry,
        FieldKind.LONG_TEXT: LongEntry,
        FieldKind.NUMBER: NumberLine,
        FieldKind.WHOLE: NumberLine,
        FieldKind.CHOICE: ChoiceEntry,
        FieldKind.SWITCH: SwitchEntry,
        FieldKind.SEVERAL: SeveralEntry,
        FieldKind.NUMBERS: NumbersEntry,
        FieldKind.NUMBER_LIST: NumberListEntry,
    }
    return kinds[field.kind](field)
