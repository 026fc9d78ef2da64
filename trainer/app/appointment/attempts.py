"""Attempts of the user: begun, found again, gone on with; the help level stands in each log."""

from __future__ import annotations

import random
from pathlib import Path

from trainer.app.appointment.start_dialog import Left
from trainer.errors import TrainerError
from trainer.models.learning import HelpLevel
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


def left_attempts(bench: Workbench, folder: Path | None = None) -> list[Left]:
    """Attempts at the case that were left unfinished and still fit it, the newest first.

    ``folder`` is where they are kept; without one, where the program keeps attempts of nobody.
    """
    found = []
    for path in attempts_of(bench.case.id, folder)[:MOST_LOOKED_AT]:
        try:
            done = replay_file(path, bench)
        except TrainerError:
            continue
        sound = done.fault is None or done.fault.torn
        if sound and done.events and not done.state.finished:
            found.append(Left(path, done.state.at_s, done.state.help))
    return found


def begin_attempt(
    bench: Workbench, helped: HelpLevel, folder: Path | None = None
) -> tuple[Attempt, Path]:
    """A new attempt with a seed of its own; errors as `services.appointment.new_attempt`."""
    seed = random.SystemRandom().randrange(2**31)
    return new_attempt(bench, seed, folder, helped)


def go_on_with(left: Left, bench: Workbench) -> tuple[Attempt, Path]:
    """The attempt gone on with; errors as `services.appointment.resume_attempt`."""
    attempt, _ = resume_attempt(left.path, bench)
    return attempt, left.path
