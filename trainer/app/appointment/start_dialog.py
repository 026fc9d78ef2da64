"""Before an appointment: how much help, and whether to go on with one that was left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QDialog,
    QDialogButtonBox,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.clock import minutes
from trainer.app.appointment.help_level import HELP_SHORT, HELP_WORDS
from trainer.models.learning import HelpLevel
from trainer.models.scenario import Case


@dataclass(frozen=True, slots=True)
class Left:
    """An attempt that was not finished: its log, when it was left [s], its help level."""

    path: Path
    at_s: float
    helped: HelpLevel


class StartDialog(QDialog):
    """Asks how to begin. ``suggested``: the help that past attempts speak for, and why.

    ``helped`` and ``go_on_with`` say what was chosen after the dialog was accepted.
    """

    def __init__(
        self,
        case: Case,
        left: Sequence[Left] = (),
        suggested: tuple[HelpLevel, str] | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Whole appointment")
        self.go_on_with: Left | None = None
        self._left = left[0] if left else None
        column = QVBoxLayout(self)
        column.setSpacing(8)
        title = QLabel(case.text(case.title))
        title.setObjectName("caseTitle")
        title.setWordWrap(True)
        column.addWidget(title)
        about = QLabel(
            "From the request card to the record: you decide what to do, say and ask, and when. "
            "Nothing is forced, everything is written into a log of this attempt. All people are "
            "invented."
        )
        about.setWordWrap(True)
        column.addWidget(about)
        self.go_on = QLabel()
        self.go_on.setWordWrap(True)
        self.go_on.setVisible(self._left is not None)
        if self._left is not None:
            self.go_on.setText(
                f"You left an appointment of this case when its clock stood at "
                f"{minutes(self._left.at_s)}. "
                "You can go on with it; nothing of it is lost."
            )
        column.addWidget(self.go_on)
        column.addWidget(QLabel("Help in a new appointment:"))
        self.choices: dict[HelpLevel, QRadioButton] = {}
        group = QButtonGroup(self)
        for level, text in HELP_WORDS.items():
            button = QRadioButton(text)
            group.addButton(button)
            self.choices[level] = button
            column.addWidget(button)
        usual = HelpLevel.OPEN if case.level <= 1 else HelpLevel.LINES
        self.why = QLabel()
        self.why.setWordWrap(True)
        self.why.setObjectName("quiet")
        self.why.setVisible(suggested is not None)
        if suggested is not None:
            usual, why = suggested
            self.why.setText(f"Suggested for you: {HELP_SHORT[usual].lower()}. {why}")
        column.addWidget(self.why)
        self.choices[usual].setChecked(True)
        buttons = QDialogButtonBox()
        self.resume_button = None
        if self._left is not None:
            role = QDialogButtonBox.ButtonRole.ActionRole
            self.resume_button = buttons.addButton("Go on where you stopped", role)
            self.resume_button.clicked.connect(self._resume)
            self.resume_button.setDefault(True)
        self.begin_button = buttons.addButton(
            "Begin a new appointment", QDialogButtonBox.ButtonRole.AcceptRole
        )
        self.cancel_button = buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column.addWidget(buttons)
        self.setMinimumWidth(self.fontMetrics().averageCharWidth() * 70)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)

    @property
    def helped(self) -> HelpLevel:
        """The help level: that of the attempt gone on with, or the one chosen."""
        if self.go_on_with is not None:
            return self.go_on_with.helped
        return next(level for level, b in self.choices.items() if b.isChecked())

    def _resume(self) -> None:
        self.go_on_with = self._left
        self.accept()
