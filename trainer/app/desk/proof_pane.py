"""Whether the draft can be solved, and how hard it is: computed in the background, told in text."""

from __future__ import annotations

import logging
from pathlib import Path
from threading import Event as Flag

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

log = logging.getLogger("trainer.app")

ASKED = "F7 proves the case: can it be solved, does the start fail, how hard is it?"
OLDER = "The case was changed since this was proved."


class ProofPane(QWidget):
    """Text of the proof of the draft."""

    def __init__(self) -> None:
        super().__init__()
        self.state = QLabel(ASKED)
        self.state.setWordWrap(True)
        self.bar = QProgressBar()
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setMaximumHeight(14)
        self.cancel = QPushButton("Cancel")
        self.cancel.setMinimumHeight(24)
        self.cancel.clicked.connect(self._on_cancel)
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setTabChangesFocus(True)
        self.text.setAccessibleName("Proof of the case")
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        row = QHBoxLayout()
        row.addWidget(self.bar, 1)
        row.addWidget(self.cancel)
        column = QVBoxLayout(self)
        column.addWidget(self.state)
        column.addLayout(row)
        column.addWidget(self.text, 1)
        self._flag = Flag()
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._answers = _Answers(self)
        self._answers.found.connect(self._on_found)
        self._working(False)

    def prove(self, path: Path) -> None:
        """Prove the case of that file; what was asked before is called off."""
        self._flag.set()
        self._flag = Flag()
        self._working(True)
        self.state.setText("Proving the case …")
        self.text.clear()
        self._pool.start(_Prove(self._answers, path, self._flag))

    def note_change(self) -> None:
        """Say that the case is no longer the one that was proved."""
        if self.text.toPlainText():
            self.state.setText(OLDER)

    def shut(self) -> None:
        """Call the work off and wait for it."""
        self._flag.set()
        self._pool.waitForDone()

    def _working(self, on: bool) -> None:
        self.bar.setVisible(on)
        self.cancel.setVisible(on)

    def _on_cancel(self) -> None:
        self._flag.set()
        self._working(False)
        self.state.setText(f"The proof was cancelled. {ASKED}")

    def _on_found(self, flag: Flag, text: str) -> None:
        if flag is not self._flag or flag.is_set():
            return
        self._working(False)
        self.state.setText("Proof of the draft as it was when F7 was pressed:")
        self.text.setPlainText(text)


class _Answers(QObject):
    found = Signal(object, str)


class _Prove(QRunnable):
    def __init__(self, answers: _Answers, path: Path, flag: Flag) -> None:
        super().__init__()
        self._answers, self._path, self._flag = answers, path, flag

    def run(self) -> None:
        from trainer.services.proof import CalledOff, ProofOrder, prove_named
        from trainer.services.proof_report import proof_text

        try:
            found = prove_named(str(self._path), ProofOrder(), self._go_on)
        except CalledOff:
            return
        self._answers.found.emit(self._flag, proof_text(found))

    def _go_on(self) -> None:
        from trainer.services.proof import CalledOff

        if self._flag.is_set():
            raise CalledOff("The proof was called off.")
