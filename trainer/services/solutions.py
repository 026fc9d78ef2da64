"""The shipped solutions: for every case with a visit a list of commands and the log it leads to."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from trainer.errors import TrainerError
from trainer.services.appointment import play
from trainer.services.appointment_report import ending
from trainer.services.assets import SCENARIOS
from trainer.services.command_list import load_commands
from trainer.services.scoring import score_of
from trainer.services.unit_io import named_files
from trainer.services.workbench import open_workbench

SOLUTIONS = SCENARIOS / "solutions"


def log_of(commands_file: Path) -> Path:
    """The log that belongs to a list of commands: beside it, with its name."""
    return commands_file.with_suffix(".log")


def solution_files(folder: Path = SOLUTIONS) -> dict[str, Path]:
    """The shipped lists of commands by the case they solve."""
    return named_files(folder)


def make_all_solutions(
    tell: Callable[[str], None],
    files: Iterable[Path] | None = None,
) -> list[Path]:
    """Makes the logs of all solutions again; returns the lists that no longer pass.

    To be done whenever a case, a unit, the engine or the head has changed. A log is replaced only
    when its list could be done to the end.
    """
    failed = []
    for path in solution_files().values() if files is None else files:
        part = path.with_suffix(".log.new")
        part.unlink(missing_ok=True)
        try:
            commands = load_commands(path)
            state = play(commands, open_workbench(commands.case), part, str(path))
        except TrainerError as error:
            part.unlink(missing_ok=True)
            tell(f"{path.name}: {error}")
            failed.append(path)
            continue
        part.replace(log_of(path))
        passes = ending(state).passed and score_of(state).success
        if not passes:
            failed.append(path)
        tell(f"{log_of(path).name}: {'passes' if passes else 'DOES NOT PASS'}")
    return failed
