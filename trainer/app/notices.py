"""What is said about the program itself, and the calm way to say that something went wrong."""

from __future__ import annotations

import logging
import sys
from types import TracebackType

from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QDialogButtonBox,
    QLabel,
    QMainWindow,
    QMessageBox,
    QVBoxLayout,
    QWidget,
)

from trainer.services.cautions import CAUTIONS

log = logging.getLogger("trainer.app")

NAME = "CBCT positioning trainer"
SEEN = "cautions_read"
SAFE = "Your case and its setup are kept."


class CautionsDialog(QDialog):
    """What the program is, and what it must not be taken for."""

    def __init__(self, parent: QWidget | None = None, first_time: bool = False) -> None:
        super().__init__(parent)
        self.setWindowTitle("Before you start" if first_time else "About and cautions")
        column = QVBoxLayout(self)
        column.setSpacing(10)
        title = QLabel("Training only")
        title.setObjectName("caseTitle")
        column.addWidget(title)
        about = QLabel(
            "Practise placing a patient in a dental cone-beam CT unit, on a synthetic head and "
            "without radiation."
        )
        about.setWordWrap(True)
        column.addWidget(about)
        for caution in CAUTIONS:
            label = QLabel(f"• {caution}")
            label.setWordWrap(True)
            label.setTextInteractionFlags(
                Qt.TextInteractionFlag.TextSelectableByMouse
                | Qt.TextInteractionFlag.TextSelectableByKeyboard
            )
            column.addWidget(label)
        buttons = QDialogButtonBox()
        words = "I have read this" if first_time else "Close"
        self.button = buttons.addButton(words, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        column.addWidget(buttons)
        self.setMinimumWidth(self.fontMetrics().averageCharWidth() * 84)


def cautions_read(settings: QSettings) -> bool:
    """Whether the notice of the first start has been read."""
    return bool(settings.value(SEEN, False, bool))


def note_cautions_read(settings: QSettings) -> None:
    """Remember that it has been read."""
    settings.setValue(SEEN, True)


def trouble_box(
    title: str, what: str, parent: QWidget | None = None, more: str = ""
) -> QMessageBox:
    """A box that says what happened, what is safe and what to do; not shown yet."""
    box = QMessageBox(QMessageBox.Icon.Warning, title, what, parent=parent)
    box.setTextFormat(Qt.TextFormat.PlainText)
    if more:
        box.setInformativeText(more)
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    return box


def on_unforeseen(
    kind: type[BaseException], error: BaseException, trace: TracebackType | None
) -> None:
    """For `sys.excepthook`: log the trace, tell the person calmly, go on."""
    if issubclass(kind, KeyboardInterrupt):
        sys.__excepthook__(kind, error, trace)
        return
    log.error("unforeseen", exc_info=(kind, error, trace))
    windows = [w for w in QApplication.topLevelWidgets() if isinstance(w, QMainWindow)]
    windows.sort(key=QMainWindow.isVisible)
    if windows:
        box = trouble_box(
            "Something went wrong",
            "The program met an error that it did not foresee. " + SAFE,
            windows[-1],
            "Go on working; if it comes again, start the program anew. The log holds the details: "
            f"{kind.__name__}.",
        )
        box.open()
