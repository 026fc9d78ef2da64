"""A text in two languages side by side; one that is missing is told."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QGroupBox, QLabel

from trainer.app.desk.entries import LongEntry
from trainer.app.desk.fault_label import FaultLabel
from trainer.app.desk.file_controller import FileController
from trainer.services.drafts.draft import Checked
from trainer.services.drafts.fields import Field, FieldKind
from trainer.services.yaml_text import KeyPath

LANGUAGES = {"en": "English", "de": "German"}
LINES_OF_KEY = {"title": 2, "request": 6}
MOST_LINES = 8


class TextsPart(QGroupBox):
    """One text by language. Other languages that the file holds are kept, and named."""

    def __init__(self, desk: FileController, field: Field, where: KeyPath) -> None:
        super().__init__(field.label)
        self.desk, self.field, self.where = desk, field, where
        grid = QGridLayout(self)
        grid.setContentsMargins(8, 4, 8, 6)
        grid.setVerticalSpacing(1)
        self.entries: dict[str, LongEntry] = {}
        self.notes: dict[str, FaultLabel] = {}
        self.heads: dict[str, QLabel] = {}
        for column, (code, words) in enumerate(LANGUAGES.items()):
            must = code == "en"
            text = Field((*where, code), FieldKind.LONG_TEXT, words, must, highest=2000)
            entry = LongEntry(text, LINES_OF_KEY.get(field.key, MOST_LINES))
            entry.setAccessibleName(f"{field.label}, {words}")
            entry.setToolTip(f"{field.label} in {words}, up to 2000 characters")
            entry.edited.connect(self._on_edited)
            head = QLabel(words)
            head.setBuddy(entry)
            note = FaultLabel()
            grid.addWidget(head, 0, column)
            grid.addWidget(entry, 1, column)
            grid.addWidget(note, 2, column)
            grid.setColumnStretch(column, 1)
            self.entries[code], self.notes[code], self.heads[code] = entry, note, head
        self.fault = FaultLabel()
        self.others = QLabel()
        self.others.setObjectName("quiet")
        self.others.setWordWrap(True)
        grid.addWidget(self.others, 3, 0, 1, 2)
        grid.addWidget(self.fault, 4, 0, 1, 2)

    def show_draft(self) -> None:
        """Show the text in each language."""
        value = self.desk.value(self.where)
        texts = value if isinstance(value, dict) else {}
        for code, entry in self.entries.items():
            entry.show_value(texts.get(code))
            missing = "" if str(texts.get(code) or "").strip() else " – missing"
            self.heads[code].setText(f"{LANGUAGES[code]}{missing}")
        others = [code for code in texts if code not in LANGUAGES]
        self.others.setText(f"Also in: {', '.join(others)} (in the file)")
        self.others.setVisible(bool(others))

    def show_faults(self, result: Checked) -> None:
        """Show the faults below each language."""
        for code, note in self.notes.items():
            note.show_faults(result.within((*self.where, code)))
        here = [(*self.where, code) for code in LANGUAGES]
        told = [f for place in here for f in result.within(place)]
        self.fault.show_faults([f for f in result.within(self.where) if f not in told])

    def focus_at(self, where: KeyPath) -> bool:
        """Take the focus for one of the languages."""
        if where[: len(self.where)] != self.where:
            return False
        code = str(where[len(self.where)]) if len(where) > len(self.where) else "en"
        self.entries.get(code, self.entries["en"]).setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _on_edited(self, value: object) -> None:
        code = next(c for c, entry in self.entries.items() if entry is self.sender())
        self.desk.set((*self.where, code), value)
