"""What is wrong with a field, in words beside it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy

from trainer.errors import Fault


class FaultLabel(QLabel):
    """Nothing, or a sentence with a sign before it."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("fault")
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self._refusal = ""
        self._faults = self._doubts = ""
        self._tell()

    def show_faults(self, faults: Sequence[Fault], doubts: Sequence[Fault] = ()) -> None:
        """Show these faults, and after them what is possible but uncommon."""
        self._faults = "\n".join(f"! {fault.text}" for fault in faults)
        self._doubts = "\n".join(f"? Possible, but look again: {d.text}" for d in doubts)
        self._tell()

    def refuse(self, sentence: str) -> None:
        """Say why what was typed was not taken, until the next value."""
        self._refusal = f"! {sentence}"
        self._tell()

    def clear_refusal(self) -> None:
        """Forget what was refused."""
        self._refusal = ""
        self._tell()

    def _tell(self) -> None:
        wrong = bool(self._refusal or self._faults)
        words = "\n".join(filter(None, (self._refusal, self._faults, self._doubts)))
        if self.property("wrong") != wrong:
            self.setProperty("wrong", wrong)
            self.style().unpolish(self)
            self.style().polish(self)
        self.setText(words)
        self.setVisible(bool(words))
