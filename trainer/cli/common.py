"""What the commands share: exit codes, reading words, speaking."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import Protocol

DONE, FAULTY, UNREADABLE = 0, 1, 2
LARGEST_SEED = 999_999

Run = Callable[[argparse.Namespace], int]


class Add(Protocol):
    """Adds a command: its name, what runs it, and what it does in a sentence."""

    def __call__(self, name: str, run: Run, text: str) -> argparse.ArgumentParser: ...


def seed(text: str) -> int:
    """A seed as command lists have it, too."""
    if text.isdecimal() and int(text) <= LARGEST_SEED:
        return int(text)
    raise argparse.ArgumentTypeError(f"must be a whole number, 0 to {LARGEST_SEED}; got {text!r}")


def say(text: str) -> None:
    """Tell the person at the terminal something that is not the command's output."""
    print(text, file=sys.stderr)


def tell(part: str) -> None:
    """Tell at once which part of a longer work begins."""
    print(part, flush=True)


def add_case(sub: argparse.ArgumentParser, optional: bool = False) -> None:
    """Let the command take a case."""
    kept = {"nargs": "?"} if optional else {}
    sub.add_argument("case", metavar="CASE", help="name of a shipped case, or a file", **kept)  # type: ignore[arg-type]


def add_set(sub: argparse.ArgumentParser) -> None:
    """Let the command take values over the case's start."""
    sub.add_argument(
        "--set",
        dest="changes",
        metavar="KEY=VALUE",
        action="extend",
        nargs="+",
        default=[],
        help="values over the case's start, for example chin_height_mm=6 yaw_deg=0",
    )
