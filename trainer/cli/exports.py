"""The command export: what leaves the program, as files only."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.cli.common import DONE, Add, Run, add_case, add_set, seed, tell
from trainer.errors import NotReadable, TrainerError

if TYPE_CHECKING:
    from trainer.models.records import Learner
    from trainer.models.setup import Setup
    from trainer.services.records.store import Records
    from trainer.services.workbench import Workbench

SEPARATORS = {"comma": ",", "semicolon": ";"}


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    text = "Write files for others: printed page, tables, statements, images. Nothing is sent."
    kinds = add("export", _no_kind, text).add_subparsers(title="what to write", metavar="WHAT")

    def kind(name: str, run: Run, text: str) -> argparse.ArgumentParser:
        part = kinds.add_parser(name, help=text, description=text)
        part.set_defaults(run=run)
        return part

    part = kind("page", _page, "A learner's record on one printed page (PDF).")
    part.add_argument("learner", metavar="LEARNER", help="pseudonym or id")
    part.add_argument("--out", metavar="FILE.pdf", required=True, type=Path)
    part.add_argument("--name", default="", help="printed in the pseudonym's place, kept nowhere")
    part.add_argument("--paper", choices=("a4", "letter"), default="a4")
    _add_records(part)
    part = kind("tables", _tables, "Attempts, items and forms as tables (CSV).")
    _add_learners(part)
    part.add_argument("--out", metavar="FOLDER", required=True, type=Path)
    part.add_argument(
        "--separator",
        choices=tuple(SEPARATORS),
        default="comma",
        help="semicolon goes with a decimal comma",
    )
    part = kind("statements", _statements, "Attempts as Experience API statements (JSON Lines).")
    _add_learners(part)
    part.add_argument("--out", metavar="FILE.jsonl", required=True, type=Path)
    part.add_argument("--home-page", help="address of the system that the learners' ids are of")
    part = kind("picture", _picture, "The drawn case as DICOM, marked as simulated.")
    add_case(part)
    add_set(part)
    part.add_argument("--out", metavar="FILE.dcm", required=True, type=Path)
    part.add_argument("--skin-only", action="store_true", help="hide skull and field")
    part = kind("scouts", _scouts, "Both previews of a case as DICOM, marked as simulated.")
    _add_setup(part)
    part.add_argument("--spacing", metavar="MM", type=float, default=0.8, help="voxel of the head")
    _add_setup(kind("volume", _volume, "A case's volume as DICOM slices, marked as simulated."))
    part = kind("panorama", _panorama, "A case's panoramic picture as DICOM, marked as simulated.")
    add_case(part)
    add_set(part)
    part.add_argument("--out", metavar="FILE.dcm", required=True, type=Path)
    part.add_argument("--seed", type=seed, default=1, help="of the photon noise")


def _add_records(part: argparse.ArgumentParser) -> None:
    part.add_argument(
        "--records", metavar="PLACE", help="folder or database; as for 'trainer records'"
    )


def _add_learners(part: argparse.ArgumentParser) -> None:
    part.add_argument(
        "learners", metavar="LEARNER", nargs="*", help="pseudonym or id; without one, everybody"
    )
    _add_records(part)


def _add_setup(part: argparse.ArgumentParser) -> None:
    add_case(part)
    add_set(part)
    part.add_argument("--out", metavar="FOLDER", required=True, type=Path)
    part.add_argument("--seed", type=seed, default=1, help="of the photon noise")


def _no_kind(arguments: argparse.Namespace) -> int:
    raise TrainerError("export: say what to write, for example 'trainer export page'; see --help")


def _page(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.from_records import save_page
    from trainer.services.exports.pdf_record import Paper

    records, (learner,) = _people(arguments.records, [arguments.learner])
    today = datetime.now().astimezone().date()
    paper = Paper(arguments.paper)
    print(f"Saved {save_page(records, learner, arguments.out, today, arguments.name, paper)}")
    return DONE


def _tables(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.csv_out import Separator
    from trainer.services.exports.from_records import save_tables

    records, learners = _people(arguments.records, arguments.learners)
    separator = Separator(SEPARATORS[arguments.separator])
    for path in save_tables(records, learners, arguments.out, separator):
        print(f"Saved {path}")
    return DONE


def _statements(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.from_records import save_statements
    from trainer.services.exports.xapi import HOME_PAGE

    records, learners = _people(arguments.records, arguments.learners)
    home_page = arguments.home_page or HOME_PAGE
    print(f"Saved {save_statements(records, learners, arguments.out, home_page)}")
    return DONE


def _picture(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.dicom_images import save_capture_dicom
    from trainer.services.exports.from_case import study_of

    bench, setup = _bench_and_setup(arguments)
    try:
        from trainer.scene.snapshot import picture_of
    except ImportError as error:
        raise NotReadable(
            f"The drawing libraries are not installed ({error}). Run 'python3 start.py', which "
            "installs them."
        ) from error
    image = picture_of(bench, setup, look_inside=not arguments.skin_only)
    study = study_of(bench, setup, 0, datetime.now(UTC))
    print(f"Saved {save_capture_dicom(image, study, arguments.out, 'The drawn case')}")
    return DONE


def _scouts(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.from_case import save_case_scouts

    bench, setup = _bench_and_setup(arguments)
    now = datetime.now(UTC)
    for path in save_case_scouts(
        bench, setup, arguments.out, now, arguments.seed, arguments.spacing, tell
    ):
        print(f"Saved {path}")
    return DONE


def _volume(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.from_case import save_case_volume

    bench, setup = _bench_and_setup(arguments)
    now = datetime.now(UTC)
    written = save_case_volume(bench, setup, arguments.out, now, arguments.seed, tell)
    print(f"Saved {len(written)} slices in {arguments.out}")
    return DONE


def _panorama(arguments: argparse.Namespace) -> int:
    from trainer.services.exports.from_case import save_case_panorama

    bench, setup = _bench_and_setup(arguments)
    now = datetime.now(UTC)
    print(f"Saved {save_case_panorama(bench, setup, arguments.out, now, arguments.seed)}")
    return DONE


def _people(place: str | None, named: list[str]) -> tuple[Records, tuple[Learner, ...]]:
    """The records, and those who are named in them; everybody when nobody is."""
    from trainer.services.records.store import open_records

    records = open_records(place, make=False)
    if not named:
        return records, records.learners.all()
    return records, tuple(records.learners.named(each) for each in named)


def _bench_and_setup(arguments: argparse.Namespace) -> tuple[Workbench, Setup]:
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    return bench, setup_from_words(bench.case.start, bench.unit, arguments.changes)
