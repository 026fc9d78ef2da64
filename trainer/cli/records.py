"""Commands about records of learners: verify, records.

They are for whoever looks after the records, and ask for no PIN: a PIN keeps profiles apart at the
screen, it does not lock the files.
"""

from __future__ import annotations

import argparse
import getpass
import sys
from datetime import UTC, datetime
from pathlib import Path

from trainer.cli.common import DONE, FAULTY, UNREADABLE, Add, Run, say
from trainer.errors import NotFound, NotReadable, TrainerError

PLACE_HELP = (
    "folder of the records, or postgresql+psycopg://user@computer/database; without it, what "
    "TRAINER_RECORDS says, or else the user's own folder"
)
LEARNER_HELP = "pseudonym or id"


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add("verify", _verify, "Find what was changed in records, exports or logs of attempts.")
    sub.add_argument(
        "named",
        metavar="RECORDS|EXPORT|LOG",
        nargs="*",
        help=f"what to verify; {PLACE_HELP}",
    )
    _add_cases(sub)
    text = "Look after the records of learners: list, add, export, erase, copy."
    records = add("records", _no_work, text)
    works = records.add_subparsers(title="what to do", metavar="WORK")

    def work(name: str, run: Run, text: str) -> argparse.ArgumentParser:
        part = works.add_parser(name, help=text, description=text)
        part.set_defaults(run=run)
        part.add_argument("--records", metavar="PLACE", help=PLACE_HELP)
        return part

    work("list", _list, "Everybody in the records, and how much is kept of them.")
    part = work("add", _add, "Add a profile; asks for a PIN.")
    part.add_argument("pseudonym", metavar="PSEUDONYM", nargs="?", help="made up if left out")
    part.add_argument("--name", default="", help="the person's own name; better left out")
    part.add_argument("--group", default="", help="course or practice")
    part.add_argument("--instructor", action="store_true", help="may see the group")
    part.add_argument("--no-pin", action="store_true", help="anybody at the screen may open it")
    part = work("export", _export, "Take out everything that is kept of a learner.")
    part.add_argument("learner", metavar="LEARNER", help=LEARNER_HELP)
    part.add_argument("out", metavar="OUT", type=Path, help="new folder, or archive ending in .zip")
    part = work("erase", _erase, "Erase a learner and all of their work. It cannot be undone.")
    part.add_argument("learner", metavar="LEARNER", help=LEARNER_HELP)
    part.add_argument("--yes", action="store_true", help="do not ask first")
    part = work("copy", _copy, "Copy the records as a backup, even while they are in use.")
    part.add_argument("out", metavar="FOLDER", type=Path, help="new folder")
    part = work("overdue", _overdue, "Who has been kept for as long as the rules say.")
    part.add_argument("--months", type=_months, required=True, help="as in the local rules")
    part = work("take-in", _take_in, "Store finished attempts that are not stored yet.")
    _add_cases(part)


def _add_cases(sub: argparse.ArgumentParser) -> None:
    sub.add_argument(
        "--case",
        dest="cases",
        metavar="FILE",
        action="append",
        type=Path,
        default=[],
        help="the file of a case that is not a shipped one; may be given several times",
    )


def _months(text: str) -> int:
    if text.isdecimal() and 1 <= int(text) <= 1200:
        return int(text)
    raise argparse.ArgumentTypeError(f"must be a whole number, 1 to 1200; got {text!r}")


def _verify(arguments: argparse.Namespace) -> int:
    from trainer.services.records.scorer import CaseScorer
    from trainer.services.records.verify import verify

    scorer, code = CaseScorer(arguments.cases), DONE
    for named in arguments.named or [None]:
        try:
            report = verify(named, scorer)
        except (NotReadable, NotFound) as error:
            say(str(error.args[0] if error.args else error))
            code = UNREADABLE
            continue
        except TrainerError as error:
            say(str(error))
            code = max(code, FAULTY)
            continue
        print(report.text())
        if report.findings:
            code = max(code, FAULTY)
    return code


def _no_work(arguments: argparse.Namespace) -> int:
    raise TrainerError("records: say what to do, for example 'trainer records list'; see --help")


def _list(arguments: argparse.Namespace) -> int:
    from trainer.services.records.store import open_records

    records = open_records(arguments.records, make=False)
    print(f"Records in {records.place}")
    for learner in records.learners.all():
        kept = len(records.attempts(learner.id, with_logs=False))
        role = ", instructor" if learner.is_instructor else ""
        group = f", group {learner.group}" if learner.group else ""
        print(f"  {learner.pseudonym}{role}{group}: {kept} attempts  [{learner.id}]")
    return DONE


def _add(arguments: argparse.Namespace) -> int:
    import random

    from trainer.services.records.learners import new_pseudonym
    from trainer.services.records.store import open_records

    records = open_records(arguments.records)
    pseudonym = arguments.pseudonym
    if not pseudonym:
        taken = [learner.pseudonym for learner in records.learners.all()]
        pseudonym = new_pseudonym(taken, random.SystemRandom())
    pin = "" if arguments.no_pin else _asked_pin()
    learner = records.learners.add(
        pseudonym,
        now=datetime.now(UTC),
        name=arguments.name,
        group=arguments.group,
        is_instructor=arguments.instructor,
        pin=pin,
    )
    print(f"Added {learner.pseudonym}  [{learner.id}]")
    return DONE


def _asked_pin() -> str:
    """A PIN typed twice; from a pipe it is read once."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().strip()
    first = getpass.getpass("PIN, 4 to 12 digits: ")
    if getpass.getpass("The same again: ") != first:
        raise TrainerError("The two PINs differ. Nothing was added.")
    return first


def _export(arguments: argparse.Namespace) -> int:
    from trainer.services.records.export import export_learner
    from trainer.services.records.store import open_records

    records = open_records(arguments.records, make=False)
    learner = records.learners.named(arguments.learner)
    print(f"Saved {export_learner(records, learner.id, arguments.out)}")
    return DONE


def _erase(arguments: argparse.Namespace) -> int:
    from trainer.services.records.erase import erase_learner
    from trainer.services.records.store import open_records

    records = open_records(arguments.records, make=False)
    learner = records.learners.named(arguments.learner)
    if not arguments.yes:
        say(f"This erases {learner.pseudonym} with every attempt, form and log, for good.")
        say("Type the pseudonym to go on:")
        if sys.stdin.readline().strip() != learner.pseudonym:
            raise TrainerError("Nothing was erased.")
    print(erase_learner(records, learner.id))
    return DONE


def _copy(arguments: argparse.Namespace) -> int:
    from trainer.services.records.backup import copy_records
    from trainer.services.records.store import open_records

    print(f"Saved {copy_records(open_records(arguments.records, make=False), arguments.out)}")
    return DONE


def _overdue(arguments: argparse.Namespace) -> int:
    from trainer.services.records.retention import overdue
    from trainer.services.records.store import open_records

    records = open_records(arguments.records, make=False)
    found = overdue(records, arguments.months, datetime.now(UTC))
    for each in found:
        print(f"  {each.learner.pseudonym}: nothing new since {each.last_active}")
    print("Erase with 'trainer records erase', or export first." if found else "Nobody is due.")
    return DONE


def _take_in(arguments: argparse.Namespace) -> int:
    from trainer.services.records.scorer import CaseScorer
    from trainer.services.records.store import open_records
    from trainer.services.records.under_way import take_in_finished

    records = open_records(arguments.records, make=False)
    found = take_in_finished(records, CaseScorer(arguments.cases))
    for attempt in found.stored:
        print(f"  stored: {attempt.case_id}, {attempt.percent:g} points")
    for path, reason in found.left:
        say(f"left as it is: {path}: {reason}")
    print(f"{len(found.stored)} stored, {len(found.left)} left.")
    return FAULTY if found.left else DONE
