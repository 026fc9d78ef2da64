"""Fixtures of the learners' tests: records of the test's own, a clock of its own, few cases."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from helpers.records import NOW, PIN

from trainer.app.learners.door import LearnerDoor
from trainer.app.learners.sign_in import SignInDialog
from trainer.app.window import TrainerWindow
from trainer.engine.learning.practice import PracticeCase
from trainer.models.learning import Task
from trainer.models.records import Learner
from trainer.services.learning.view import Shelf
from trainer.services.records.store import Records, open_records
from trainer.services.workbench import DEMO_CASE, Workbench, open_workbench

LONG_MS = 20000


@dataclass
class Hands:
    """A clock that only the test moves."""

    now: datetime = NOW

    def __call__(self) -> datetime:
        """The time."""
        return self.now

    def wait(self, minutes: float) -> None:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)


@pytest.fixture(scope="session")
def real_bench() -> Workbench:
    """The shipped case with its visit, rules and the real head."""
    return open_workbench(DEMO_CASE)


@pytest.fixture(scope="session")
def shelf() -> Shelf:
    """A few cases by title."""
    cases = (
        PracticeCase(DEMO_CASE, Task.SINGLE_SITE, 1),
        PracticeCase("case-a", Task.SINGLE_SITE, 2),
        PracticeCase("case-b", Task.BOTH_JAWS, 2),
        PracticeCase("case-c", Task.SINUS, 3),
    )
    return Shelf(cases, {c.id: f"Title of {c.id}" for c in cases})


@pytest.fixture(autouse=True)
def _quick(monkeypatch, shelf, tmp_path) -> None:
    """Hashing and the library take no time; no 3-D view; records lie in the test's own folder."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr("trainer.services.records.pins._hasher", lambda: quick)
    monkeypatch.setattr("trainer.services.learning.view.read_shelf", lambda: shelf)
    monkeypatch.setenv("TRAINER_NO_3D", "1")
    monkeypatch.setenv("TRAINER_RECORDS", str(tmp_path / "records"))


@pytest.fixture
def records(_quick, tmp_path: Path) -> Records:
    """Empty records, where the window finds them."""
    return open_records(tmp_path / "records")


@pytest.fixture
def heron(records: Records) -> Learner:
    """A learner with a PIN."""
    return records.learners.add("Heron 12", now=NOW, group="spring", pin=PIN)


@pytest.fixture
def hazel(records: Records) -> Learner:
    """The instructor of the group, with a PIN."""
    add = records.learners.add
    return add("Hazel 11", now=NOW, group="spring", is_instructor=True, pin=PIN)


@pytest.fixture
def hands() -> Hands:
    """The clock's hands."""
    return Hands()


@pytest.fixture
def door(qtbot, window: TrainerWindow, hands: Hands) -> LearnerDoor:
    """The door of a shown, active window with the stand-in case open; nobody is signed in."""
    window.learners.now = hands
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    return window.learners


@pytest.fixture
def enter(qtbot, door: LearnerDoor) -> Callable[[Learner], LearnerDoor]:
    """Signs a learner in, without the dialog; their attempts are known afterwards."""

    def sign_in(learner: Learner) -> LearnerDoor:
        door.sign_in(learner)
        qtbot.waitUntil(lambda: door.keeping.attempts is not None, timeout=LONG_MS)
        return door

    return sign_in


@pytest.fixture
def ask_sign_in(qtbot, door: LearnerDoor) -> Callable[[], SignInDialog]:
    """Opens the dialog to sign in and waits until it shows who there is."""

    def ask() -> SignInDialog:
        door.acts["sign-in"].trigger()
        (dialog,) = door.window.findChildren(SignInDialog)
        qtbot.waitUntil(lambda: dialog.note.text() != "Looking for profiles …", timeout=LONG_MS)
        qtbot.waitUntil(dialog.isActiveWindow)
        return dialog

    return ask
