"""The people of the group by pseudonym: what is kept, taken out, erased; PINs; how long kept."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QFileDialog,
    QGridLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from trainer.app.instructor.fields import Choice
from trainer.app.learners.parts import ReadTable, button, plain_text, set_name, words
from trainer.errors import TrainerError
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.services.learning.group import Group
    from trainer.services.records.store import Records

ABOUT = "In the order of their pseudonyms; no order of merit."
NAME_TIP = "Printed on the page and kept nowhere; without one the pseudonym is printed"
PAPERS = {"a4": "A4", "letter": "Letter"}
SEPARATORS = {
    ",": "separated by comma",
    ";": "separated by semicolon (where the comma is the decimal sign)",
}
WORKING = "Working …"
NOTHING_YET = "What is saved, proved or listed is told here."


class PeoplePage(QWidget):
    """What an instructor does for one person or for all."""

    def __init__(self, door: LearnerDoor, instructor: Learner) -> None:
        super().__init__()
        self._door, self._instructor = door, instructor
        self._group: Group | None = None
        self.table = ReadTable(
            "People of the group", ("Pseudonym", "Attempts", "Supervised", "Observed", "Since")
        )
        self.name = QLineEdit()
        set_name(self.name, "Name on the printed page", NAME_TIP)
        self.name.setPlaceholderText("name on the page (optional, not kept)")
        self.paper = Choice(PAPERS, "paper …")
        self.paper.choose("a4")
        self.paper.setAccessibleName("Paper")
        self.separator = Choice(SEPARATORS, "separator …")
        self.separator.choose(",")
        self.separator.setAccessibleName("Separator of the tables")
        self.months = QSpinBox()
        self.months.setRange(1, 1200)
        self.months.setValue(door.keep_months)
        set_name(self.months, "Months that records are kept", "As the local rules say")
        self.text = plain_text("What was found")
        self.text.setPlaceholderText(NOTHING_YET)
        self.one: dict[str, QWidget] = {}
        right = QVBoxLayout()
        right.addWidget(self._for_one())
        right.addWidget(self._for_all())
        right.addWidget(self.text, 1)
        left = QVBoxLayout()
        left.addWidget(words(ABOUT, "quiet"))
        left.addWidget(self.table, 1)
        left.addWidget(button("New learner…", door.ask_new))
        row = QHBoxLayout(self)
        row.addLayout(left, 1)
        row.addLayout(right, 1)

    def _for_one(self) -> QGroupBox:
        box = QGroupBox("The marked person")
        grid = QGridLayout(box)
        for number, (key, text, on) in enumerate(
            (
                ("progress", "See progress", self._on_progress),
                ("pin", "New PIN…", self._on_pin),
                ("export", "Export the record…", self._on_export),
                ("erase", "Erase the record…", self._on_erase),
            )
        ):
            self.one[key] = button(text, on)
            grid.addWidget(self.one[key], number // 2, number % 2)
        self.one["page"] = button("Printed page…", self._on_page, "PDF, one page")
        row = QHBoxLayout()
        row.addWidget(self.name, 1)
        row.addWidget(self.paper)
        row.addWidget(self.one["page"])
        grid.addLayout(row, 2, 0, 1, 2)
        return box

    def _for_all(self) -> QGroupBox:
        box = QGroupBox("The whole group")
        grid = QGridLayout(box)
        row = QHBoxLayout()
        row.addWidget(self.separator, 1)
        row.addWidget(button("Tables (CSV)…", self._on_tables, "Into a new folder"))
        grid.addLayout(row, 0, 0, 1, 2)
        grid.addWidget(
            button("Statements (xAPI)…", self._on_statements, "JSON Lines, simulation only"), 1, 0
        )
        grid.addWidget(
            button("Verify the records", self._on_verify, "Proves chains, computes scores again"),
            1,
            1,
        )
        row = QHBoxLayout()
        row.addWidget(QLabel("Kept for more than"))
        row.addWidget(self.months)
        row.addWidget(QLabel("months:"))
        row.addWidget(button("List them", self._on_overdue))
        row.addStretch(1)
        grid.addLayout(row, 2, 0, 1, 2)
        return box

    def show_group(self, group: Group) -> None:
        """Show who is in the group."""
        self._group = group
        rows = [
            (
                p.pseudonym,
                str(sum(a.learner_id == p.id for a in group.attempts)),
                str(sum(c.learner_id == p.id for c in group.supervised)),
                str(sum(o.learner_id == p.id for o in group.observations)),
                f"{p.made_at:%Y-%m-%d}" if p.made_at else "",
            )
            for p in group.people
        ]
        self.table.show_rows(rows, [p.id for p in group.people])
        for each in self.one.values():
            each.setEnabled(bool(rows))

    @property
    def marked(self) -> Learner | None:
        """The person that is marked."""
        people = () if self._group is None else self._group.people
        return next((p for p in people if p.id == self.table.marked()), None)

    def _with_marked(self, on: Callable[[Learner], object]) -> None:
        if self.marked is not None:
            on(self.marked)

    def _on_progress(self) -> None:
        self._with_marked(self._door.show_progress_of)

    def _on_pin(self) -> None:
        self._with_marked(self._door.papers.change_pin)

    def _on_export(self) -> None:
        self._with_marked(self._door.papers.export)

    def _on_erase(self) -> None:
        self._with_marked(self._door.papers.erase)

    def _on_page(self) -> None:
        learner = self.marked
        if learner is None:
            return
        name, _ = QFileDialog.getSaveFileName(self, "Printed page", "record.pdf", "PDF (*.pdf)")
        if name:
            path = Path(name if name.lower().endswith(".pdf") else f"{name}.pdf")
            day = self._door.time().date()
            paper = self.paper.value or "a4"
            work = partial(_page, learner, path, day, self.name.text().strip(), paper)
            self._ask(work, self._on_saved)

    def _on_tables(self) -> None:
        name = QFileDialog.getExistingDirectory(self, "Empty folder for the tables")
        if name and self._group is not None:
            separator = self.separator.value or ","
            work = partial(_tables, self._group.people, Path(name), separator)
            self._ask(work, self._on_saved)

    def _on_statements(self) -> None:
        title, kind = "Statements", "JSON Lines (*.jsonl)"
        name, _ = QFileDialog.getSaveFileName(self, title, "attempts.jsonl", kind)
        if name and self._group is not None:
            path = Path(name if name.lower().endswith(".jsonl") else f"{name}.jsonl")
            self._ask(partial(_statements, self._group.people, path), self._on_saved)

    def _on_verify(self) -> None:
        self._ask(self._verify, self.text.setPlainText)

    def _verify(self, records: Records) -> str:
        from trainer.services.records.verify import verify_records

        return verify_records(records, self._door.keeping.scorer()).text()

    def _on_overdue(self) -> None:
        people = () if self._group is None else self._group.people
        work = partial(_overdue, people, self.months.value(), self._door.time())
        self._ask(work, self.text.setPlainText)

    def _ask(self, work: Callable[[Records], object], told: Callable[[str], object]) -> None:
        self.text.setPlainText(WORKING)
        self._door.jobs.ask(self, work, told, self._on_trouble)

    def _on_saved(self, where: object) -> None:
        self.text.setPlainText(f"Saved {where}")

    def _on_trouble(self, error: TrainerError) -> None:
        self.text.clear()
        self._door.trouble(error)


def _page(
    learner: Learner, path: Path, day: object, name: str, paper: str, records: Records
) -> Path:
    from trainer.services.exports.from_records import save_page
    from trainer.services.exports.pdf_record import Paper

    return save_page(records, learner, path, day, name, Paper(paper))  # type: ignore[arg-type]


def _tables(people: tuple[Learner, ...], folder: Path, separator: str, records: Records) -> Path:
    from trainer.services.exports.csv_out import Separator
    from trainer.services.exports.from_records import save_tables

    save_tables(records, people, folder, Separator(separator))
    return folder


def _statements(people: tuple[Learner, ...], path: Path, records: Records) -> Path:
    from trainer.services.exports.from_records import save_statements

    return save_statements(records, people, path)


def _overdue(people: tuple[Learner, ...], months: int, now: object, records: Records) -> str:
    from trainer.services.learning.group import overdue_text

    return overdue_text(records, people, months, now)  # type: ignore[arg-type]
