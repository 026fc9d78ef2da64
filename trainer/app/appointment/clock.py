"""The time of an appointment: seconds since it began, which only run forwards."""

from __future__ import annotations

import time
from collections.abc import Callable


class VisitClock:
    """Seconds since the appointment began, on a clock that no change of the date touches.

    ``start_s`` is where an appointment that is gone on with stopped. Times are rounded to 1 ms, as
    those in events are.
    """

    def __init__(self, start_s: float = 0.0, source: Callable[[], float] = time.monotonic) -> None:
        self._source = source
        self._stands = False
        self._last_s = start_s
        self._offset_s = start_s - source()

    def now_s(self) -> float:
        """The time now; never before one that was told."""
        if not self._stands:
            self._last_s = max(self._last_s, round(self._source() + self._offset_s, 3))
        return self._last_s

    def stand(self) -> None:
        """Let the time stand still: nobody can act."""
        self.now_s()
        self._stands = True

    def go_on(self) -> None:
        """Let the time run on from where it stands."""
        if self._stands:
            self._stands = False
            self._offset_s = self._last_s - self._source()


def minutes(at_s: float) -> str:
    """A time as minutes and seconds: ``3:07``."""
    whole = int(at_s)
    return f"{whole // 60}:{whole % 60:02d}"
