"""Commands about heads: anatomy, build-head."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.cli.common import DONE, Add, seed, tell

if TYPE_CHECKING:
    from trainer.models.subject import Person


def add_commands(add: Add) -> None:
    """Add this module's commands."""
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
        type=seed,
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
    sub = add("build-head", _build_head, "Build the head's surfaces from the model again.")
    sub.add_argument("--out", metavar="FOLDER", type=Path, default=None)
    sub.add_argument("--sex", choices=("male", "female"), action="append")


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
    phantom = stored_phantom(person, spacing_mm, MESHES, tell)
    for written in save_phantom(phantom, path):
        print(f"Saved {written}")
    return DONE


def _build_head(arguments: argparse.Namespace) -> int:
    from trainer.models.subject import Person, Sex
    from trainer.services.assets import MESHES, build_meshes

    people = tuple(Person(Sex(s)) for s in arguments.sex or tuple(Sex))
    folder = arguments.out or MESHES
    build_meshes(folder, people, tell)
    print(f"Built into {folder}")
    return DONE
