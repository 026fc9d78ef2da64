"""Small parts that the learners' and instructors' pages share."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import NotValid, TrainerError

LEAST_TARGET_PX = 26
GAP_PX = 6  # beside the handle between two parts
ID_ROLE = Qt.ItemDataRole.UserRole


def words(text: str = "", name: str = "") -> QLabel:
    """A text that breaks its lines; ``name`` gives it a look."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setObjectName(name)
    return label


class Told(QWidget):
    """A sentence on what just happened; hidden while there is none. Trouble stands out."""

    def __init__(self) -> None:
        super().__init__()
        self._calm, self._trouble = words("", "card"), words("", "notice")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._calm)
        column.addWidget(self._trouble)
        self._show("", "")

    def text(self) -> str:
        """The sentence that is shown; empty without one."""
        return self._calm.text() or self._trouble.text()

    def tell(self, sentence: str) -> None:
        """Show the sentence, or nothing for an empty one."""
        self._show(sentence, "")

    def warn(self, sentence: str) -> None:
        """Show a sentence on what is wrong, or nothing for an empty one."""
        self._show("", sentence)

    def trouble(self, error: TrainerError) -> None:
        """Show what went wrong."""
        self.warn(said(error))

    def _show(self, calm: str, trouble: str) -> None:
        for label, text in ((self._calm, calm), (self._trouble, trouble)):
            label.setText(text)
            label.setVisible(bool(text))
        self.setVisible(bool(calm or trouble))


def said(error: TrainerError) -> str:
    """What an error says to a person."""
    if isinstance(error, NotValid):
        return " ".join(f"{f.key}: {f.text}." for f in error.faults)
    return str(error.args[0] if error.args else error)


def button(text: str, on: Callable[[], object], tip: str = "") -> QPushButton:
    """A button; Enter and Space press it."""
    made = QPushButton(text)
    made.setAutoDefault(True)
    made.setMinimumHeight(LEAST_TARGET_PX)
    made.setToolTip(tip)
    made.clicked.connect(on)
    return made


def pin_entry(name: str) -> QLineEdit:
    """An entry that shows no digit."""
    made = QLineEdit()
    made.setEchoMode(QLineEdit.EchoMode.Password)
    made.setMaxLength(12)
    made.setInputMethodHints(Qt.InputMethodHint.ImhDigitsOnly | Qt.InputMethodHint.ImhSensitiveData)
    made.setAccessibleName(name)
    return made


def plain_text(name: str, fixed: bool = False) -> QPlainTextEdit:
    """A text to be read, that Tab leaves."""
    made = QPlainTextEdit()
    made.setReadOnly(True)
    made.setTabChangesFocus(True)
    made.setAccessibleName(name)
    made.setTextInteractionFlags(
        Qt.TextInteractionFlag.TextSelectableByMouse
        | Qt.TextInteractionFlag.TextSelectableByKeyboard
    )
    if fixed:
        made.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
    return made


class ReadTable(QTableWidget):
    """A table to read, one row marked at a time; Tab leaves it. Each row may have an id."""

    def __init__(self, name: str, columns: Sequence[str], wide: int = 0) -> None:
        super().__init__(0, len(columns))
        self.setAccessibleName(name)
        self.setHorizontalHeaderLabels(list(columns))
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(wide, QHeaderView.ResizeMode.Stretch)
        header.setHighlightSections(False)

    def show_rows(self, rows: Sequence[Sequence[str]], ids: Sequence[str] = ()) -> None:
        """Show these rows, the first one marked."""
        self.setRowCount(len(rows))
        for number, row in enumerate(rows):
            for column, text in enumerate(row):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                if ids:
                    item.setData(ID_ROLE, ids[number])
                self.setItem(number, column, item)
        if rows:
            self.setCurrentCell(0, 0)

    def marked(self) -> str:
        """The id of the marked row; empty without one."""
        item = self.item(self.currentRow(), 0)
        return "" if item is None else str(item.data(ID_ROLE) or "")


def set_name(widget: QWidget, name: str, tip: str = "") -> None:
    """Give a widget the name that is read aloud, and a tip."""
    widget.setAccessibleName(name)
    widget.setToolTip(tip)
