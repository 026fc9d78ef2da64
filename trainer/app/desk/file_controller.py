"""Between an editor's widgets and its draft: changes go in, the draft and its faults come out."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, ClassVar

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from trainer.errors import NotAllowedNow, NotFound, TrainerError
from trainer.services.assets import SCENARIOS
from trainer.services.drafts import draft as work
from trainer.services.drafts.draft import Checked, Draft
from trainer.services.drafts.fields import Field, blank, field_at
from trainer.services.head_store import cache_folder
from trainer.services.library import library_folder
from trainer.services.yaml_text import KeyPath


class FileController(QObject):
    """One file that is being written.

    ``kind`` is that of the file.

    Signals
    -------
    changed : Draft
        The draft that holds now. Also sent when a change was refused, so that entries go back.
    checked : Checked
        What was found in the draft that holds now.
    told : str
        A sentence on what could not be done, or was.
    """

    kind: ClassVar[str]
    changed = Signal(object)
    checked = Signal(object)
    told = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.draft: Draft | None = None
        self.result: Checked | None = None
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._answers = _Answers(self)
        self._answers.found.connect(self._on_checked)
        self._answers.failed.connect(self._on_unchecked)
        self._asked = 0

    # what each kind of file does in its own way ---------------------------------------------------

    @abstractmethod
    def work_of_check(self, draft: Draft) -> Callable[[], Checked]:
        """What finds everything in the draft; it is done in another thread."""

    def fitted(self, field: Field, where: KeyPath) -> Field:
        """The field with what holds for this file."""
        return field

    def beginning(self, field: Field, where: KeyPath) -> Any:
        """What a group or a row begins with."""
        return blank(field)

    def at_place(self, path: Path) -> None:
        """The file stands there now."""

    def before_hold(self, before: Draft | None, draft: Draft) -> None:
        """Another draft is about to hold."""

    # the file ----------------------------------------------------------------------------------

    def open(self, path: Path) -> bool:
        """Lay a file on the desk; tells what is wrong if it cannot be read."""
        try:
            draft = work.open_draft(path)
        except TrainerError as error:
            self.told.emit(f"The file was not opened. {_words(error)} Nothing was changed.")
            return False
        self.at_place(path)
        if path.parent == tried_folder():
            draft = replace(draft, path=None, kept="")  # nobody looks for a case there
        self._hold(draft)
        return True

    def copy(self, case_id: str) -> None:
        """Go on with a new file of that id that says the same."""
        if self.draft is not None:
            self._try(lambda draft: work.new_from(draft, case_id))

    def save(self, path: Path) -> bool:
        """Save the draft there; tells how it went."""
        if self.draft is None:
            return False
        try:
            draft = work.save(self.draft, path, is_shipped)
        except TrainerError as error:
            self.told.emit(f"The {self.kind} was not saved. {_words(error)}")
            return False
        self.at_place(path)
        self._hold(draft)
        wanted = work.file_name(draft)
        more = (
            ""
            if path.name == wanted
            else f" By custom a {self.kind} of this id is called {wanted}."
        )
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
        value = self.beginning(field, where)
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
        """The field at that place, as it is for this file.

        Raises
        ------
        NotFound
            If there is no such field.
        """
        found = field_at(self.kind, where)
        if found is None:
            raise NotFound(f"a {self.kind} has no field {where}")
        return self.fitted(found, where)

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
        before, self.draft = self.draft, draft
        self.before_hold(before, draft)
        self.changed.emit(draft)
        self._asked += 1
        self._pool.clear()
        self._pool.start(_Check(self._answers, self._asked, self.work_of_check(draft)))

    def _on_checked(self, asked: int, result: Checked) -> None:
        if asked == self._asked:  # else the draft has changed since
            self.result = result
            self.checked.emit(result)

    def _on_unchecked(self, why: str) -> None:
        self.told.emit(f"The file could not be looked through. {why} What you wrote is kept.")


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
    failed = Signal(str)


class _Check(QRunnable):
    """Checks a draft off the window's thread: a child's teeth alone take most of a second."""

    def __init__(self, answers: _Answers, asked: int, work: Callable[[], Checked]) -> None:
        super().__init__()
        self._answers, self._asked, self._do = answers, asked, work

    def run(self) -> None:
        try:
            found = self._do()
        except TrainerError as error:
            self._answers.failed.emit(_words(error))
        else:
            self._answers.found.emit(self._asked, found)
