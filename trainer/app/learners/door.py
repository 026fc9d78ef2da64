"""Who is signed in at this window: from the menu to the record and back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSettings, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QLabel, QMainWindow, QMenu, QWidget

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.keeping import Keeping
from trainer.app.learners.locking import Locking
from trainer.app.learners.menu import fill_menu, ways_out
from trainer.app.learners.papers import Papers
from trainer.app.learners.parts import said
from trainer.app.notices import trouble_box
from trainer.errors import TrainerError
from trainer.models.appointment_visit import LocalRules
from trainer.models.records import Learner
from trainer.services.workbench import Workbench

if TYPE_CHECKING:
    from trainer.app.instructor.window import InstructorWindow
    from trainer.app.learners.progress_window import ProgressWindow
    from trainer.app.window import TrainerWindow
    from trainer.services.records.store import Records

NO_LEARNER, SIGNED_IN = "No learner signed in", "Signed in: {}"
NOT_STORED = (
    "Nothing is lost: a finished attempt stays as a log in your folder and is taken in the next "
    "time you sign in or hand over."
)
NOT_DONE = "Your record is as it was. Practising goes on; try again later."
TOLD_MS = 8000


def utc_now() -> datetime:
    """The time now, in UTC."""
    return datetime.now(UTC)


class LearnerDoor(QObject):
    """Signs learners in and out of the bench's window, and stores what they finish.

    What the records need is loaded when somebody signs in, so that the program starts quickly.
    ``learner`` is who is signed in; ``keeping`` knows what is kept of them, ``papers`` takes it out
    or erases it, and ``locking`` locks the screen.

    Signals
    -------
    changed : no value
        Somebody signed in or out.
    people_changed : no value
        Somebody's profile came or went.
    """

    changed = Signal()
    people_changed = Signal()

    def __init__(self, window: TrainerWindow, settings: QSettings) -> None:
        super().__init__(window)
        self.settings = settings
        self.now: Callable[[], datetime] = utc_now
        self.learner: Learner | None = None
        self.jobs = RecordJobs(self)
        self.keeping = Keeping(self.jobs, self)
        self.note = QLabel(NO_LEARNER)
        self.note.setObjectName("quiet")
        self.page: ProgressWindow | InstructorWindow | None = None
        self.acts: dict[str, QAction] = {}
        self.locking = Locking(self)
        self.papers = Papers(self)
        self.keeping.stored.connect(self._on_stored)
        self.keeping.failed.connect(self._on_not_stored)
        window.door.attempt_finished.connect(self._on_finished)
        window.door.opened.connect(self._on_opened)

    @property
    def window(self) -> TrainerWindow:
        """The bench's window; not kept here, or it would hold itself alive."""
        return self.parent()  # type: ignore[return-value]

    @property
    def keep_months(self) -> int:
        """For how many months the local rules keep records."""
        bench = self.window.controller.bench
        return (LocalRules() if bench is None else bench.rules).keep_records_months

    def time(self) -> datetime:
        """The time that signing in and locking go by."""
        return self.now()

    def fill(self, menu: QMenu) -> None:
        """Put what can be done into the bench's menu."""
        self.acts = fill_menu(self, menu)
        self._show_who()

    def _show_who(self) -> None:
        who = self.learner
        self.note.setText(NO_LEARNER if who is None else SIGNED_IN.format(who.pseudonym))
        for name in ("progress", "pin", "export", "erase", "lock", "hand-over"):
            self.acts[name].setEnabled(who is not None)
        self.acts["sign-in"].setEnabled(who is None)
        self.acts["new"].setEnabled(who is None or who.is_instructor)
        self.acts["instructor"].setEnabled(who is not None and who.is_instructor)

    # signing in and out -------------------------------------------------------------------------

    def ask_sign_in(self) -> None:
        """Ask who signs in."""
        from trainer.app.learners.sign_in import SignInDialog

        dialog = SignInDialog(self.jobs, self.time, self.window)
        dialog.signed_in.connect(self.sign_in)
        dialog.new_asked.connect(self.ask_new)
        dialog.open()

    def ask_new(self) -> None:
        """Ask for a new profile; who made their own is signed in with it."""
        from trainer.app.learners.new_learner import NewLearnerDialog

        months = self.keep_months
        parent = self.page or self.window
        dialog = NewLearnerDialog(self.jobs, self.time, months, parent, self.learner)
        dialog.added.connect(self._on_added)
        dialog.open()

    def _on_added(self, learner: Learner) -> None:
        if self.learner is None:
            self.sign_in(learner)
        else:
            self.tell(f"Added {learner.pseudonym}.")
            self.people_changed.emit()

    def sign_in(self, learner: Learner) -> None:
        """The learner is there: attempts go into their folder, finished ones are taken in."""
        work = partial(_folder, learner)
        self.jobs.ask(self, work, partial(self._begin, learner), self.trouble)

    def _begin(self, learner: Learner, folder: Path) -> None:
        from trainer.services.records.under_way import hold

        self.learner = learner
        self.keeping.begin(learner)
        door = self.window.door
        door.folder, door.hold, door.history_of = folder, hold, self.keeping.history
        self.locking.start(learner)
        self.keeping.store()
        self._show_who()
        self.changed.emit()

    def hand_over(self) -> None:
        """Close what is under way, store what is finished, sign out, and ask who comes next."""
        if self.learner is None:
            return
        window = self.window
        window.show()  # before the locked screen goes: with no window left the program would end
        self.locking.drop()
        if window.desk.open is not None:
            window.desk.open.show()
        self.close_page()
        window.door.close()
        self.keeping.store(self._sign_out_and_ask)

    def _sign_out_and_ask(self) -> None:
        if self.learner is not None:  # asked for twice, it is done once
            self.sign_out()
            self.ask_sign_in()

    def sign_out(self) -> None:
        """Nobody is signed in any more, and nothing of who was is on the screen."""
        self.close_page()
        self.locking.stop()
        self.learner = None
        self.keeping.begin(None)
        window = self.window
        window.door.forget_learner()
        if window.controller.bench is not None:
            window.controller.open(window.controller.bench)  # no trace of what was tried
        self._show_who()
        self.changed.emit()

    # storing ------------------------------------------------------------------------------------

    def _on_finished(self, _: Path, bench: Workbench) -> None:
        if self.learner is not None:
            if bench.files:
                self.keeping.note_case(bench.files[0])
            self.keeping.store()

    def _on_stored(self, count: int) -> None:
        if count:
            attempts = "attempt is" if count == 1 else "attempts are"
            self.tell(f"{count} finished {attempts} stored in the record.")

    def _on_not_stored(self, why: str) -> None:
        trouble_box("Not stored yet", why, self.front, NOT_STORED).open()

    # pages --------------------------------------------------------------------------------------

    def show_progress(self) -> None:
        """Show the learner's own progress."""
        if self.learner is not None:
            self.show_progress_of(self.learner)

    def show_progress_of(self, learner: Learner) -> None:
        """Show a learner's progress to who is signed in."""
        from trainer.app.learners.progress_window import ProgressWindow

        if self.learner is not None:
            self._show_page(ProgressWindow(self, learner, self.learner))

    def show_instructor(self) -> None:
        """Show the instructor's pages."""
        from trainer.app.instructor.window import InstructorWindow

        if self.learner is not None and self.learner.is_instructor:
            self._show_page(InstructorWindow(self, self.learner))

    def _show_page(self, page: ProgressWindow | InstructorWindow) -> None:
        self.close_page()
        self.page = page
        page.finished.connect(self._on_page_closed)
        page.resize(self.window.size())
        page.show()
        page.activateWindow()
        page.start()

    def _on_page_closed(self, _: int) -> None:
        if self.sender() is self.page:
            self.page = None

    def close_page(self) -> None:
        """Close the page that is open."""
        page, self.page = self.page, None
        if page is not None:
            page.reject()

    def open_case(self, case_id: str, whole: bool) -> None:
        """Open a case from one of the pages, which closes."""
        self.close_page()
        if whole:
            self.window.door.ask(case_id)
        else:
            self.window.open_case(case_id)

    # helpers ------------------------------------------------------------------------------------

    @property
    def front(self) -> QWidget:
        """The window that a message belongs to."""
        return self.page or self.window.door.open or self.window

    def tell(self, sentence: str) -> None:
        """Say something that need not be answered."""
        for window in (self.window, self.window.door.open):
            if window is not None:
                window.statusBar().showMessage(sentence, TOLD_MS)
        if self.page is not None:
            self.page.told.tell(sentence)

    def trouble(self, error: TrainerError) -> None:
        """Say that something could not be done."""
        trouble_box("That could not be done", said(error), self.front, NOT_DONE).open()

    def _on_opened(self, window: QMainWindow) -> None:
        if self.learner is not None:
            ways_out(self, window, SIGNED_IN.format(self.learner.pseudonym))

    def close(self) -> None:
        """The program ends: what is finished is stored, and everything let go of."""
        self.close_page()
        if self.learner is not None:
            self.locking.stop()
        self.jobs.close()
        self.locking.drop()


def _folder(learner: Learner, records: Records) -> Path:
    from trainer.services.records.under_way import attempts_folder_of

    return attempts_folder_of(records, learner.id)
