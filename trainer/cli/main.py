"""The command ``trainer``. Thin: each command calls services and prints.

Exit codes: 0 done; 1 the file or value has faults; 2 cannot be read, found or shown.
Heavy imports stand inside the commands, so that help and file checks start quickly.
"""

from __future__ import annotations

import argparse
import json
import logging
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import NotFound, NotReadable, NotValid, TrainerError

if TYPE_CHECKING:
    from trainer.models.subject import Person

DONE, FAULTY, UNREADABLE = 0, 1, 2
LARGEST_SEED = 999_999
OWN_CASE = "If the attempt was at a case of your own, name its file with --case FILE."
log = logging.getLogger("trainer.cli")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    arguments = _parser().parse_args(argv)
    logging.basicConfig(level=logging.WARNING, format="%(name)s: %(message)s")
    try:
        return int(arguments.run(arguments))
    except NotValid as error:
        _say(str(error))
        return FAULTY
    except (NotReadable, NotFound) as error:
        _say(str(error.args[0] if error.args else error))
        return UNREADABLE
    except TrainerError as error:
        _say(str(error))
        return FAULTY
    except BrokenPipeError:
        # the reader of our output has closed it, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        _say(f"{error.filename or 'file'}: {error.strerror or error}. Nothing was changed.")
        return UNREADABLE


def _seed(text: str) -> int:
    """A seed as command lists have it, too."""
    if text.isdecimal() and int(text) <= LARGEST_SEED:
        return int(text)
    raise argparse.ArgumentTypeError(f"must be a whole number, 0 to {LARGEST_SEED}; got {text!r}")


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="trainer",
        description="Practise placing a patient in a dental cone-beam CT unit, on a synthetic head "
        "and without radiation. Without a command the window opens.",
        epilog="Training only: not a medical device, not evidence of clinical competence. Local "
        "rules and licensed practitioners decide.",
    )
    parser.set_defaults(run=_window, case=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def add(name: str, run: object, text: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text)
        sub.set_defaults(run=run)
        return sub

    def add_case(sub: argparse.ArgumentParser, **more: object) -> None:
        sub.add_argument("case", metavar="CASE", help="name of a shipped case, or a file", **more)  # type: ignore[arg-type]

    def add_set(sub: argparse.ArgumentParser) -> None:
        sub.add_argument(
            "--set",
            dest="changes",
            metavar="KEY=VALUE",
            action="extend",
            nargs="+",
            default=[],
            help="values over the case's start, for example chin_height_mm=6 yaw_deg=0",
        )

    sub = add("window", _window, "Open the window, on a case if one is named.")
    add_case(sub, nargs="?")
    sub = add("assess", _assess, "Tell what the field holds and what to change.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--json", action="store_true", help="print everything as JSON")
    sub = add("check", _check, "Report every fault in case, unit, rules and command files.")
    sub.add_argument("paths", metavar="PATH", nargs="+", help="a file, or a folder of files")
    sub = add("render", _render, "Draw a case off screen into a PNG file.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--out", metavar="FILE.png", required=True, type=Path)
    sub.add_argument("--skin-only", action="store_true", help="hide skull and field")
    sub = add("anatomy", _anatomy, "Tell landmarks, tooth sizes and volumes of the head.")
    sub.add_argument(
        "--person",
        metavar="KEY=VALUE",
        action="extend",
        nargs="+",
        default=[],
        help="whose head, laid over the mean man's, for example sex=female age_years=9 "
        "missing=36,46; docs/case-files.md explains the keys",
    )
    sub.add_argument(
        "--draw",
        metavar="SEED",
        type=_seed,
        help="draw the sizes at random, over which --person is laid",
    )
    sub.add_argument(
        "--measure", action="store_true", help="measure the head and print each norm beside"
    )
    sub.add_argument("--json", action="store_true", help="print everything as JSON")
    sub.add_argument(
        "--phantom",
        metavar="FILE.nii.gz",
        type=Path,
        help="write the head as a volume of materials instead, with its densities beside",
    )
    sub.add_argument(
        "--spacing", metavar="MM", type=float, default=0.5, help="edge of its voxels (0.5)"
    )
    sub = add("scout", _scout, "Draw the simulated frontal and lateral preview of a case.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--out", metavar="FOLDER", required=True, type=Path)
    sub.add_argument("--spacing", metavar="MM", type=float, default=0.8, help="voxel of the head")
    sub.add_argument("--seed", type=_seed, default=1, help="of the photon noise")
    sub = add("replay", _replay, "Do the log of an attempt again: what happened, what it came to.")
    sub.add_argument("log", metavar="LOG", type=Path, help="the log of an attempt")
    sub.add_argument("--case", metavar="FILE", help="the case's file, if it is not a shipped one")
    sub.add_argument("--json", action="store_true", help="print the summary as JSON")
    sub = add("play", _play, "Do a list of commands in a case's appointment and log it.")
    add_case(sub, nargs="?")
    sub.add_argument("--commands", metavar="FILE.yaml", type=Path, help="the list")
    sub.add_argument("--out", metavar="LOG", type=Path, help="the log, which must not be there yet")
    sub.add_argument(
        "--all-solutions",
        action="store_true",
        help="make the logs of all shipped solutions again, as after a change of the head",
    )
    sub = add("build-head", _build_head, "Build the head's surfaces from the model again.")
    sub.add_argument("--out", metavar="FOLDER", type=Path, default=None)
    sub.add_argument("--sex", choices=("male", "female"), action="append")
    sub = add("demo", _demo, "Play the demo case and leave a report and pictures.")
    sub.add_argument("--out", metavar="FOLDER", type=Path, default=Path("demo-output"))
    return parser


def _window(arguments: argparse.Namespace) -> int:
    try:
        from trainer.app.main import run
    except ImportError as error:
        raise NotReadable(
            f"The window's libraries are not installed ({error}). Run 'python3 start.py', which "
            "installs them; the commands 'trainer assess' and 'trainer check' work without."
        ) from error
    return run(arguments.case)


def _assess(arguments: argparse.Namespace) -> int:
    from trainer.services.assessment import assess, assessment_data, assessment_text
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    if arguments.json:
        print(json.dumps(assessment_data(assess(bench, setup)), indent=1))
    else:
        print(assessment_text(assess(bench, setup)))
    return DONE


def _check(arguments: argparse.Namespace) -> int:
    from trainer.services.assets import UNITS, known_structure_ids
    from trainer.services.scenario_io import check_file

    ids = known_structure_ids()
    code, files = DONE, 0
    for named in map(Path, arguments.paths):
        found = sorted(named.rglob("*.y*ml")) if named.is_dir() else [named]
        if not found:
            _say(f"{named}: no case, unit, rules or command files in this folder")
            code = max(code, UNREADABLE)
        for path in found:
            files += 1
            try:
                faults = check_file(path, UNITS, ids)
            except NotReadable as error:
                _say(str(error.args[0] if error.args else error))
                code = max(code, UNREADABLE)
                continue
            for fault in faults:
                print(fault)
            if faults:
                code = max(code, FAULTY)
    if code == DONE:
        print(f"{files} file{'s' if files != 1 else ''} checked, no faults.")
    return code


def _render(arguments: argparse.Namespace) -> int:
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    try:
        from trainer.scene.snapshot import save_picture
    except ImportError as error:
        raise NotReadable(
            f"The drawing libraries are not installed ({error}). Run 'python3 start.py', which "
            "installs them."
        ) from error
    save_picture(bench, setup, arguments.out, look_inside=not arguments.skin_only)
    print(f"Saved {arguments.out}")
    return DONE


def _anatomy(arguments: argparse.Namespace) -> int:
    from trainer.services.person_io import person_from_words

    person = person_from_words(arguments.person, arguments.draw)
    if arguments.phantom is not None:
        return _phantom(person, arguments.spacing, arguments.phantom)
    from trainer.services.anatomy_report import (
        anatomy_report,
        anatomy_text,
        measures_report,
        measures_text,
    )

    make, tell = (
        (measures_report, measures_text) if arguments.measure else (anatomy_report, anatomy_text)
    )
    report = make(person)
    print(json.dumps(report, indent=1) if arguments.json else tell(report))
    return DONE


def _phantom(person: Person, spacing_mm: float, path: Path) -> int:
    from trainer.services.assets import MESHES
    from trainer.services.head_store import stored_phantom
    from trainer.services.volume_io import check_place, save_phantom

    check_place(path)
    phantom = stored_phantom(person, spacing_mm, MESHES, _tell)
    for written in save_phantom(phantom, path):
        print(f"Saved {written}")
    return DONE


def _scout(arguments: argparse.Namespace) -> int:
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    try:
        from trainer.services.scouts import save_scouts
    except ImportError as error:
        raise NotReadable(f"The libraries for simulated images are missing ({error}).") from error
    for path in save_scouts(bench, setup, arguments.out, arguments.spacing, arguments.seed, _tell):
        print(f"Saved {path}")
    return DONE


def _replay(arguments: argparse.Namespace) -> int:
    from trainer.services.appointment import replay_file
    from trainer.services.appointment_report import appointment_data, appointment_text, course_text
    from trainer.services.attempt_log import read_log
    from trainer.services.workbench import open_workbench

    named = arguments.case or read_log(arguments.log).header.case
    try:
        bench = open_workbench(named)
    except NotFound as error:
        if arguments.case:
            raise
        raise NotFound(f"{arguments.log}: {error.args[0]}. {OWN_CASE}") from error
    done = replay_file(arguments.log, bench)
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
    _say(f"{arguments.log}: {fault}. What is printed is what came before.{hint}")
    return FAULTY


def _play(arguments: argparse.Namespace) -> int:
    from trainer.services.appointment import play
    from trainer.services.appointment_report import appointment_text
    from trainer.services.command_list import load_commands
    from trainer.services.solutions import make_all_solutions
    from trainer.services.workbench import open_workbench

    if arguments.all_solutions:
        return FAULTY if make_all_solutions(_tell) else DONE
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


def _tell(part: str) -> None:
    print(part, flush=True)


def _build_head(arguments: argparse.Namespace) -> int:
    from trainer.models.subject import Person, Sex
    from trainer.services.assets import MESHES, build_meshes

    people = tuple(Person(Sex(s)) for s in arguments.sex or tuple(Sex))
    folder = arguments.out or MESHES
    build_meshes(folder, people, lambda text: print(text, flush=True))
    print(f"Built into {folder}")
    return DONE


def _demo(arguments: argparse.Namespace) -> int:
    from trainer.services.demo import play_demo

    try:
        from trainer.scene.snapshot import save_picture
    except ImportError:
        save_picture = None  # type: ignore[assignment]
        _say("The drawing libraries are not installed: the demo leaves its report, no pictures.")
    for path in play_demo(arguments.out, save_picture):
        print(f"Saved {path}")
    return DONE


if __name__ == "__main__":
    sys.exit(main())
