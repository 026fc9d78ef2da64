"""Command lists: what an operator does in an appointment, as a readable file.

Each entry is a command as in a log (`engine.appointment.plain_data`), with ``after_s``, the seconds
since the one before, in place of its time.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from trainer.engine.appointment.plain_data import KINDS, command_from_data
from trainer.errors import Fault, NotValid
from trainer.models.appointment_commands import Command
from trainer.models.learning import HelpLevel
from trainer.services.file_check import (
    entries,
    got,
    in_order,
    known,
    near_hint,
    schema_faults,
    sound_tree,
)
from trainer.services.yaml_text import Tree, key_path

USUAL_AFTER_S = 2.0


@dataclass(frozen=True, slots=True)
class CommandList:
    """The commands with their times, the case they are for, and the seed of chance.

    ``lines`` are those of the file, one for each command; ``help`` is the attempt's help level.
    """

    case: str
    seed: int
    commands: tuple[Command, ...]
    lines: tuple[int, ...]
    help: HelpLevel = HelpLevel.NONE


def load_commands(path: Path) -> CommandList:
    """The list that the file holds.

    Raises
    ------
    NotReadable, NotValid
        As `sound_tree`.
    """
    tree = sound_tree(path, commands_faults)
    data: Any = tree.data
    at_s, commands = 0.0, []
    for entry in data["commands"]:
        at_s = round(at_s + float(entry.get("after_s", USUAL_AFTER_S)), 3)
        commands.append(command_from_data(_command_data(entry, at_s), str(path)))
    lines = tuple(tree.line(("commands", n)) for n in range(len(commands)))
    level = HelpLevel(data.get("help", HelpLevel.NONE))
    return CommandList(data["case"], int(data["seed"]), tuple(commands), lines, level)


def _command_data(entry: dict[str, Any], at_s: float) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if key != "after_s"} | {"at_s": at_s}


def commands_faults(tree: Tree) -> tuple[Fault, ...]:
    """Every fault of a command list, from top to bottom; empty when all is well."""
    schema_faults(tree, "commands")
    for n in entries(tree, "commands"):
        entry = known(tree, "commands", n)
        if not isinstance(entry, dict) or tree.is_spoiled(("commands", n, "do")):
            continue
        name = entry.get("do")
        if name not in KINDS:
            if isinstance(name, str):
                tree.say(
                    ("commands", n, "do"), f"unknown command {got(name)}{near_hint(name, KINDS)}"
                )
            continue
        _command_faults(tree, n, entry)
    return in_order(tree)


def _command_faults(tree: Tree, n: int, entry: dict[str, Any]) -> None:
    if "at_s" in entry:
        tree.say(("commands", n, "at_s"), "times are told by after_s, since the command before")
        return
    expected = ["after_s" if f.name == "at_s" else f.name for f in fields(KINDS[entry["do"]])]
    strange = [key for key in entry if key not in ("do", *expected)]
    for key in strange:
        place = ("commands", n, key)
        hint = near_hint(key, expected) or f"; known here: {', '.join(expected)}"
        tree.say(place, f"unknown key{hint}", tree.key_lines.get(place))
    sound = {key: value for key, value in entry.items() if key not in strange}
    try:
        command_from_data(_command_data(sound, 0.0))
    except NotValid as error:
        for fault in error.faults:
            tree.say(("commands", n, *key_path(fault.key)), fault.text)
