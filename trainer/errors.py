"""What can go wrong, told apart by what the caller can do about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class TrainerError(Exception):
    """Something a person can be told about; the message says what happened and what to do."""


class FrameError(TrainerError, ValueError):
    """Frames that do not fit together, or a matrix that is no rigid movement."""


class NotFound(TrainerError, LookupError):
    """A name that stands for nothing here: case, structure, unit, control, field."""


class NotReadable(TrainerError, OSError):
    """A file that is missing, cut short, or no text."""


class NotAllowedNow(TrainerError, RuntimeError):
    """A command that has no meaning in the present state."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: where, what was found, what was expected. ``line`` 0 stands for none.

    ``also``: further keys that it concerns, where it may be mended too.
    """

    path: str
    line: int
    key: str
    text: str
    also: tuple[str, ...] = ()

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}" if self.line else self.path
        return f"{place}  {self.key}: {self.text}" if self.key else f"{place}  {self.text}"


class NotValid(TrainerError, ValueError):
    """A file or value that breaks the rules; ``faults`` names every break."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("\n".join(str(f) for f in faults))
        self.faults = tuple(faults)
