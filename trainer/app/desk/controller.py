"""Between the desk's widgets and the draft: changes go in, the draft and its faults come out."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from trainer.errors import NotAllowedNow, NotFound, TrainerError
from trainer.models.device import Unit
from trainer.services.assets import MESHES, SCENARIOS, UNITS, known_structure_ids
from trainer.services.drafts import draft as work
from trainer.services.drafts.draft import KIND, Checked, Draft
from trainer.services.drafts.fields import Field, field_at
from trainer.services.drafts.offers import beginning, fitted, unit_of
from trainer.services.head_store import cache_folder
from trainer.services.library import library_folder, units_for
from trainer.services.unit_io import Folders
from trainer.services.yaml_text import KeyPath

log = logging.getLogger("trainer.app")


class DeskController(QObject):
    """One case that is being written.

    Signals
    -------
    changed : Draft
        The draft that holds now. Also sent when a change was refused, so that entries go back.
    checked : Checked
        What was found in the draft that holds now.
    told : str
        A sentence on what could not be done, or was.
    """

    changed = Signal(object)
    checked = Signal(object)
    told = Signal(str)

    def __init__(self, meshes: Path = MESHES, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.draft: Draft | None = None
        self.result: Checked | None = None
        self.unit: Unit | None = None
        self.units: Folders = UNITS  # by which the case goes
        self._meshes = meshes
        self._ids: frozenset[str] | None = None
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._answers = _Answers(self)
        self._answers.found.connect(self._on_checked)
        self._asked = 0

    # the file ----------------------------------------------------------------------------------

    def open(self, path: Path) -> bool:
        """Lay a file on the desk; tells what is wrong if it cannot be read."""
        try:
            draft = work.open_draft(path)
        except TrainerError as error:
            self.told.emit(f"The file was not opened. {_words(error)} Nothing was changed.")
            return False
        self.units = units_for(path)
        if path.parent == tried_folder():
            draft = replace(draft, path=None, kept="")  # nobody looks for a case there
        self._hold(draft)
        return True

    def copy(self, case_id: str) -> None:
        """Go on with a new case of that id that says the same."""
        if self.draft is not None:
            self._try(lambda draft: work.new_from(draft, case_id))

    def save(self, path: Path) -> bool:
        """Save the draft there; tells how it went."""
        if self.draft is None:
            return False
        try:
            draft = work.save(self.draft, path, is_shipped)
        except TrainerError as error:
            self.told.emit(f"The case was not saved. {_words(error)}")
            return False
        self.units = units_for(path)
        self._hold(draft)
        wanted = work.file_name(draft)
        more = "" if path.name == wanted else f" By custom a case of this id is called {wanted}."
        self.told.emit(f"Saved {path}.{more}")
        return True

    # changes -----------------------------------------------------------------------------------

    def set(self, where: KeyPath, value: Any) -> None:
        """Set a value; ``None`` leaves the key out."""
        if value is None:
            self.leave_out(where)
        else:
            self._try(lambda draft: work.set_value(draft, where, value))

    def leave_out(self, where: KeyPath) -> None:
        """Take a key or an item out."""
        self._try(lambda draft: work.take_out(draft, where))

    def begin(self, field: Field, where: KeyPath) -> None:
        """Put a group in, or a further row of a list, with what it begins with."""
        draft = self.draft
        if draft is None:
            return
        value = beginning(field, where, draft.data, self.unit)
        if field.parts and field.kind == "rows":
            self._try(lambda draft: work.put_in(draft, where, value))
        else:
            self.set(where, value)

    def put_in(self, where: KeyPath, value: Any) -> None:
        """Put an item at the end of a list."""
        self._try(lambda draft: work.put_in(draft, where, value))

    def move(self, where: KeyPath, number: int, by: int) -> None:
        """Move an item of a list up (-1) or down (1)."""
        self._try(lambda draft: work.move(draft, where, number, by))

    def set_together(self, values: dict[KeyPath, Any]) -> None:
        """Set several values as one change."""

        def together(draft: Draft) -> Draft:
            first = draft
            for where, value in values.items():
                draft = work.set_value(draft, where, value)
            return draft if draft is first else work.as_one(first, draft)

        self._try(together)

    def undo(self) -> None:
        """Back to the draft before."""
        self._try(work.undo)

    def redo(self) -> None:
        """On to the draft that was undone."""
        self._try(work.redo)

    # what widgets ask --------------------------------------------------------------------------

    def value(self, where: KeyPath) -> Any:
        """The value at that place; ``None`` when there is none."""
        return None if self.draft is None else self.draft.value(*where)

    def field(self, *where: str | int) -> Field:
        """The field at that place, as it is for this unit.

        Raises
        ------
        NotFound
            If a case has no such field.
        """
        found = field_at(KIND, where)
        if found is None:
            raise NotFound(f"a case has no field {where}")
        return self.fitted(found, where)

    def fitted(self, field: Field, where: KeyPath) -> Field:
        """The field with the unit's range and the names that this case offers."""
        data = None if self.draft is None else self.draft.data
        return fitted(field, where, data, self.unit, self.units)

    def close(self) -> None:
        """Wait for the work that is going on."""
        self._asked += 1
        self._pool.clear()
        self._pool.waitForDone()

    # inside ------------------------------------------------------------------------------------

    def _try(self, change: Callable[[Draft], Draft]) -> None:
        if self.draft is None:
            return
        try:
            draft = change(self.draft)
        except NotAllowedNow as error:
            self.told.emit(_words(error))
            self.changed.emit(self.draft)
            return
        if draft is not self.draft:
            self._hold(draft)

    def _hold(self, draft: Draft) -> None:
        before = self.draft
        self.draft = draft
        if before is None or before.value("unit") != draft.value("unit") or self.unit is None:
            self.unit = unit_of(draft.data, self.units)
        self.changed.emit(draft)
        self._asked += 1
        self._pool.clear()
        self._pool.start(_Check(self._answers, self._asked, draft, self.units, self._known_ids()))

    def _known_ids(self) -> frozenset[str] | None:
        if self._ids is None:
            try:
                self._ids = known_structure_ids(self._meshes)
            except TrainerError:
                log.info("names of structures are not checked", exc_info=True)
        return self._ids

    def _on_checked(self, asked: int, result: Checked) -> None:
        if asked == self._asked:  # else the draft has changed since
            self.result = result
            self.checked.emit(result)


def tried_folder() -> Path:
    """Where drafts stand that are tried without being saved."""
    return cache_folder() / "tried"


def is_shipped(path: Path) -> bool:
    """Whether the file is one of those that came with the program or with a pack."""
    here = path.resolve()
    kept = (SCENARIOS.resolve(), library_folder().resolve())
    return here.exists() and any(here.is_relative_to(folder) for folder in kept)


def _words(error: TrainerError) -> str:
    return str(error.args[0]) if error.args else str(error)


class _Answers(QObject):
    found = Signal(int, object)


class _Check(QRunnable):
    """Checks a draft off the window's thread: a child's teeth alone take most of a second."""

    def __init__(
        self,
        answers: _Answers,
        asked: int,
        draft: Draft,
        units: Folders,
        ids: frozenset[str] | None,
    ) -> None:
        super().__init__()
        self._answers, self._asked = answers, asked
        self._draft, self._units, self._ids = draft, units, ids

    def run(self) -> None:
        self._answers.found.emit(self._asked, work.check(self._draft, self._units, self._ids))
