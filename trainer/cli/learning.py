"""Commands about learning over time: progress, practise, group, standards."""

from __future__ import annotations

import argparse
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.cli.common import DONE, Add, seed
from trainer.cli.records import LEARNER_HELP, PLACE_HELP
from trainer.errors import NotAllowedNow

if TYPE_CHECKING:
    from trainer.models.records import Learner
    from trainer.services.records.store import Records

SET_SIZE = 6


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add("progress", _progress, "What a learner's attempts say, and what to practise next.")
    sub.add_argument("learner", metavar="LEARNER", help=LEARNER_HELP)
    sub.add_argument("--plots", metavar="FOLDER", type=Path, help="save the plots there, as PNG")
    _add_place(sub)
    _add_json(sub)
    sub = add("practise", _practise, "A set of cases in mixed order, or an exam's eight.")
    sub.add_argument("--exam", action="store_true", help="eight cases by the exam's blueprint")
    sub.add_argument(
        "--size", metavar="N", type=int, default=SET_SIZE, help=f"cases of a set ({SET_SIZE})"
    )
    sub.add_argument("--seed", type=seed, default=1, help="another seed, another set (1)")
    sub = add("group", _group, "How an instructor's group does: no names, no ranking.")
    sub.add_argument("instructor", metavar="INSTRUCTOR", help=LEARNER_HELP)
    sub.add_argument("--items", metavar="CASE", help="the score's rows at one case instead")
    _add_place(sub)
    _add_json(sub)
    sub = add("standards", _standards, "Pass marks, agreement and reliability in a group.")
    sub.add_argument("instructor", metavar="INSTRUCTOR", help=LEARNER_HELP)
    _add_place(sub)


def _add_place(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--records", metavar="PLACE", help=PLACE_HELP)


def _add_json(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--json", action="store_true", help="print everything as JSON")


def _progress(arguments: argparse.Namespace) -> int:
    from trainer.services.learning.report import (
        learner_data,
        learner_report,
        learner_text,
        library,
        save_plots,
    )
    from trainer.services.records.store import open_records

    records = open_records(arguments.records, make=False)
    learner = records.learners.named(arguments.learner)
    attempts = records.attempts(learner.id, with_logs=False)
    report = learner_report(library(), attempts, datetime.now(UTC))
    if arguments.json:
        print(json.dumps(learner_data(report), indent=1))
    else:
        print(learner_text(report))
    if arguments.plots is not None:
        for path in save_plots(attempts, arguments.plots):
            print(f"Saved {path}")
    return DONE


def _practise(arguments: argparse.Namespace) -> int:
    from trainer.engine.learning.practice import MINUTES_PER_CASE, exam_set, practice_set
    from trainer.services.learning.report import library

    if arguments.exam:
        chosen = exam_set(library(), arguments.seed)
        print(f"Exam: {len(chosen)} cases, at most {MINUTES_PER_CASE} minutes each, no help")
    else:
        chosen = practice_set(library(), arguments.size, arguments.seed)
    for case in chosen:
        print(f"  {case.id}  ({case.task}, level {case.level})")
    return DONE


def _group(arguments: argparse.Namespace) -> int:
    from trainer.services.learning.group_report import (
        case_items,
        group_data,
        group_text,
        group_view,
        items_text,
    )

    records, people = _opened(arguments)
    attempts = [a for p in people for a in records.attempts(p.id, with_logs=False)]
    if arguments.items:
        print(items_text(case_items(attempts, arguments.items)))
        return DONE
    view = group_view(attempts)
    print(json.dumps(group_data(view), indent=1) if arguments.json else group_text(view))
    return DONE


def _standards(arguments: argparse.Namespace) -> int:
    from trainer.services.learning.standards_report import standards_report, standards_text

    records, people = _opened(arguments)
    report = standards_report(
        [a for p in people for a in records.attempts(p.id, with_logs=False)],
        [o for p in people for o in records.observations(p.id)],
        records.estimates(records.learners.named(arguments.instructor)),
        [c for p in people for c in records.supervised(p.id)],
    )
    print(standards_text(report))
    return DONE


def _opened(arguments: argparse.Namespace) -> tuple[Records, list[Learner]]:
    """The records, and the people of the instructor's group who are no instructors."""
    from trainer.services.records.store import open_records

    records = open_records(arguments.records, make=False)
    instructor = records.learners.named(arguments.instructor)
    if not instructor.is_instructor:
        raise NotAllowedNow(f"{instructor.pseudonym} is no instructor, so has no group to see.")
    return records, [p for p in records.learners.all(instructor) if not p.is_instructor]
