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
    from trainer.services.assets import known_structure_ids
    from trainer.services.library import units_for
    from trainer.services.scenario_io import check_file
    from trainer.services.unit_check import check_unit, is_unit, mean_heads
    from trainer.services.yaml_text import read_tree

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
                faults = check_file(path, units_for(path), ids)
                if not faults and is_unit(tree := read_tree(path)):
                    report = check_unit(tree, mean_heads())
                    faults = report.faults
                    for doubt in report.doubts:
                        say(f"{doubt} – possible, but look again")
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
