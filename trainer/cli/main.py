"""The command ``trainer``. Thin: each command calls services and prints.

Exit codes: 0 done; 1 the file or value has faults; 2 cannot be read, found or shown.
Heavy imports stand inside the commands, so that help and file checks start quickly.
"""

from __future__ import annotations

import argparse
import logging
import os
import sys
from collections.abc import Sequence

from trainer.cli import (
    attempts,
    debriefs,
    exports,
    files,
    learning,
    packs,
    people,
    placing,
    proof,
    records,
    volumes,
)
from trainer.cli.common import DONE, FAULTY, UNREADABLE, Run, say
from trainer.errors import NotFound, NotReadable, NotValid, TrainerError

# Every module here adds its commands, in this order.
MODULES = (
    placing,
    files,
    packs,
    people,
    attempts,
    debriefs,
    proof,
    records,
    learning,
    volumes,
    exports,
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    arguments = _parser().parse_args(argv)
    logging.basicConfig(level=logging.WARNING, format="%(name)s: %(message)s")
    try:
        return int(arguments.run(arguments))
    except NotValid as error:
        say(str(error))
        return FAULTY
    except (NotReadable, NotFound) as error:
        say(str(error.args[0] if error.args else error))
        return UNREADABLE
    except TrainerError as error:
        say(str(error))
        return FAULTY
    except BrokenPipeError:
        # the reader of our output has closed it, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        say(f"{error.filename or 'file'}: {error.strerror or error}. Nothing was changed.")
        return UNREADABLE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="trainer",
        description="Practise placing a patient in a dental cone-beam CT unit, on a synthetic head "
        "and without radiation. Without a command the window opens.",
        epilog="Training only: not a medical device, not evidence of clinical competence. Local "
        "rules and licensed practitioners decide.",
    )
    parser.set_defaults(run=placing.run_window, case=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def add(name: str, run: Run, text: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text)
        sub.set_defaults(run=run)
        return sub

    for module in MODULES:
        module.add_commands(add)
    return parser


if __name__ == "__main__":
    sys.exit(main())
