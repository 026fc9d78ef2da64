"""Who sits at the computer, and when the screen locks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from trainer.models.records import Learner

AUTO_LOCK_S = 300  # own working value: a coffee, not a lunch


@dataclass(frozen=True, slots=True)
class Sitting:
    """A learner who has signed in, and when they last did something."""

    learner: Learner
    active_at: datetime

    def touched(self, now: datetime) -> Sitting:
        """The sitting after the learner did something."""
        return replace(self, active_at=now)

    def is_locked(self, now: datetime, after_s: float = AUTO_LOCK_S) -> bool:
        """Whether the PIN is needed again. A clock that was set back locks, too."""
        idle = now - self.active_at
        return not timedelta(0) <= idle <= timedelta(seconds=after_s)
