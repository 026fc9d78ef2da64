"""The five steps of help in words, and what each lets the window tell."""

from __future__ import annotations

from trainer.models.learning import HelpLevel

HELP_WORDS = {
    HelpLevel.DEMONSTRATION: "Demonstration: watch a worked solution, step by step; not scored",
    HelpLevel.OPEN: "Open: bone and field are shown, and words tell what lies outside",
    HelpLevel.LINES: "Lines: light lines, names of landmarks, a warning before something touches",
    HelpLevel.ON_REQUEST: "On request: one hint whenever you ask; it costs nothing and is noted",
    HelpLevel.NONE: "None, as in an exam: you see what an operator sees",
}
HELP_SHORT = {
    HelpLevel.DEMONSTRATION: "Help: demonstration",
    HelpLevel.OPEN: "Help: open",
    HelpLevel.LINES: "Help: lines",
    HelpLevel.ON_REQUEST: "Help: on request",
    HelpLevel.NONE: "Help: none",
}


def tells(helped: HelpLevel) -> bool:
    """Whether words tell by themselves what only the program knows."""
    return helped in (HelpLevel.DEMONSTRATION, HelpLevel.OPEN, HelpLevel.LINES)


def names_landmarks(helped: HelpLevel) -> bool:
    """Whether landmarks are named on the flat views."""
    return helped is HelpLevel.LINES


def shows_angles(helped: HelpLevel) -> bool:
    """Whether the head's angles stand there as numbers: no operator can read those off a face."""
    return helped is not HelpLevel.NONE
