"""The instructor's window: simulation and supervised work on pages apart, never one number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QTabWidget, QVBoxLayout

from trainer.app.instructor.group_page import GroupPage
from trainer.app.instructor.observed_page import ObservedPage
from trainer.app.instructor.panel_page import PanelPage
from trainer.app.instructor.people_page import PeoplePage
from trainer.app.instructor.rejects_page import RejectsPage
from trainer.app.instructor.supervised_cases_page import SupervisedCasesPage
from trainer.app.learners.parts import Told, button, words
from trainer.app.learners.progress_window import READING
from trainer.services.cautions import SHORT_CAUTION

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.models.records import Learner
    from trainer.services.learning.group import Group
    from trainer.services.learning.view import Shelf
    from trainer.services.records.store import Records


class InstructorWindow(QDialog):
    """Everything of the instructor's own group."""

    def __init__(self, door: LearnerDoor, instructor: Learner) -> None:
        super().__init__(door.window)
        self.setWindowTitle("Instructor")
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._door, self.instructor = door, instructor
        self.told = Told()
        self.group = GroupPage()
        self.simulated = RejectsPage(door, self.told, supervised=False)
        self.panel = PanelPage(door, instructor)
        self.supervised = SupervisedCasesPage(door, instructor)
        self.observed = ObservedPage(door, instructor)
        self.rejects = RejectsPage(door, self.told, supervised=True)
        self.people = PeoplePage(door, instructor)
        self.tabs = QTabWidget()
        for page, name, tip in (
            (self.people, "People", "Exports, PINs, how long records are kept"),
            (self.group, "Simulation: group", "Simulated attempts only"),
            (self.simulated, "Simulation: rejects", "Simulated attempts only"),
            (self.panel, "Simulation: pass marks", "Panels, agreement, reliability"),
            (self.supervised, "Supervised: log", "Real examinations only"),
            (self.observed, "Supervised: observations", "What supervisors watched"),
            (self.rejects, "Supervised: rejects", "Real examinations only"),
        ):
            self.tabs.setTabToolTip(self.tabs.addTab(page, name), tip)
        row = QHBoxLayout()
        row.addWidget(words(SHORT_CAUTION, "quiet"), 1)
        row.addWidget(button("Close", self.reject))
        column = QVBoxLayout(self)
        of = f"Group {instructor.group}" if instructor.group else "People without a group"
        column.addWidget(words(of, "caseTitle"))
        column.addWidget(self.told)
        column.addWidget(self.tabs, 1)
        column.addLayout(row)
        door.people_changed.connect(self.start)

    def start(self) -> None:
        """Read everything off the window's thread."""
        self.told.tell(READING)
        self._door.jobs.ask(self, self._read, self._on_read, self.told.trouble)

    def _read(self, records: Records) -> tuple[Group, Shelf]:
        from trainer.services.learning.group import group_of

        return group_of(records, self.instructor), self._door.keeping.shelf()

    def _on_read(self, found: tuple[Group, Shelf]) -> None:
        group, shelf = found
        if self.told.text() == READING:
            self.told.tell("")
        self.group.show_group(group, shelf)
        self.simulated.show_group(group)
        self.panel.show_group(group, shelf)
        self.supervised.show_group(group)
        self.observed.show_group(group)
        self.rejects.show_group(group)
        self.people.show_group(group)
