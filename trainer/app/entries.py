"""One entry per kind of control. A number speaks of the patient: "6 mm left", no bare sign.

Every entry reports ``moved`` (key, value) when a person changes it, and shows a value that is given
to it without reporting.
"""

from __future__ import annotations

import re

from PySide6.QtCore import QEvent, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QValidator, QWheelEvent
from PySide6.QtWidgets import QCheckBox, QComboBox, QDoubleSpinBox, QSlider, QWidget

from trainer.app.words import limit_words, number_words
from trainer.models.controls import Control
from trainer.models.device import Region, Travel

NUMBER = re.compile(r"^\s*([+-]?)\s*(\d*(?:[.,]\d*)?)\s*(.*)$")


class NumberEntry(QDoubleSpinBox):
    """Number and way of one control.

    Up and Down move by the unit's step, Page Up and Page Down by ten steps. "6 left", "6 mm left",
    "6 l" and "-6" can be typed. What cannot be taken is refused with a reason when it is confirmed,
    and the value stays.

    Signals
    -------
    moved : str, object
        The control's key and the new value.
    refused : str
        Why what was typed was not taken.
    """

    moved = Signal(str, object)
    refused = Signal(str)

    def __init__(self, control: Control, travel: Travel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.control = control
        self._travel = travel
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
        return number_words(self.control, self._travel, value)

    def valueFromText(self, text: str) -> float:
        found = self._read(text)
        return self.value() if isinstance(found, str) else found

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        if isinstance(self._read(text), str):
            return QValidator.State.Intermediate, text, position
        return QValidator.State.Acceptable, text, position

    def fixup(self, text: str) -> str:
        # Qt asks this when something is confirmed that was not acceptable, then puts the value back
        why = self._read(text)
        if isinstance(why, str):
            self.refused.emit(f"{why}. It stays at {self.textFromValue(self.value())}.")
        return text

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

    def _read(self, text: str) -> float | str:
        """The value that was typed, or why it cannot be taken."""
        c = self.control
        match = NUMBER.match(text.lower())
        if match is None or not match[2].strip(".,"):
            return self._not_understood(text)
        value = float(match[2].replace(",", "."))
        unit = "°" if c.unit == "deg" else c.unit
        way = match[3].strip().removeprefix(unit).strip()
        if way:
            is_more = c.more_word.startswith(way)
            is_less = self._signed and c.less_word.startswith(way)
            if is_more == is_less:
                return self._not_understood(text)
            if match[1]:
                return f"{c.label}: “{text.strip()}” has a sign and a way; type {self._examples()}"
            value = -value if is_less else value
        elif match[1] == "-":
            value = -value
        if not self.minimum() - 1e-9 <= value <= self.maximum() + 1e-9:
            return limit_words(c, self._travel, value)
        return value

    def _not_understood(self, text: str) -> str:
        return f"{self.control.label}: “{text.strip()}” is no value; type {self._examples()}"

    def _examples(self) -> str:
        """What can be typed: ``6 left``, ``6 right`` or ``-6``."""
        c = self.control
        if not self._signed:
            return "a number such as 6"
        return f"6 {c.more_word}, 6 {c.less_word} or -6"


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


class SlideEntry(QSlider):
    """A control without its number: how far it has gone is seen, as on a face, and not read.

    Arrow keys move by the unit's step, page keys by ten steps.

    Signals
    -------
    moved : str, object
        The control's key and the new value.
    """

    moved = Signal(str, object)

    def __init__(self, control: Control, travel: Travel, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.control = control
        self._travel = travel
        self._value = self._shown = 0.0
        self.setRange(round(travel.lowest / travel.step), round(travel.highest / travel.step))
        self.setPageStep(10)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(control.label)
        self.setToolTip(f"{control.label}: to {control.less_word} and {control.more_word}.")
        self.valueChanged.connect(self._tell)

    def show_value(self, value: float) -> None:
        """Show a value that came from elsewhere; it need not be a whole number of steps."""
        self._value = value
        with QSignalBlocker(self):
            self.setValue(round(value / self._travel.step))
        self._shown = self.value()

    def stepUp(self) -> None:
        """One step on; named as those of the number entries."""
        self.setValue(self.value() + 1)

    def stepDown(self) -> None:
        """One step back."""
        self.setValue(self.value() - 1)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def _tell(self, steps: int) -> None:
        value = self._value + (steps - self._shown) * self._travel.step
        self._shown = steps
        self._value = min(max(round(value, 6), self._travel.lowest), self._travel.highest)
        self.moved.emit(self.control.key, self._value)


Entry = NumberEntry | SlideEntry | ChoiceEntry | SwitchEntry
