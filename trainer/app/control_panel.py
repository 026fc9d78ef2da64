"""Everything the operator can move, made from the list of controls and the unit's travel."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QGroupBox, QLabel, QPushButton, QVBoxLayout, QWidget

from trainer.app.entries import ChoiceEntry, Entry, NumberEntry, SlideEntry, SwitchEntry
from trainer.app.words import REGION_WORDS, field_words
from trainer.engine.wording import sentence_start
from trainer.models.controls import CONTROLS, Control, ControlGroup, ControlKind
from trainer.models.device import Unit
from trainer.models.setup import Setup

# Nothing to press is smaller than this in either direction (WCAG 2.2, 2.5.8).
LEAST_TARGET_PX = 24


class ControlPanel(QWidget):
    """The controls of one unit, all or those that are named.

    ``unnumbered`` are moved by steps and seen on a slider, without their numbers.

    Signals
    -------
    moved : str, object
        A control's key and its new value, when a person has changed it.
    refused : str
        Why what a person typed was not taken.
    """

    moved = Signal(str, object)
    refused = Signal(str)

    def __init__(
        self,
        unit: Unit,
        parent: QWidget | None = None,
        keys: Collection[str] | None = None,
        unnumbered: Collection[str] = (),
    ) -> None:
        super().__init__(parent)
        self.unit = unit
        self._keys = {c.key for c in CONTROLS} if keys is None else set(keys)
        self._unnumbered = unnumbered
        self.entries: dict[str, Entry] = {}
        self.buttons: dict[str, tuple[QPushButton, QPushButton]] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 4, 6, 4)
        column.setSpacing(6)
        for group in ControlGroup:
            controls = [c for c in CONTROLS if c.group is group and c.key in self._keys]
            if controls:
                column.addWidget(self._group(group, controls))
        column.addStretch(1)

    def show_setup(self, setup: Setup) -> None:
        """Show these values; nothing is reported as moved."""
        offered = {f.id: field_words(f) for f in self.unit.fields if setup.region in f.regions}
        fields = self.entries.get("field")
        if isinstance(fields, ChoiceEntry):
            fields.offer(offered)
        for key, entry in self.entries.items():
            entry.show_value(getattr(setup, key))

    def _group(self, group: ControlGroup, controls: Sequence[Control]) -> QGroupBox:
        box = QGroupBox(group.value)
        grid = QGridLayout(box)
        grid.setContentsMargins(8, 4, 8, 6)
        grid.setHorizontalSpacing(4)
        grid.setVerticalSpacing(3)
        wide = self.fontMetrics().horizontalAdvance
        grid.setColumnMinimumWidth(0, wide("Head sideways") + 4)
        grid.setColumnMinimumWidth(2, wide("88.8 mm forward") + 12)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(2, 1)
        for row, control in enumerate(controls):
            self._add(grid, row, control)
        return box

    def _add(self, grid: QGridLayout, row: int, control: Control) -> None:
        if control.kind is ControlKind.SWITCH:
            entry: Entry = SwitchEntry(control)
            grid.addWidget(entry, row, 0, 1, 4)
        else:
            label = QLabel(control.label)
            label.setWordWrap(True)
            grid.addWidget(label, row, 0)
            if control.kind is ControlKind.CHOICE:
                entry = ChoiceEntry(control)
                if control.key == "region":
                    entry.offer({str(r): REGION_WORDS[r] for r in self.unit.regions})
                grid.addWidget(entry, row, 1, 1, 3)
            else:
                travel = self.unit.travel[control.key]
                if control.key in self._unnumbered:
                    entry = SlideEntry(control, travel)
                else:
                    entry = NumberEntry(control, travel)
                    entry.refused.connect(self.refused)
                less = self._button(control.less_word, control.less)
                more = self._button(control.more_word, control.more)
                less.clicked.connect(entry.stepDown)
                more.clicked.connect(entry.stepUp)
                self.buttons[control.key] = (less, more)
                for place, widget in enumerate((less, entry, more), 1):
                    grid.addWidget(widget, row, place)
            label.setBuddy(entry)
        entry.setMinimumHeight(self._target_px())
        entry.moved.connect(self.moved)
        self.entries[control.key] = entry

    def _button(self, word: str, does: str) -> QPushButton:
        button = QPushButton(word)
        button.setToolTip(f"{sentence_start(does)} by one step. Hold to go on.")
        button.setAccessibleName(does)
        button.setAutoRepeat(True)
        button.setAutoRepeatInterval(60)
        # the entry between the two buttons does the same by the arrow keys
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        wide = self.fontMetrics().horizontalAdvance("chin down") + 12
        button.setMinimumSize(max(LEAST_TARGET_PX, wide), self._target_px())
        return button

    def _target_px(self) -> int:
        return max(LEAST_TARGET_PX + 2, self.fontMetrics().height() + 8)
