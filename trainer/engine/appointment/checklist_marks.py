"""How a step of the checklist is marked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from trainer.models.appointment_words import Done


class Mark(NamedTuple):
    """What became of a step, and what lacks (empty when nothing does)."""

    done: Done
    sentence: str = ""


def by(limit_s: float, wanted: Mapping[str, float | None]) -> Mark:
    """The mark for things wanted by a time, each with the time it happened or None."""
    missing = [name for name, t in wanted.items() if t is None]
    late = [name for name, t in wanted.items() if t is not None and t > limit_s]
    if len(missing) == len(wanted):
        return Mark(Done.SKIPPED, f"Not done: {', '.join(missing)}.")
    if missing:
        return Mark(Done.PARTLY, f"Not done: {', '.join(missing)}.")
    if late:
        return Mark(Done.LATE, f"Too late: {', '.join(late)}.")
    return Mark(Done.DONE)


def unless(mark: Mark, *faults: str) -> Mark:
    """The mark, or PARTLY with the first fault that is not empty."""
    fault = next((f for f in faults if f), "")
    if not fault or mark.done is Done.SKIPPED:
        return mark
    return Mark(Done.PARTLY, fault)


NOT_NEEDED = Mark(Done.NOT_NEEDED)
