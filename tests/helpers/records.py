"""Records for tests: logs and scores that cost nothing, and clients in processes of their own."""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from multiprocessing import forkserver
from pathlib import Path
from typing import Any
from unittest import mock

from trainer.engine.appointment.plain_data import command_to_data
from trainer.models import appointment_commands as do
from trainer.models.learning import HelpLevel, Task
from trainer.models.records import (
    Learner,
    Observation,
    PanelEstimate,
    StoredAttempt,
    SupervisedCase,
)
from trainer.services.appointment import PROGRAM_VERSION
from trainer.services.attempt_log import FORMAT, START, chained, parse_log
from trainer.services.records.store import Records, open_records
from trainer.services.records.under_way import attempts_folder_of, take_in_finished

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = date(2026, 3, 2)
PIN = "4711"


def made_log(seed: int = 1, commands: int = 3, finished: bool = True) -> bytes:
    """A chained log of a few commands that nobody has replayed."""
    header = {
        "attempt_log": FORMAT,
        "case": "lower-third-molar",
        "case_sha256": "ab" * 32,
        "help": str(HelpLevel.NONE),
        "program": PROGRAM_VERSION,
        "seed": seed,
    }
    done: list[do.Command] = [do.Wait(at_s=float(n)) for n in range(commands)]
    if finished:
        done.append(do.Finish(at_s=float(commands)))
    lines = [chained(START, header)]
    for command in done:
        data = {"command": command_to_data(command), "events_sha256": "cd" * 32}
        lines.append(chained(json.loads(lines[-1])["hash"], data))
    return "".join(lines).encode("ascii")


def made_score(
    log: bytes, *, attempt_id: str, learner_id: str, finished_at: datetime
) -> StoredAttempt:
    """An attempt whose every number is made of its log, as a scorer's."""
    read = parse_log(log, "log")
    percent = round(40 + read.header.seed % 600 / 10, 1)
    return StoredAttempt(
        id=attempt_id,
        learner_id=learner_id,
        case_id=read.header.case,
        case_sha256=read.header.case_sha256,
        task=Task.SINGLE_SITE,
        help=HelpLevel.NONE,
        hints=0,
        seed=read.header.seed,
        program=read.header.program,
        finished_at=finished_at,
        percent=percent,
        critical=("wrong-patient",) if percent < 60 else (),
        mastered=percent >= 90,
        needless_retake=False,
        scout_pairs=1,
        runs=1,
        duration_s=float(len(read.entries)),
        score={"percent": percent, "blocks": [{"block": "position", "earned": 0.5}]},
        log=log,
        prediction={"percent": 80, "cut": ["tooth-48"], "acceptable": True},
    )


def attempt_of(learner: Learner, seed: int = 1) -> StoredAttempt:
    """A finished attempt of the learner's."""
    log = made_log(seed)
    number = f"{learner.id}-{seed}"
    return made_score(log, attempt_id=number, learner_id=learner.id, finished_at=NOW)


def supervised_of(learner: Learner, **values: Any) -> SupervisedCase:
    """A supervised case that is filled in rightly but for the values given."""
    said: dict[str, Any] = {
        "id": f"{learner.id}-supervised",
        "learner_id": learner.id,
        "on": TODAY,
        "supervisor": "Mr Elder",
        "region": "single site lower",
        "field_class": "small",
        "patient_group": "adult",
        "positioned_by": "trainee",
        "prompts": 1,
        "scouts": 2,
        "exposures": 1,
        "grade": "A",
        "cause": "",
        "supervision": 3,
        "done_well": "calm words",
        "aim": "look from the side, too",
        "case_number": "0815",
    }
    return SupervisedCase(**{**said, **values})


def observation_of(learner: Learner, **values: Any) -> Observation:
    """An observation that is filled in rightly but for the values given."""
    said: dict[str, Any] = {
        "id": f"{learner.id}-observation",
        "learner_id": learner.id,
        "on": TODAY,
        "observer": "Mrs Hazel",
        "setting": "real procedure",
        "ratings": {"uses the scout": 4, "professionalism": 5},
        "overall": 4,
        "supervision": 4,
        "done_well": "checked the name",
        "aim": "free path",
    }
    return Observation(**{**said, **values})


def estimate_of(judge: Learner, **values: Any) -> PanelEstimate:
    """A judge's estimate."""
    said: dict[str, Any] = {
        "id": f"{judge.id}-estimate",
        "judge_id": judge.id,
        "panel": "spring",
        "case_id": "lower-third-molar",
        "item": "identity",
        "share": 0.85,
        "on": TODAY,
    }
    return PanelEstimate(**{**said, **values})


def put_under_way(records: Records, learner: Learner, seeds: Sequence[int]) -> list[Path]:
    """Finished logs in the learner's folder that are not stored yet."""
    folder = attempts_folder_of(records, learner.id)
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"case-{seed:04d}.log" for seed in seeds]
    for path, seed in zip(paths, seeds, strict=True):
        path.write_bytes(made_log(seed))
    return paths


# Processes begin as copies of one that has loaded everything and has no threads: a start takes
# milliseconds, so that many can be started and killed.
_processes = multiprocessing.get_context("forkserver")
_processes.set_forkserver_preload(["helpers.records", "pytest", "sqlalchemy.dialects.sqlite"])


def start(work: Callable[..., None], *arguments: Any) -> Any:
    """A process that does the work; it has begun when this returns."""
    with mock.patch.dict(os.environ, PYTHONPATH=os.pathsep.join(sys.path)):
        forkserver.ensure_running()
    here, there = _processes.Pipe(duplex=False)
    process = _processes.Process(target=_begin, args=(there, work, arguments))
    process.start()
    there.close()
    here.recv()
    here.close()
    return process


def _begin(pipe: Any, work: Callable[..., None], arguments: tuple[Any, ...]) -> None:
    pipe.send("begins")
    work(*arguments)


def open_only(place: str, learner_name: str) -> None:
    """A client that opens the records and adds a profile."""
    open_records(place).learners.add(learner_name, now=NOW)


def write_attempts(place: str, learner_ids: Sequence[str], client: int, times: int) -> None:
    """A client that stores attempts of every learner, in an order of its own."""
    records = open_records(place)
    work = [(learner_id, n) for learner_id in learner_ids for n in range(times)]
    random.Random(client).shuffle(work)
    for learner_id, n in work:
        records.add_attempt(attempt_of(records.learners.get(learner_id), 1000 * client + n))


def guess_pins(place: str, learner_id: str) -> None:
    """A client that tries a wrong PIN."""
    from trainer.services.records.pins import WrongPin

    try:
        open_records(place).learners.sign_in(learner_id, "0000", NOW)
    except WrongPin:
        return
    raise AssertionError("a wrong PIN was taken")


def take_in_all(place: str, data_home: str) -> None:
    """A client that takes in every finished log."""
    os.environ["XDG_DATA_HOME"] = data_home
    take_in_finished(open_records(place), made_score)
