"""One entry per kind of control. A number speaks of the patient: "6 mm left", no bare sign.

Every entry reports ``moved`` (key, value) when a person changes it, and shows a value that is given
to it without reporting.
"""

from __future__ import annotations

import re

from PySide6.QtCore import QEvent, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QValidator, QWheelEvent
from PySide6.QtWidgets import QCheckBox, QComboBox, QDoubleSpinBox, QWidget

from trainer.engine.wording import amount, signed_amount
from trainer.models.controls import Control
from trainer.models.device import Region, Travel

NUMBER = re.compile(r"^\s*([+-]?)\s*(\d*(?:[.,]\d*)?)\s*(.*)$")


class NumberEntry(QDoubleSpinBox):
    """Number and way of one control.

    Up and Down move by the unit's step, Page Up and Page Down by ten steps. "6 left", "6 mm left",
    "6 l" and "-6" can be typed.

    Signals
    -------
    moved : str, object
        The control's key and the new value.
    """

    moved = Signal(str, object)

    def __init__(self, control: Control, travel: Travel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.control = control
        self._signed = travel.lowest < 0.0
        self.setDecimals(1)
        self.setRange(travel.lowest, travel.highest)
        self.setSingleStep(travel.step)
        self.setKeyboardTracking(False)
        self.setButtonSymbols(QDoubleSpinBox.ButtonSymbols.NoButtons)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(control.label)
        low, high = self.textFromValue(travel.lowest), self.textFromValue(travel.highest)
        self.setToolTip(f"{control.label}: {low} to {high}. Page Up and Page Down: ten steps.")
        self.valueChanged.connect(self._tell)

    def show_value(self, value: float) -> None:
        """Show a value that came from elsewhere."""
        if value != self.value():
            with QSignalBlocker(self):
                self.setValue(value)

    def _tell(self, value: float) -> None:
        self.moved.emit(self.control.key, value)

    def textFromValue(self, value: float) -> str:
        if not self._signed:
            return amount(value, self.control.unit)
        return signed_amount(value, self.control.unit, self.control.more_word,
                             self.control.less_word)  # fmt: skip

    def valueFromText(self, text: str) -> float:
        found = self._read(text)
        return self.value() if found is None else found

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        if self._read(text) is not None:
            return QValidator.State.Acceptable, text, position
        return QValidator.State.Intermediate, text, position

    def event(self, event: QEvent) -> bool:
        # undo and redo mean the setup, not the letters typed here
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            keys = QKeySequence.StandardKey
            if event.matches(keys.Undo) or event.matches(keys.Redo):
                event.ignore()
                return False
        return super().event(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        # a list that is scrolled must not move the patient
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def _read(self, text: str) -> float | None:
        """The value that was typed, or ``None`` if it cannot be understood."""
        match = NUMBER.match(text.lower())
        if match is None or not match[2].strip(".,"):
            return None
        value = float(match[2].replace(",", "."))
        if match[1] == "-":
            value = -value
        unit = "°" if self.control.unit == "deg" else self.control.unit
        words = match[3].strip().removeprefix(unit).strip()
        if words:
            more, less = self.control.more_word.lower(), self.control.less_word.lower()
            is_more, is_less = more.startswith(words), less.startswith(words)
            if is_more == is_less and self._signed:
                return None
            if is_less and not is_more and self._signed:
                value = -abs(value)
        return value if self.minimum() - 1e-9 <= value <= self.maximum() + 1e-9 else None


class ChoiceEntry(QComboBox):
    """One of several named values.

    Signals
    -------
    moved : str, object
        The control's key and the new value.
    """

    moved = Signal(str, object)

    def __init__(self, control: Control, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.control = control
        self.setAccessibleName(control.label)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.currentIndexChanged.connect(self._tell)

    def offer(self, choices: dict[str, str]) -> None:
        """Offer these values, each with its words."""
        if [self.itemData(i) for i in range(self.count())] == list(choices):
            return
        with QSignalBlocker(self):
            self.clear()
            for value, words in choices.items():
                self.addItem(words, value)

    def show_value(self, value: str) -> None:
        """Show a value that came from elsewhere."""
        with QSignalBlocker(self):
            self.setCurrentIndex(self.findData(str(value)))

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def _tell(self, index: int) -> None:
        value = self.itemData(index)
        self.moved.emit(self.control.key, Region(value) if self.control.key == "region" else value)


class SwitchEntry(QCheckBox):
    """On or off.

    Signals
    -------
    moved : str, object
        The control's key and the new value.
    """

    moved = Signal(str, object)

    def __init__(self, control: Control, parent: QWidget | None = None) -> None:
        super().__init__(control.label, parent)
        self.control = control
        self.toggled.connect(self._tell)

    def show_value(self, value: bool) -> None:
        """Show a value that came from elsewhere."""
        with QSignalBlocker(self):
            self.setChecked(value)

    def _tell(self, on: bool) -> None:
        self.moved.emit(self.control.key, on)


Entry = NumberEntry | ChoiceEntry | SwitchEntry
