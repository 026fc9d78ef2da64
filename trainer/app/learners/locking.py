"""Locks the screen when nobody has touched it for a while, or when asked to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction

from trainer.app.learners.idle import IdleWatch
from trainer.models.records import Learner

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.app.learners.lock import LockScreen

LOCK_MINUTES = (2, 5, 10, 20, 60)
LOCK_AFTER, USUAL_LOCK_MINUTES = "lock_after_minutes", 5


class Locking(QObject):
    """Has ``watch`` watch while somebody is signed in; ``screen`` is the locked screen, if any."""

    def __init__(self, door: LearnerDoor) -> None:
        super().__init__(door)
        self.screen: LockScreen | None = None
        self.watch = IdleWatch(door.time, self)
        self.watch.idle.connect(self.lock)

    @property
    def _door(self) -> LearnerDoor:
        return self.parent()  # type: ignore[return-value]

    @property
    def minutes(self) -> int:
        """Minutes without a touch after which the screen locks."""
        found = int(str(self._door.settings.value(LOCK_AFTER, USUAL_LOCK_MINUTES)))
        return found if found in LOCK_MINUTES else USUAL_LOCK_MINUTES

    def set_minutes(self, action: QAction) -> None:
        """Lock after as many minutes as the action says."""
        self._door.settings.setValue(LOCK_AFTER, action.data())
        self.watch.after_s = 60.0 * action.data()

    def start(self, learner: Learner) -> None:
        """Watch for this learner."""
        self.watch.start(learner, 60.0 * self.minutes)

    def stop(self) -> None:
        """Watch no more."""
        self.watch.stop()

    def lock(self) -> None:
        """Cover everything; an attempt under way stands still."""
        from trainer.app.learners.lock import LockScreen

        door = self._door
        if door.learner is None or self.screen is not None:
            return
        front = door.window.door.open or door.window
        screen = LockScreen(door.jobs, door.time, door.learner, front.geometry())
        screen.opened.connect(self._on_unlocked)
        screen.other_asked.connect(door.hand_over)
        screen.quit_asked.connect(door.window.close)
        self.screen = screen
        screen.cover()
        self._let_time_run(False)

    def drop(self) -> None:
        """Let the locked screen go, if there is one; what it covered stays hidden."""
        screen, self.screen = self.screen, None
        if screen is not None:
            screen.drop()

    def _on_unlocked(self) -> None:
        self.screen = None
        self.watch.touch()
        self._let_time_run(True)

    def _let_time_run(self, on: bool) -> None:
        from trainer.app.appointment.window import AppointmentWindow

        visit = self._door.window.door.open
        if isinstance(visit, AppointmentWindow):
            clock = visit.controller.clock
            if on:
                clock.go_on()
            else:
                clock.stand()
