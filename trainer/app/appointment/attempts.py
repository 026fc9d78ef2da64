"""Attempts of the user: begun, found again, gone on with; the help level stays with each."""

from __future__ import annotations

import random
from pathlib import Path

from PySide6.QtCore import QSettings

from trainer.app.appointment.help_level import HelpLevel
from trainer.app.appointment.start_dialog import Left
from trainer.errors import TrainerError
from trainer.services.appointment import (
    attempts_of,
    new_attempt,
    replay_file,
    resume_attempt,
)
from trainer.services.attempt_log import Attempt
from trainer.services.workbench import Workbench

# Attempts that are looked through for one to go on with.
MOST_LOOKED_AT = 5


def left_attempts(bench: Workbench, settings: QSettings) -> list[Left]:
    """Attempts at the case that were left unfinished and still fit it, the newest first."""
    found = []
    for path in attempts_of(bench.case.id)[:MOST_LOOKED_AT]:
        try:
            done = replay_file(path, bench)
        except TrainerError:
            continue
        sound = done.fault is None or done.fault.torn
        if sound and done.events and not done.state.finished:
            helped = str(settings.value(_key(path), HelpLevel.WORDS))
            level = HelpLevel(helped) if helped in set(HelpLevel) else HelpLevel.WORDS
            found.append(Left(path, done.state.at_s, level))
    return found


def begin_attempt(bench: Workbench, helped: HelpLevel, settings: QSettings) -> Attempt:
    """A new attempt with a seed of its own; errors as `services.appointment.new_attempt`."""
    seed = random.SystemRandom().randrange(2**31)
    attempt, path = new_attempt(bench, seed)
    settings.setValue(_key(path), str(helped))
    return attempt


def go_on_with(left: Left, bench: Workbench) -> Attempt:
    """The attempt gone on with; errors as `services.appointment.resume_attempt`."""
    attempt, _ = resume_attempt(left.path, bench)
    return attempt


def _key(path: Path) -> str:
    return f"help/{path.stem}"
