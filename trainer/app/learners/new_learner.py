"""A new profile: pseudonym, group, PIN, and what is kept of it and why."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.parts import Told, button, pin_entry, set_name, words
from trainer.errors import TrainerError
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.services.records.store import Records

KEPT = (
    "Kept: pseudonym, group, your finished attempts with their logs and points, and what a "
    "supervisor writes of you. Why: so that you and your instructor see what to practise next. "
    "Where: {}. Who sees it: you, and instructors of your group; the PIN keeps others at this "
    "screen out, it does not lock the files. How long: the local rules say {} months; nobody is "
    "erased by itself, a list reminds the instructor. You can take out or erase all of it at any "
    "time. Nothing is sent anywhere. Never enter a patient."
)
DIFFER = "The two PINs differ. Type them again."
FIRST = (
    "An instructor sees the group's results. The first instructor of a group needs nobody; the "
    "next ones are added by one who is signed in."
)


def suggestions(records: Records) -> tuple[str, tuple[str, ...]]:
    """Where the records lie, and the pseudonyms that are taken."""
    return str(records.place), tuple(each.pseudonym for each in records.learners.all())


class NewLearnerDialog(QDialog):
    """Asks for a new profile; ``by`` is the instructor who is signed in, if one is.

    Signals
    -------
    added : Learner
        The profile is kept.
    """

    added = Signal(object)

    def __init__(
        self,
        jobs: RecordJobs,
        now: Callable[[], datetime],
        months: int,
        parent: QWidget,
        by: Learner | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("New learner")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._jobs, self._now, self._months, self._by = jobs, now, months, by
        self._taken: tuple[str, ...] = ()
        self.pseudonym, self.name, self.group = QLineEdit(), QLineEdit(), QLineEdit()
        self.pin, self.again = pin_entry("PIN"), pin_entry("The same PIN again")
        self.another = button("Another", self.suggest, "Suggest another made-up name")
        self.instructor = QCheckBox("This is an &instructor")
        self.instructor.setToolTip(FIRST)
        set_name(self.pseudonym, "Pseudonym", "Shown everywhere; a made-up name is suggested")
        set_name(self.name, "Own name, optional", "Better left out")
        set_name(self.group, "Group", "Course or practice; its instructor sees your results")
        if by is not None:
            self.group.setText(by.group)
        row = QHBoxLayout()
        row.addWidget(self.pseudonym, 1)
        row.addWidget(self.another)
        form = QFormLayout()
        label = QLabel("P&seudonym")
        label.setBuddy(self.pseudonym)
        form.addRow(label, row)
        form.addRow("&Name (optional)", self.name)
        form.addRow("&Group", self.group)
        form.addRow("&PIN, 4 to 12 digits", self.pin)
        form.addRow("The same &again", self.again)
        form.addRow("", self.instructor)
        self.told = Told()
        self.kept = words(KEPT.format("…", months), "quiet")
        self.add_button = button("Make the profile", self.add)
        self.add_button.setDefault(True)
        self.cancel_button = button("Cancel", self.reject)
        ends = QHBoxLayout()
        ends.addStretch(1)
        ends.addWidget(self.cancel_button)
        ends.addWidget(self.add_button)
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(words(FIRST, "quiet"))
        column.addWidget(self.kept)
        column.addWidget(self.told)
        column.addLayout(ends)
        self.setMinimumWidth(self.fontMetrics().averageCharWidth() * 86)
        self._jobs.ask(self, suggestions, self._on_suggestions, self.told.trouble)

    def suggest(self) -> None:
        """Suggest a made-up name that nobody has."""
        from trainer.services.records.learners import new_pseudonym

        taken = (*self._taken, self.pseudonym.text())
        self.pseudonym.setText(new_pseudonym(taken, random.SystemRandom()))

    def add(self) -> None:
        """Keep the profile, if all is well with it."""
        if self.pin.text() != self.again.text():
            self.told.warn(DIFFER)
            self.pin.clear()
            self.again.clear()
            self.pin.setFocus()
            return
        self.add_button.setEnabled(False)
        self._jobs.ask(
            self,
            partial(
                _added,
                pseudonym=self.pseudonym.text(),
                now=self._now(),
                name=self.name.text(),
                group=self.group.text(),
                is_instructor=self.instructor.isChecked(),
                pin=self.pin.text(),
                by=self._by,
            ),
            self._on_added,
            self._on_refused,
        )

    def _on_suggestions(self, found: tuple[str, tuple[str, ...]]) -> None:
        place, self._taken = found
        self.kept.setText(KEPT.format(place, self._months))
        if not self.pseudonym.text():
            self.suggest()

    def _on_added(self, learner: Learner) -> None:
        self.accept()
        self.added.emit(learner)

    def _on_refused(self, error: TrainerError) -> None:
        self.add_button.setEnabled(True)
        self.told.trouble(error)


def _added(records: Records, pseudonym: str, **values: object) -> Learner:
    return records.learners.add(pseudonym, **values)  # type: ignore[arg-type]
