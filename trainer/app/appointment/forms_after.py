"""Forms after the exposure: grading the image, deciding on a repeat, the record."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFormLayout,
    QGroupBox,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.forms import Choice
from trainer.app.words import REGION_WORDS, field_words
from trainer.engine.appointment.state import Context
from trainer.models.appointment_words import Grade, RetakeCause
from trainer.models.device import Region

NOT_GRADED = "none"


class GradeForm(QGroupBox):
    """The learner's own judgement of the image, and what follows from it.

    Signals
    -------
    graded : Grade, tuple of RetakeCause
        The grade, with causes when it is not acceptable.
    decided : bool, RetakeCause or None
        Whether the run is repeated, and why.
    """

    graded = Signal(object, tuple)
    decided = Signal(bool, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Your judgement", parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 4, 6, 6)
        column.setSpacing(3)
        self.causes: dict[RetakeCause, QCheckBox] = {}
        for cause, text in words.CAUSES.items():
            box = QCheckBox(text[0].upper() + text[1:])
            self.causes[cause] = box
            column.addWidget(box)
        self.accept = act_button("It is acceptable (A)", self._accept)
        self.reject = act_button("It is not acceptable (N), as ticked", self._reject)
        self.no_repeat = act_button("Decide: no repeat", self._no_repeat)
        self.repeat = act_button("Decide: repeat, for the first cause ticked", self._repeat)
        for button in (self.accept, self.reject, self.no_repeat, self.repeat):
            column.addWidget(button)

    def ticked(self) -> tuple[RetakeCause, ...]:
        """Causes that are ticked, in their order."""
        return tuple(c for c, box in self.causes.items() if box.isChecked())

    def _accept(self) -> None:
        self.graded.emit(Grade.A, ())

    def _reject(self) -> None:
        self.graded.emit(Grade.N, self.ticked())

    def _no_repeat(self) -> None:
        self.decided.emit(False, None)

    def _repeat(self) -> None:
        self.decided.emit(True, next(iter(self.ticked()), None))


class RecordForm(QGroupBox):
    """What is written down. The form starts empty: the learner fills in what happened.

    Signals
    -------
    written : dict
        The values of a `WriteRecord`.
    """

    written = Signal(dict)

    def __init__(self, context: Context, parent: QWidget | None = None) -> None:
        super().__init__("Record", parent)
        form = QFormLayout(self)
        form.setContentsMargins(8, 4, 8, 6)
        form.setSpacing(4)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        unit, visit = context.unit, context.visit
        voxels = sorted({v for f in unit.fields for v in f.voxels_um})
        self.person = Choice(
            "Person", {w.id: f"{w.surname}, {w.given_name}" for w in visit.waiting}
        )
        self.region = Choice("Region", {str(r): REGION_WORDS[r] for r in unit.regions})
        self.field = Choice("Field", {f.id: field_words(f) for f in unit.fields})
        self.voxel = Choice("Voxel", {str(v): f"{v} µm" for v in voxels})
        self.runs, self.rejected, self.scouts = QSpinBox(), QSpinBox(), QSpinBox()
        grades = {NOT_GRADED: "Not graded"} | {str(g): text for g, text in words.GRADES.items()}
        self.grade = Choice("Grade", grades)
        self.kap = QCheckBox("Dose-area product copied from the display")
        self.note = QLineEdit()
        self.note.setMaxLength(500)
        self.note.setPlaceholderText("Anything special; no real names")
        for label, entry in (
            ("Person", self.person),
            ("Region", self.region),
            ("Field", self.field),
            ("Voxel", self.voxel),
            ("Runs", self.runs),
            ("of these rejected", self.rejected),
            ("Scouts", self.scouts),
            ("Grade of the last", self.grade),
            ("Note", self.note),
        ):
            entry.setAccessibleName(label)
            form.addRow(label, entry)
        form.addRow(self.kap)
        self.button = act_button("Write the record", self._write)
        form.addRow(self.button)

    def _write(self) -> None:
        grade = self.grade.value()
        values: dict[str, Any] = {
            "person": self.person.value(),
            "region": Region(self.region.value()),
            "field": self.field.value(),
            "voxel_um": int(self.voxel.value()),
            "runs": self.runs.value(),
            "rejected_runs": self.rejected.value(),
            "scouts": self.scouts.value(),
            "grade": None if grade == NOT_GRADED else Grade(grade),
            "kap_noted": self.kap.isChecked(),
            "note": self.note.text(),
        }
        self.written.emit(values)
