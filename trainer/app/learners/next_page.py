"""What to do next: the weakest skill, what is due, sets of cases in mixed order."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGroupBox, QHBoxLayout, QLabel, QSpinBox, QVBoxLayout, QWidget

from trainer.app.learners.parts import ReadTable, Told, button, set_name, words
from trainer.engine.learning.next_case import TASK_TEXT
from trainer.engine.learning.practice import PracticeCase, exam_set, practice_set
from trainer.engine.wording import sentence_start
from trainer.errors import TrainerError

if TYPE_CHECKING:
    from trainer.services.learning.view import LearnerView, Shelf

USUAL_SIZE, LARGEST = 6, 24
EXAM = "Exam set: whole appointments, no help, at most eight minutes each."
MIXED = "Mixed order: no two neighbours of one kind where that can be avoided."


class CaseSet:
    """Cases chosen together, and since when."""

    def __init__(self, cases: Sequence[PracticeCase], made_at: datetime, about: str) -> None:
        self.cases, self.made_at, self.about = tuple(cases), made_at, about


class NextPage(QWidget):
    """Suggestion, what is due, and a set.

    Signals
    -------
    case_asked : str, bool
        A case is to be opened, whole or for its placing only.
    set_made : CaseSet
        A set was drawn; it holds until the next one.
    """

    case_asked = Signal(str, bool)
    set_made = Signal(object)

    def __init__(self, now: Callable[[], datetime]) -> None:
        super().__init__()
        self._now = now
        self._shelf: Shelf | None = None
        self._view: LearnerView | None = None
        self.drawn: CaseSet | None = None
        self.standing = words("", "card")
        self.case = words("", "caseTitle")
        self.reason = words()
        self.whole = button("Whole appointment", self._on_whole)
        self.placing = button("Practise placing", self._on_placing)
        self.due = ReadTable("What is due", ("Kind of target", "When and why"), wide=1)
        self.upkeep = words("", "quiet")
        self.due_button = button("Open the case that is due", self._on_due)
        self.set_size = QSpinBox()
        self.set_size.setRange(2, LARGEST)
        self.set_size.setValue(USUAL_SIZE)
        set_name(self.set_size, "Cases in a set")
        self.make_set = button("Draw a mixed set", self._on_mixed)
        self.make_exam = button("Draw an exam set", self._on_exam)
        self.told = Told()
        self.about_set = words("", "quiet")
        self.cases = ReadTable("The set", ("", "Case", "Kind of target", "Level"), wide=1)
        self.open_set = button("Open the marked case", self._on_set)
        column = QVBoxLayout(self)
        column.addWidget(self.standing)
        row = QHBoxLayout()
        row.addWidget(self._suggestion(), 1)
        row.addWidget(self._due(), 1)
        column.addLayout(row, 1)
        column.addWidget(self._set(), 1)

    def _suggestion(self) -> QGroupBox:
        box = QGroupBox("Next case")
        column = QVBoxLayout(box)
        row = QHBoxLayout()
        row.addWidget(self.whole)
        row.addWidget(self.placing)
        row.addStretch(1)
        column.addWidget(self.case)
        column.addWidget(self.reason)
        column.addStretch(1)
        column.addLayout(row)
        return box

    def _due(self) -> QGroupBox:
        box = QGroupBox("Due again")
        column = QVBoxLayout(box)
        column.addWidget(self.due, 1)
        column.addWidget(self.upkeep)
        row = QHBoxLayout()
        row.addWidget(self.due_button)
        row.addStretch(1)
        column.addLayout(row)
        return box

    def _set(self) -> QGroupBox:
        box = QGroupBox("Set of cases")
        column = QVBoxLayout(box)
        row = QHBoxLayout()
        row.addWidget(QLabel("Cases"))
        for each in (self.set_size, self.make_set, self.make_exam):
            row.addWidget(each)
        row.addStretch(1)
        row.addWidget(self.open_set)
        column.addLayout(row)
        column.addWidget(self.about_set)
        column.addWidget(self.told)
        column.addWidget(self.cases, 1)
        return box

    def show_view(self, view: LearnerView, shelf: Shelf) -> None:
        """Show what the learner's attempts say."""
        self._view, self._shelf = view, shelf
        report = view.report
        self.standing.setText(report.progress.sentence)
        self.case.setText(shelf.title(report.next.case.id))
        self.reason.setText(report.next.reason)
        rows = [(sentence_start(TASK_TEXT[f.task]), f.sentence) for f in report.families]
        self.due.show_rows(rows, [f.case.id for f in report.families])
        self.upkeep.setText(report.upkeep.sentence)
        self.due_button.setEnabled(bool(rows))
        self.show_set(self.drawn)

    def show_set(self, drawn: CaseSet | None) -> None:
        """Show a set; cases that were done since it was drawn have a tick."""
        self.drawn = drawn
        self.open_set.setEnabled(drawn is not None)
        if drawn is None or self._shelf is None or self._view is None:
            self.about_set.setText(MIXED)
            return
        since = {a.case_id for a in self._view.attempts if a.finished_at >= drawn.made_at}
        rows = [
            (
                "✓ done" if c.id in since else str(number),
                self._shelf.title(c.id),
                TASK_TEXT[c.task],
                str(c.level),
            )
            for number, c in enumerate(drawn.cases, 1)
        ]
        self.about_set.setText(drawn.about)
        self.cases.show_rows(rows, [c.id for c in drawn.cases])
        first = next((n for n, c in enumerate(drawn.cases) if c.id not in since), 0)
        self.cases.setCurrentCell(first, 0)

    def _on_mixed(self) -> None:
        if self._shelf is not None:
            chosen = practice_set(self._shelf.cases, self.set_size.value(), _seed())
            self._drawn(chosen, MIXED)

    def _on_exam(self) -> None:
        if self._shelf is None:
            return
        try:
            chosen = exam_set(self._shelf.cases, _seed())
        except TrainerError as error:
            self.told.trouble(error)
            return
        self._drawn(chosen, EXAM)

    def _drawn(self, chosen: Sequence[PracticeCase], about: str) -> None:
        drawn = CaseSet(chosen, self._now(), about)
        self.show_set(drawn)
        self.set_made.emit(drawn)
        self.cases.setFocus()

    def _on_whole(self) -> None:
        if self._view is not None:
            self.case_asked.emit(self._view.report.next.case.id, True)

    def _on_placing(self) -> None:
        if self._view is not None:
            self.case_asked.emit(self._view.report.next.case.id, False)

    def _on_due(self) -> None:
        if self.due.marked():
            self.case_asked.emit(self.due.marked(), True)

    def _on_set(self) -> None:
        if self.cases.marked():
            self.case_asked.emit(self.cases.marked(), True)


def _seed() -> int:
    return random.SystemRandom().randrange(2**31)
