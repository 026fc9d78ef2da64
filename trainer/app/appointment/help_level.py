"""How much the window tells while an appointment goes on."""

from __future__ import annotations

from enum import StrEnum


class HelpLevel(StrEnum):
    """Chosen at the start. Only `OPEN` shows bone and field before the ending."""

    OPEN = "open"
    WORDS = "words"
    EXAM = "exam"

    @property
    def looks_inside(self) -> bool:
        """Whether bone and field are shown all the time."""
        return self is HelpLevel.OPEN

    @property
    def tells(self) -> bool:
        """Whether words tell what only the program knows."""
        return self is not HelpLevel.EXAM


HELP_WORDS = {
    HelpLevel.OPEN: "All: bone and field are shown, and words tell what lies outside",
    HelpLevel.WORDS: "Words only: bone and field stay hidden until the end",
    HelpLevel.EXAM: "None, as in an exam: you see what an operator sees",
}
HELP_SHORT = {
    HelpLevel.OPEN: "Help: all",
    HelpLevel.WORDS: "Help: words only",
    HelpLevel.EXAM: "Help: none",
}
