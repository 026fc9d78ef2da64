"""Commands about files that instructors write: check."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.cli.common import DONE, FAULTY, UNREADABLE, Add, say
from trainer.errors import NotReadable


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add("check", _check, "Report every fault in case, unit, rules and command files.")
    sub.add_argument("paths", metavar="PATH", nargs="+", help="a file, or a folder of files")


def _check(arguments: argparse.Namespace) -> int:
    from trainer.services.assets import UNITS, known_structure_ids
    from trainer.services.scenario_io import check_file

    ids = known_structure_ids()
    code, files = DONE, 0
    for named in map(Path, arguments.paths):
        found = sorted(named.rglob("*.y*ml")) if named.is_dir() else [named]
        if not found:
            say(f"{named}: no case, unit, rules or command files in this folder")
            code = max(code, UNREADABLE)
        for path in found:
            files += 1
            try:
                faults = check_file(path, UNITS, ids)
            except NotReadable as error:
                say(str(error.args[0] if error.args else error))
                code = max(code, UNREADABLE)
                continue
            for fault in faults:
                print(fault)
            if faults:
                code = max(code, FAULTY)
    if code == DONE:
        print(f"{files} file{'s' if files != 1 else ''} checked, no faults.")
    return code
