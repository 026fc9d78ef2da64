"""Signing in: who, and the PIN."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.app.learners.jobs import RecordJobs
from trainer.app.learners.parts import ID_ROLE, Told, button, pin_entry, words
from trainer.errors import TrainerError
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.services.records.store import Records

ABOUT = (
    "Signed in, your attempts are kept in your own record. You can also practise without a record."
)
NOBODY = "Nobody has a profile here yet. Make one with “New learner…”."
LOOKING = "Looking for profiles …"
CHECKING = "Checking the PIN …"
WAIT = "No PIN is taken for another {} seconds. Nothing is lost meanwhile."
AGAIN = "You can try again now."


def people_of(records: Records) -> tuple[tuple[Learner, bool], ...]:
    """Everybody with a profile, and whether it has a PIN."""
    return tuple((each, records.learners.has_pin(each.id)) for each in records.learners.all())


def signed_in(records: Records, learner_id: str, pin: str, now: datetime) -> Learner:
    """The learner, if the PIN is theirs."""
    return records.learners.sign_in(learner_id, pin, now)


class PinTry:
    """Tries a PIN once at a time: tells how it went, and counts down how long none is taken.

    ``go`` is the button that tries; it rests while a PIN is checked and while none is taken.
    """

    def __init__(
        self,
        owner: QWidget,
        jobs: RecordJobs,
        now: Callable[[], datetime],
        on_right: Callable[[Learner], object],
    ) -> None:
        self._owner, self._jobs, self._now, self._on_right = owner, jobs, now, on_right
        self.pin = pin_entry("PIN")
        self.told = Told()
        self.go = button("Sign in", owner.go)  # type: ignore[attr-defined]
        self.wait_s = 0
        self._second = QTimer(owner)
        self._second.setInterval(1000)
        self._second.timeout.connect(self._count_down)

    def check(self, learner_id: str) -> None:
        """Check what was typed."""
        if self.wait_s or not self.go.isEnabled():
            return
        self.go.setEnabled(False)
        self.told.tell(CHECKING)
        work = partial(signed_in, learner_id=learner_id, pin=self.pin.text(), now=self._now())
        self.pin.clear()
        self._jobs.ask(self._owner, work, self._on_right, self._on_wrong)

    def forget(self) -> None:
        """Another person is meant: nothing that was typed or told holds for them."""
        self._second.stop()
        self.wait_s = 0
        self.pin.clear()
        self.told.tell("")
        self.go.setEnabled(True)

    def _on_wrong(self, error: TrainerError) -> None:
        self.told.trouble(error)
        self.wait_s = int(getattr(error, "wait_s", 0))
        self.go.setEnabled(not self.wait_s)
        self.pin.setFocus()
        if self.wait_s:
            self._second.start()

    def _count_down(self) -> None:
        self.wait_s -= 1
        self.told.warn(WAIT.format(self.wait_s) if self.wait_s else AGAIN)
        if not self.wait_s:
            self._second.stop()
            self.go.setEnabled(True)


class SignInDialog(QDialog):
    """Asks who signs in.

    Signals
    -------
    signed_in : Learner
        The PIN was right.
    new_asked : no value
        Somebody wants a new profile.
    """

    signed_in = Signal(object)
    new_asked = Signal()

    def __init__(self, jobs: RecordJobs, now: Callable[[], datetime], parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Sign in")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._pins: dict[str, bool] = {}
        self._jobs = jobs
        self._try = PinTry(self, jobs, now, self._on_right)
        self.pin, self.told, self.go_button = self._try.pin, self._try.told, self._try.go
        self.list = QListWidget()
        self.list.setAccessibleName("Profiles")
        self.list.currentRowChanged.connect(self._on_marked)
        self.list.itemActivated.connect(self._on_activated)
        self.note = words(LOOKING, "quiet")
        self.new_button = button("New learner…", self._on_new)
        self.guest_button = button(
            "Practise without a record", self.reject, "Nothing but the log of each attempt is kept"
        )
        self.go_button.setDefault(True)
        form = QFormLayout()
        form.addRow("&PIN", self.pin)
        row = QHBoxLayout()
        for each in (self.guest_button, self.new_button):
            row.addWidget(each)
        row.addStretch(1)
        row.addWidget(self.go_button)
        column = QVBoxLayout(self)
        column.addWidget(words(ABOUT))
        column.addWidget(self.list, 1)
        column.addWidget(self.note)
        column.addLayout(form)
        column.addWidget(self.told)
        column.addLayout(row)
        self.setMinimumWidth(self.fontMetrics().averageCharWidth() * 72)
        self._jobs.ask(self, people_of, self.show_people, self._on_trouble)

    def show_people(self, people: tuple[tuple[Learner, bool], ...]) -> None:
        """Show who has a profile."""
        self._pins = {each.id: has_pin for each, has_pin in people}
        for each, _ in people:
            role = "instructor" if each.is_instructor else ""
            of = f"group {each.group}" if each.group else ""
            more = ", ".join(filter(None, (role, of)))
            item = QListWidgetItem(f"{each.pseudonym}   ({more})" if more else each.pseudonym)
            item.setData(ID_ROLE, each.id)
            self.list.addItem(item)
        self.note.setText("" if people else NOBODY)
        if people:
            self.list.setCurrentRow(0)
            self.list.setFocus()
        else:
            self.new_button.setFocus()
        self.go_button.setEnabled(bool(people))

    def go(self) -> None:
        """Try the PIN of whom is marked."""
        item = self.list.currentItem()
        if item is not None:
            self._try.check(item.data(ID_ROLE))

    def _on_marked(self, row: int) -> None:
        self._try.forget()
        item = self.list.item(row)
        has_pin = item is not None and self._pins.get(item.data(ID_ROLE), True)
        self.pin.setEnabled(has_pin)
        self.pin.setPlaceholderText("" if has_pin else "this profile has no PIN")

    def _on_activated(self, _: QListWidgetItem) -> None:
        if self.pin.isEnabled():
            self.pin.setFocus()
        else:
            self.go()

    def _on_right(self, learner: Learner) -> None:
        self.accept()
        self.signed_in.emit(learner)

    def _on_new(self) -> None:
        self.reject()
        self.new_asked.emit()

    def _on_trouble(self, error: TrainerError) -> None:
        self.note.setText("")
        self.go_button.setEnabled(False)
        self.told.trouble(error)
        self.guest_button.setFocus()
