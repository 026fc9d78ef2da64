"""Commands about attempts at an appointment: play, replay."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.cli.common import DONE, FAULTY, Add, add_case, say, tell
from trainer.errors import NotFound, TrainerError

if TYPE_CHECKING:
    from trainer.services.workbench import Workbench

OWN_CASE = "If the attempt was at a case of your own, name its file with --case FILE."


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add("replay", _replay, "Do the log of an attempt again: what happened, what it came to.")
    sub.add_argument("log", metavar="LOG", type=Path, help="the log of an attempt")
    sub.add_argument("--case", metavar="FILE", help="the case's file, if it is not a shipped one")
    sub.add_argument("--json", action="store_true", help="print the summary as JSON")
    sub = add("play", _play, "Do a list of commands in a case's appointment and log it.")
    add_case(sub, optional=True)
    sub.add_argument("--commands", metavar="FILE.yaml", type=Path, help="the list")
    sub.add_argument("--out", metavar="LOG", type=Path, help="the log, which must not be there yet")
    sub.add_argument(
        "--all-solutions",
        action="store_true",
        help="make the logs of all shipped solutions again, as after a change of the head",
    )


def _replay(arguments: argparse.Namespace) -> int:
    from trainer.services.appointment import replay_file
    from trainer.services.appointment_report import appointment_data, appointment_text, course_text

    done = replay_file(arguments.log, bench_of_log(arguments.log, arguments.case))
    fault = done.fault and str(done.fault)
    if arguments.json:
        data = appointment_data(done.state)
        print(json.dumps({**data, "events_sha256": done.events_sha256, "fault": fault}, indent=1))
    else:
        print(f"{course_text(done.state)}\n\n{appointment_text(done.state)}\n")
        print(f"Digest of all events: {done.events_sha256}")
    if done.fault is None:
        return DONE
    hint = f" {OWN_CASE}" if done.fault.line == 1 and not arguments.case else ""
    say(f"{arguments.log}: {fault}. What is printed is what came before.{hint}")
    return FAULTY


def bench_of_log(log: Path, case: str | None) -> Workbench:
    """The bench of the case that a log belongs to, or of ``case`` where one is named.

    Raises
    ------
    NotFound
        If the log's case is not a shipped one; the message says how to name it.
    """
    from trainer.services.attempt_log import read_log
    from trainer.services.workbench import open_workbench

    try:
        return open_workbench(case or read_log(log).header.case)
    except NotFound as error:
        if case:
            raise
        raise NotFound(f"{log}: {error.args[0]}. {OWN_CASE}") from error


def _play(arguments: argparse.Namespace) -> int:
    from trainer.services.appointment import play
    from trainer.services.appointment_report import appointment_text
    from trainer.services.command_list import load_commands
    from trainer.services.solutions import make_all_solutions
    from trainer.services.workbench import open_workbench

    if arguments.all_solutions:
        return FAULTY if make_all_solutions(tell) else DONE
    named = {"CASE": arguments.case, "--commands": arguments.commands, "--out": arguments.out}
    missing = [name for name, value in named.items() if value is None]
    if missing:
        raise TrainerError(f"play: {', '.join(missing)} missing; or give --all-solutions")
    commands = load_commands(arguments.commands)
    bench = open_workbench(arguments.case)
    state = play(commands, bench, arguments.out, str(arguments.commands))
    print(appointment_text(state))
    print(f"Saved {arguments.out}")
    return DONE
