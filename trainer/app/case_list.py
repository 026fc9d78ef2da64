"""Choosing a case."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import TrainerError
from trainer.models.scenario import Case

PATH_ROLE = Qt.ItemDataRole.UserRole


class CaseList(QDialog):
    """The shipped cases by title, with the request of the one that is marked.

    ``chosen`` is the file to open after the dialog was accepted, and ``whole`` whether as a whole
    appointment; else its placing is practised.
    """

    def __init__(
        self, cases: dict[Path, Case | TrainerError], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Open a case")
        self.chosen: Path | None = None
        self.whole = False
        self._cases = cases
        column = QVBoxLayout(self)
        row = QHBoxLayout()
        column.addLayout(row, 1)
        self.list = QListWidget()
        self.list.setAccessibleName("Cases")
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.text = QLabel()
        self.text.setWordWrap(True)
        self.text.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.text.setTextFormat(Qt.TextFormat.PlainText)
        self.text.setMargin(6)
        row.addWidget(self.list, 1)
        row.addWidget(self.text, 1)
        readable = {p: c for p, c in cases.items() if isinstance(c, Case)}
        broken = {p: e for p, e in cases.items() if not isinstance(e, Case)}
        for path, case in sorted(readable.items(), key=lambda pc: (pc[1].level, pc[0].name)):
            self._add(f"Level {case.level}: {case.text(case.title)}", path)
        for path in broken:
            self._add(f"! {path.name} (has faults)", path)
        buttons = QDialogButtonBox()
        self.open_button = buttons.addButton(
            "Practise placing", QDialogButtonBox.ButtonRole.AcceptRole
        )
        self.whole_button = buttons.addButton(
            "Whole appointment", QDialogButtonBox.ButtonRole.ActionRole
        )
        self.whole_button.clicked.connect(self._take_whole)
        self.file_button = buttons.addButton("Open a file…", QDialogButtonBox.ButtonRole.ActionRole)
        self.cancel_button = buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        buttons.accepted.connect(self._take)
        buttons.rejected.connect(self.reject)
        self.file_button.clicked.connect(self._ask_file)
        column.addWidget(buttons)
        self.list.currentRowChanged.connect(self._tell)
        self.list.itemActivated.connect(self._take)
        self.list.setCurrentRow(0)
        wide = self.fontMetrics().averageCharWidth()
        self.resize(wide * 110, self.fontMetrics().height() * 22)

    def _add(self, words: str, path: Path) -> None:
        item = QListWidgetItem(words)
        item.setData(PATH_ROLE, str(path))
        self.list.addItem(item)

    def _marked(self) -> Path | None:
        item = self.list.currentItem()
        return None if item is None else Path(item.data(PATH_ROLE))

    def _tell(self, _: int) -> None:
        path = self._marked()
        found = None if path is None else self._cases[path]
        if isinstance(found, Case):
            self.text.setText(
                f"{found.subject.display_name}, {found.subject.person.age_years}\n\n"
                f"Request: {found.text(found.request)}\n\nAim: {found.text(found.aim)}"
            )
        elif found is not None:
            self.text.setText(f"This file cannot be opened:\n\n{found}")
        self.open_button.setEnabled(isinstance(found, Case))
        visits = isinstance(found, Case) and found.visit is not None
        self.whole_button.setEnabled(visits)
        self.whole_button.setToolTip(
            "From the request card to the record"
            if visits
            else "This case is an exercise in placing only: its file tells of no visit"
        )

    def _take_whole(self) -> None:
        self.whole = True
        self._take()

    def _take(self) -> None:
        path = self._marked()
        if path is not None and isinstance(self._cases[path], Case):
            self.chosen = path
            self.accept()

    def _ask_file(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "Open a case file", "", "Cases (*.yaml *.yml)")
        if name:
            self.chosen = Path(name)
            self.accept()
