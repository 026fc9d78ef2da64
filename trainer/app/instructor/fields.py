"""A form whose every field has to be filled in by a person, with what is wrong beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from PySide6.QtCore import QDate
from PySide6.QtWidgets import (
    QComboBox,
    QDateEdit,
    QFormLayout,
    QLabel,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from trainer.app.learners.parts import set_name, words
from trainer.errors import Fault

CHOOSE = "choose …"
UNSET = -1  # of a number that nobody has entered


class Choice(QComboBox):
    """One of several; nothing is chosen beforehand. ``options``: value to words."""

    def __init__(self, options: Mapping[Any, str], empty: str = CHOOSE) -> None:
        super().__init__()
        self._empty = empty
        self.set_options(options)

    def set_options(self, options: Mapping[Any, str]) -> None:
        """Offer these; nothing is chosen."""
        self.clear()
        self.addItem(self._empty, None)
        for value, text in options.items():
            self.addItem(text, value)

    @property
    def is_forced(self) -> bool:
        """Whether something has to be chosen."""
        return self._empty == CHOOSE

    @property
    def value(self) -> Any:
        """What was chosen, or None."""
        return self.currentData()

    def choose(self, value: object) -> None:
        """Choose that value; nothing if it is not offered."""
        self.setCurrentIndex(max(0, self.findData(value)))


def plain(options: Iterable[str]) -> dict[str, str]:
    """Options whose words are the values."""
    return {each: each for each in options}


def count_entry(most: int) -> QSpinBox:
    """A whole number that nobody has entered yet."""
    made = QSpinBox()
    made.setRange(UNSET, most)
    made.setSpecialValueText("not entered")
    made.setValue(UNSET)
    return made


def day_entry(today: date) -> QDateEdit:
    """A day up to today."""
    made = QDateEdit(QDate(today.year, today.month, today.day))
    made.setCalendarPopup(True)
    made.setDisplayFormat("yyyy-MM-dd")
    made.setMaximumDate(QDate(today.year, today.month, today.day))
    return made


def day_of(entry: QDateEdit) -> date:
    """The day that was entered."""
    day = entry.date()
    return date(day.year(), day.month(), day.day())


class EntryForm(QWidget):
    """Fields by key, each with a line for what is wrong with it."""

    def __init__(self) -> None:
        super().__init__()
        self.entries: dict[str, QWidget] = {}
        self._faults: dict[str, QLabel] = {}
        self._form = QFormLayout(self)
        self._form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)

    def add(self, key: str, text: str, entry: QWidget, tip: str = "") -> None:
        """Add a field."""
        set_name(entry, text.replace("&", ""), tip)
        fault = words("", "fault")
        fault.setVisible(False)
        place = QWidget()
        column = QVBoxLayout(place)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(1)
        column.addWidget(entry)
        column.addWidget(fault)
        label = QLabel(text)
        label.setBuddy(entry)
        label.setWordWrap(True)
        self._form.addRow(label, place)
        self.entries[key] = entry
        self._faults[key] = fault

    def show_faults(self, faults: Sequence[Fault]) -> None:
        """Show what is wrong; the first field with a fault gets the focus."""
        told: dict[str, list[str]] = {}
        for fault in faults:
            told.setdefault(fault.key, []).append(fault.text)
        for key, label in self._faults.items():
            plainly = _missing(self.entries[key])
            text = plainly or "; ".join(told.get(key, ()))
            label.setText(f"! {text}" if key in told else "")
            label.setVisible(key in told)
        first = next((key for key in self.entries if key in told), None)
        if first is not None:
            self.entries[first].setFocus()

    def clear(self) -> None:
        """Empty every field but the day."""
        self.show_faults(())
        for entry in self.entries.values():
            if isinstance(entry, QComboBox):
                entry.setCurrentIndex(0)
            elif isinstance(entry, QSpinBox):
                entry.setValue(UNSET)
            elif isinstance(entry, QLineEdit):
                entry.clear()


def _missing(entry: QWidget) -> str:
    """What is missing in an entry that nobody has touched; empty otherwise."""
    if isinstance(entry, Choice) and entry.value is None and entry.is_forced:
        return "choose one"
    return "enter a number" if isinstance(entry, QSpinBox) and entry.value() == UNSET else ""
