"""Acts that need more than a press, before the exposure: explaining, programme, spacer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QFormLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts_panel import act_button
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import (
    ArchPlace,
    MetalLevel,
    RunKind,
    Sentence,
    SpacerKind,
)


class Choice(QComboBox):
    """One of several values, each with its words; the wheel changes nothing."""

    def __init__(self, name: str, choices: Mapping[Any, str], parent: QWidget | None = None):
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumWidth(60)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.offer(choices)

    def offer(self, choices: Mapping[Any, str]) -> None:
        """Offer these; what is chosen stays when it is among them."""
        if [self.itemData(i) for i in range(self.count())] == list(map(str, choices)):
            return
        had = self.value()
        with QSignalBlocker(self):
            self.clear()
            for value, text in choices.items():
                self.addItem(text, str(value))
            self.setCurrentIndex(max(0, self.findData(had)))

    def value(self) -> str:
        """The value that is chosen."""
        return str(self.currentData() or "")

    def show_value(self, value: object) -> None:
        """Choose a value, reporting nothing."""
        with QSignalBlocker(self):
            self.setCurrentIndex(self.findData(str(value)))

    def wheelEvent(self, event: object) -> None:
        event.ignore()  # type: ignore[attr-defined]


class ExplainForm(QGroupBox):
    """Nine sentences; those that are ticked are said.

    Signals
    -------
    said : tuple of Sentence
        What a person wants to say.
    """

    said = Signal(tuple)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Choose what you say", parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 4, 6, 6)
        column.setSpacing(4)
        self.boxes: dict[Sentence, QCheckBox] = {}
        for sentence, text in words.SENTENCES.items():
            row = QHBoxLayout()
            box = QCheckBox()
            box.setAccessibleName(text)
            label = QLabel(text)
            label.setWordWrap(True)
            label.setBuddy(box)
            row.addWidget(box, 0, Qt.AlignmentFlag.AlignTop)
            row.addWidget(label, 1)
            column.addLayout(row)
            self.boxes[sentence] = box
        self.button = act_button("Say what is ticked", self._say)
        column.addWidget(self.button)

    def _say(self) -> None:
        said = tuple(s for s, box in self.boxes.items() if box.isChecked())
        if said:
            self.said.emit(said)
            for box in self.boxes.values():
                box.setChecked(False)


class ProgrammeForm(QGroupBox):
    """Protocol, voxel, dose, metal correction and kind of run.

    Signals
    -------
    entered : Programme
        What a person wants entered.
    """

    entered = Signal(object)

    def __init__(self, protocols: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__("Programme", parent)
        form = _form(self)
        names = protocols or ("adult", "child")
        self.protocol = Choice("Protocol", {p: p.replace("-", " ").capitalize() for p in names})
        self.voxel = Choice("Voxel", {"200": "200 µm"})
        self.low_dose = QCheckBox("Low dose")
        self.metal = Choice("Metal correction", words.METAL_LEVELS)
        self.run_kind = Choice("Kind of run", words.RUN_KINDS)
        form.addRow("Protocol", self.protocol)
        form.addRow("Voxel", self.voxel)
        form.addRow("Metal correction", self.metal)
        form.addRow("Kind of run", self.run_kind)
        form.addRow(self.low_dose)
        self.button = act_button("Enter this programme", self._enter)
        form.addRow(self.button)
        self.now = QLabel()
        self.now.setObjectName("quiet")
        self.now.setWordWrap(True)
        form.addRow(self.now)
        self._shown: Programme | None = None

    def show_state(self, state: AppointmentState) -> None:
        """Offer the field's voxels, and show what is entered when that has changed."""
        field = state.context.unit.field(state.setup.field)
        self.voxel.offer({str(v): f"{v} µm" for v in field.voxels_um})
        p = state.programme
        if p == self._shown:
            return
        self._shown = p
        self.protocol.show_value(p.protocol)
        self.voxel.show_value(p.voxel_um)
        self.metal.show_value(p.metal_level)
        self.run_kind.show_value(p.run_kind)
        self.low_dose.setChecked(p.low_dose)
        self.now.setText(
            f"Entered now: {p.protocol}, {p.voxel_um} µm, metal correction {p.metal_level}, "
            f"{words.RUN_KINDS[p.run_kind].lower()}{', low dose' if p.low_dose else ''}."
        )

    def _enter(self) -> None:
        self.entered.emit(
            Programme(
                protocol=self.protocol.value(),
                voxel_um=int(self.voxel.value()),
                low_dose=self.low_dose.isChecked(),
                metal_level=MetalLevel(self.metal.value()),
                run_kind=RunKind(self.run_kind.value()),
            )
        )


class SpacerForm(QGroupBox):
    """What holds the arches apart, and where.

    Signals
    -------
    placed : dict
        The values of a `PlaceSpacer` that a person wants done.
    removed : no value
        The spacer shall come out.
    """

    placed = Signal(dict)
    removed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Spacer between the teeth", parent)
        form = _form(self)
        self.kind = Choice("Kind of spacer", words.SPACERS)
        self.place = Choice("Place of the spacer", words.ARCH_PLACES)
        self.both = QCheckBox("On both sides")
        self.both.setChecked(True)
        self.gap = QDoubleSpinBox()
        self.gap.setRange(1.0, 20.0)
        self.gap.setDecimals(0)
        self.gap.setSuffix(" mm")
        self.gap.setValue(8.0)
        self.gap.setAccessibleName("How far the front teeth stand apart")
        form.addRow("Kind", self.kind)
        form.addRow("Place", self.place)
        form.addRow("Front teeth apart", self.gap)
        form.addRow(self.both)
        self.button = act_button("Put the spacer in", self._put)
        self.out = act_button("Take the spacer out", self.removed.emit)
        form.addRow(self.button)
        form.addRow(self.out)

    def _put(self) -> None:
        self.placed.emit(
            {
                "kind": SpacerKind(self.kind.value()),
                "place": ArchPlace(self.place.value()),
                "both_sides": self.both.isChecked(),
                "gap_mm": self.gap.value(),
            }
        )


def _form(box: QGroupBox) -> QFormLayout:
    form = QFormLayout(box)
    form.setContentsMargins(8, 4, 8, 6)
    form.setSpacing(4)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form
