"""A page with a form on the left and what was written before on the right."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Generic, TypeVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QSplitter, QVBoxLayout, QWidget

from trainer.app.instructor.fields import Choice, EntryForm
from trainer.app.learners.parts import GAP_PX, ReadTable, Told, button, words
from trainer.errors import Fault, TrainerError
from trainer.models.records import Learner, Observation, SupervisedCase
from trainer.services.learning.group import Group

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor

Written = TypeVar("Written", SupervisedCase, Observation)
KEPT = "Kept. What was written cannot be changed afterwards; write a new one to correct it."
CHOOSE_LEARNER = "choose a learner"
FORM_PX = 470


class FormPage(QWidget, Generic[Written]):
    """Holds the form's layout; what is asked and kept is up to each page."""

    about = ""
    columns: tuple[str, ...] = ()
    wide = 0
    told_elsewhere: tuple[str, ...] = ()  # columns for which the table has no room here

    def __init__(self, door: LearnerDoor, instructor: Learner) -> None:
        super().__init__()
        self._door, self.instructor = door, instructor
        self.group: Group | None = None
        self.form = EntryForm()
        self.learner = Choice({})
        self.learner.currentIndexChanged.connect(self._on_learner)
        self.form.add("learner_id", "&Learner", self.learner)
        self.told = Told()
        self.keep_button = button("Keep this form", self.keep)
        self.clear_button = button("Empty the form", self.form.clear)
        self.table = ReadTable("Written before", self.columns, self.wide)
        for name in self.told_elsewhere:
            self.table.setColumnHidden(self.columns.index(name), True)
        place = QScrollArea()
        place.setWidgetResizable(True)
        place.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        place.setWidget(self.form)
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(place, 1)
        column.addWidget(self.told)
        row = QHBoxLayout()
        row.addWidget(self.keep_button)
        row.addWidget(self.clear_button)
        row.addStretch(1)
        column.addLayout(row)
        self.right = QWidget()
        self.right_column = QVBoxLayout(self.right)
        self.right_column.setContentsMargins(GAP_PX, 0, 0, 0)
        self.right_column.addWidget(words("Written before", "section"))
        self.right_column.addWidget(self.table, 1)
        parts = QSplitter(Qt.Orientation.Horizontal)
        parts.addWidget(left)
        parts.addWidget(self.right)
        parts.setChildrenCollapsible(False)
        parts.setSizes([FORM_PX, 1000 - FORM_PX])
        column = QVBoxLayout(self)
        column.addWidget(words(self.about, "quiet"))
        column.addWidget(parts, 1)

    def show_group(self, group: Group) -> None:
        """Show the group; who was chosen stays chosen."""
        chosen = self.learner.value
        self.group = group
        self.learner.set_options({p.id: p.pseudonym for p in group.people})
        self.learner.choose(chosen)

    def entry(self) -> Written:
        """What the form says; ids and numbers that were not entered are empty or negative."""
        raise NotImplementedError

    def faults(self) -> Sequence[Fault]:
        """Everything missing or wrong."""
        raise NotImplementedError

    def store(self) -> None:
        """Have it kept."""
        raise NotImplementedError

    def rows(self, group: Group, learner_id: str | None) -> list[tuple[str, ...]]:
        """Rows of what was written of the learner, or of everybody."""
        raise NotImplementedError

    def keep(self) -> None:
        """Keep what the form says, or show what is missing."""
        faults = list(self.faults())
        if self.learner.value is None:
            faults.insert(0, Fault("form", 0, "learner_id", CHOOSE_LEARNER))
        self.form.show_faults(faults)
        if faults:
            self.told.warn(f"Not kept yet: {len(faults)} things are missing or wrong.")
            return
        self.keep_button.setEnabled(False)
        self.store()

    def on_kept(self, _: object) -> None:
        """It is kept."""
        self.keep_button.setEnabled(True)
        self.form.clear()
        self.told.tell(KEPT)
        self._door.people_changed.emit()

    def on_refused(self, error: TrainerError) -> None:
        """It is not kept; the form stays as it is."""
        self.keep_button.setEnabled(True)
        self.told.trouble(error)

    def _on_learner(self, _: int) -> None:
        if self.group is not None:
            chosen = self.learner.value
            self.table.setColumnHidden(0, chosen is not None)  # it would say the same in every row
            self.table.show_rows(self.rows(self.group, chosen))
