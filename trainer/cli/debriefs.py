"""The command that tells the debrief of a finished attempt: debrief."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.cli.attempts import bench_of_log
from trainer.cli.common import DONE, Add
from trainer.errors import Fault, NotAllowedNow, NotValid


def add_commands(add: Add) -> None:
    """Add this module's command."""
    sub = add("debrief", _debrief, "Tell the debrief of a finished attempt, to be read in 90 s.")
    sub.add_argument("log", metavar="LOG", type=Path, help="the log of an attempt")
    sub.add_argument("--case", metavar="FILE", help="the case's file, if it is not a shipped one")


def _debrief(arguments: argparse.Namespace) -> int:
    from trainer.services.appointment import replay_file
    from trainer.services.debrief import debrief, debrief_text

    bench = bench_of_log(arguments.log, arguments.case)
    done = replay_file(arguments.log, bench)
    if done.fault is not None:
        raise NotValid([Fault(str(arguments.log), done.fault.line, "log", done.fault.text)])
    if not done.state.finished:
        raise NotAllowedNow(
            f"{arguments.log}: the attempt is not finished, and a debrief would tell its result. "
            "Nothing was changed; go on with it in the window."
        )
    print(debrief_text(debrief(done.state, bench)))
    return DONE
