"""How a volume is looked at: greys, level head, which arch, marks."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QSpinBox, QWidget

from trainer.app.volume.greys import (
    GREY_STEP,
    LEAST_LEVEL,
    LEAST_WINDOW,
    MOST_LEVEL,
    MOST_WINDOW,
    PRESETS,
    Greys,
)

OWN = "Own values"
LEVEL_TIP = (
    "Slices along the head's own planes: the request's reference plane lies level and the midline "
    "runs straight. This turns what is seen, not what was recorded."
)


class SightBar(QWidget):
    """Controls above the slices.

    Signals
    -------
    changed : no value
        Something is to be shown in another way.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        first = next(iter(PRESETS))
        self.preset = QComboBox()
        self.preset.addItems([*PRESETS, OWN])
        self.preset.setAccessibleName("Greys")
        self.level = _number(LEAST_LEVEL, MOST_LEVEL, "Level: the value in the middle of the greys")
        self.window_width = _number(LEAST_WINDOW, MOST_WINDOW, "Window: from black to white")
        self.jaw = QComboBox()
        self.jaw.addItems(["upper jaw", "lower jaw"])
        self.jaw.setAccessibleName("Jaw of the slice along the arch")
        self.straight = QCheckBox("&Level the head")
        self.straight.setToolTip(LEVEL_TIP)
        self.marks = QCheckBox("&Outlines")
        self.marks.setToolTip(
            "What is required. Solid outline and hook: held. Dashed, hatched, cross: missed."
        )
        self.landmarks = QCheckBox("Land&marks")
        self.landmarks.setToolTip("Names of landmarks that lie in a slice")
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(2)
        for n, (text, widget) in enumerate(
            (
                ("&Greys", self.preset),
                ("L&evel", self.level),
                ("&Window", self.window_width),
                ("Arc&h", self.jaw),
            )
        ):
            label = QLabel(text)
            label.setBuddy(widget)
            grid.addWidget(label, n // 3, 2 * (n % 3))
            grid.addWidget(widget, n // 3, 2 * (n % 3) + 1)
        grid.addWidget(self.straight, 1, 2, 1, 2)
        grid.addWidget(self.landmarks, 1, 4)
        grid.addWidget(self.marks, 1, 5)
        grid.setColumnStretch(6, 1)
        self._show(PRESETS[first])
        self.preset.currentTextChanged.connect(self._on_preset)
        for number in (self.level, self.window_width):
            number.valueChanged.connect(self._on_number)
        self.jaw.currentIndexChanged.connect(self._tell)
        self.straight.toggled.connect(self._tell)
        self.landmarks.toggled.connect(self._tell)
        self.marks.toggled.connect(self._tell)

    @property
    def greys(self) -> Greys:
        """The greys that are chosen."""
        return Greys(self.level.value(), self.window_width.value())

    @property
    def is_lower_jaw(self) -> bool:
        """Whether the arch is the lower jaw's."""
        return self.jaw.currentIndex() == 1

    def _show(self, greys: Greys) -> None:
        for number, value in ((self.level, greys.level), (self.window_width, greys.window)):
            number.blockSignals(True)
            number.setValue(value)
            number.blockSignals(False)

    def _on_preset(self, name: str) -> None:
        if name in PRESETS:
            self._show(PRESETS[name])
            self.changed.emit()

    def _on_number(self) -> None:
        name = next((n for n, greys in PRESETS.items() if greys == self.greys), OWN)
        self.preset.blockSignals(True)
        self.preset.setCurrentText(name)
        self.preset.blockSignals(False)
        self.changed.emit()

    def _tell(self) -> None:
        self.changed.emit()


def _number(least: int, most: int, name: str) -> QSpinBox:
    box = QSpinBox()
    box.setRange(least, most)
    box.setSingleStep(GREY_STEP)
    box.setAccessibleName(name)
    box.setToolTip(f"{name}; water is 0, air -1000, not calibrated")
    return box
