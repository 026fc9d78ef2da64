"""Which help the next attempt should have: it fades with skill and comes back after a danger.

One step less after two clean attempts in different cases of the task, one step more after an
attempt in which a critical item failed (training reference, own rule; that worked examples help
beginners and hinder later: Kalyuga and others on the expertise reversal effect, 2012).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Protocol

from trainer.models.learning import HelpLevel

LADDER: tuple[HelpLevel, ...] = tuple(HelpLevel)
CLEAN_FOR_A_STEP = 2
FIRST_HELP = HelpLevel.DEMONSTRATION


class Past(Protocol):
    """An attempt that is over, as `models.records.StoredAttempt` keeps it."""

    @property
    def case_id(self) -> str: ...
    @property
    def help(self) -> HelpLevel: ...
    @property
    def critical(self) -> Collection[str]: ...
    @property
    def mastered(self) -> bool: ...
    @property
    def needless_retake(self) -> bool: ...


def is_clean(attempt: Past) -> bool:
    """Whether nothing critical failed, the mark was reached, and nothing repeated needlessly."""
    return attempt.mastered and not attempt.critical and not attempt.needless_retake


def next_help(history: Sequence[Past]) -> tuple[HelpLevel, str]:
    """The help to suggest after attempts at one task, the oldest first, and why in one sentence.

    Counted from the level of the last attempt. Only attempts at that level without a worse one
    since count as clean; a demonstration is no attempt, and leads to open help.
    """
    if not history:
        return FIRST_HELP, "You have no attempt at this task yet: see one first."
    last = history[-1]
    here = LADDER.index(last.help)
    if last.critical:
        if here == 0:
            return last.help, "The last attempt failed a critical item: see it done once more."
        return LADDER[here - 1], "The last attempt failed a critical item: one step more of help."
    cases = set()
    for attempt in reversed(history):
        if attempt.help is not last.help or not is_clean(attempt):
            break
        cases.add(attempt.case_id)
    if len(cases) >= CLEAN_FOR_A_STEP and here + 1 < len(LADDER):
        told = f"The last attempts were clean in {len(cases)} different cases"
        return LADDER[here + 1], f"{told}: one step less of help."
    if len(cases) >= CLEAN_FOR_A_STEP:
        return last.help, "You work without help already, and cleanly."
    lacking = CLEAN_FOR_A_STEP - len(cases)
    more = "1 more clean attempt" if lacking == 1 else f"{lacking} clean attempts"
    return last.help, f"The same help as last time; {more} in another case makes it one step less."
