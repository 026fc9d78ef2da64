"""A learner's own papers: another PIN, everything kept in one file, everything erased."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QFileDialog, QMessageBox

from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.services.records.store import Records


class Papers(QObject):
    """Does this for who is signed in, or for a learner of the instructor's who is."""

    def __init__(self, door: LearnerDoor) -> None:
        super().__init__(door)

    @property
    def _door(self) -> LearnerDoor:
        return self.parent()  # type: ignore[return-value]

    def ask_pin(self) -> None:
        """Ask for another PIN of one's own."""
        if self._door.learner is not None:
            self.change_pin(self._door.learner)

    def change_pin(self, learner: Learner) -> None:
        """Ask for another PIN of that learner, given by the instructor if it is not one's own."""
        from trainer.app.learners.pin_dialog import PinDialog

        door = self._door
        assert door.learner is not None
        by = None if learner.id == door.learner.id else door.learner
        dialog = PinDialog(door.jobs, door.time, learner, door.front, by)
        dialog.changed.connect(self._on_pin)
        dialog.open()

    def _on_pin(self) -> None:
        self._door.tell("The new PIN holds.")

    def ask_export(self) -> None:
        """Ask where everything kept of the learner is to be saved."""
        if self._door.learner is not None:
            self.export(self._door.learner)

    def export(self, learner: Learner) -> None:
        """Ask for a file, and save everything kept of that learner in it."""
        door = self._door
        proposed = f"{learner.pseudonym.replace(' ', '-').lower()}.zip"
        title = f"Export the record of {learner.pseudonym}"
        name, _ = QFileDialog.getSaveFileName(door.front, title, proposed, "Archive (*.zip)")
        if name:
            path = Path(name if name.lower().endswith(".zip") else f"{name}.zip")
            door.jobs.ask(self, partial(_exported, learner, path), self._on_saved, door.trouble)

    def _on_saved(self, path: Path) -> None:
        self._door.tell(f"Saved {path}")

    def ask_erase(self) -> None:
        """Ask whether the learner's record is to be erased; who is erased is signed out."""
        if self._door.learner is not None:
            self.erase(self._door.learner)

    def erase(self, learner: Learner) -> None:
        """Ask whether that learner is to be erased."""
        from trainer.app.learners.erase_dialog import EraseDialog

        dialog = EraseDialog(self._door.jobs, learner, self._door.front)
        dialog.erased.connect(partial(self._on_erased, learner))
        dialog.open()

    def _on_erased(self, learner: Learner, told: str) -> None:
        door = self._door
        if door.learner is not None and door.learner.id == learner.id:
            door.sign_out()
        door.people_changed.emit()
        box = QMessageBox(QMessageBox.Icon.Information, "Erased", told, parent=door.front)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.open()


def _exported(learner: Learner, path: Path, records: Records) -> Path:
    from trainer.services.records.export import export_learner

    return export_learner(records, learner.id, path)
