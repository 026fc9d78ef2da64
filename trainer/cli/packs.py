"""Commands about packs: pack, take-in, packs, take-out."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.cli.common import DONE, FAULTY, Add, say


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add("pack", _pack, "Put a folder of cases, units, rules and texts into one file.")
    sub.add_argument("folder", metavar="FOLDER", type=Path, help="the folder, with manifest.yaml")
    sub.add_argument(
        "--out",
        metavar="FILE.zip",
        type=Path,
        required=True,
        help="the pack; a folder without .zip",
    )
    sub = add("take-in", _take_in, "Look a pack through and, if all is well, take its cases in.")
    sub.add_argument("path", metavar="FILE", type=Path, help="a pack: FILE.zip, or its folder")
    sub.add_argument("--replace", action="store_true", help="in the place of the pack of its id")
    sub.add_argument("--look-only", action="store_true", help="only look it through")
    add("packs", _packs, "List the packs that were taken in.")
    sub = add("take-out", _take_out, "Remove a pack that was taken in. Attempts stay.")
    sub.add_argument("id", metavar="ID", help="the pack's id")


def _pack(arguments: argparse.Namespace) -> int:
    from trainer.services.packs.make import make_pack

    pack = make_pack(arguments.folder, arguments.out)
    _tell_notes(pack.notes)
    print(f"{arguments.out}: pack {pack.manifest.id}, {_files(len(pack.manifest.files))}.")
    return DONE


def _take_in(arguments: argparse.Namespace) -> int:
    from trainer.services.packs.check import check_pack
    from trainer.services.packs.take_in import take_in

    if arguments.look_only:
        pack = check_pack(arguments.path)
        where = "nothing was taken in, as asked"
    else:
        taken = take_in(arguments.path, replace=arguments.replace)
        pack, where = taken.pack, f"taken in, now in {taken.folder}"
    _tell_notes(pack.notes)
    manifest = pack.manifest
    print(f"{manifest.title_in()} ({manifest.id}), by {manifest.author}: {where}.")
    print(f"Licence: {manifest.licence.strip()}")
    print("Cases: " + (", ".join(pack.case_ids) or "none") + ".")
    return DONE


def _packs(arguments: argparse.Namespace) -> int:
    from trainer.errors import TrainerError
    from trainer.services.packs.take_in import packs_here

    code, found = DONE, packs_here()
    for name, manifest in found.items():
        if isinstance(manifest, TrainerError):
            say(f"{name}: cannot be read: {manifest}")
            code = FAULTY
        else:
            print(f"{name}: {manifest.title_in()}, {_files(len(manifest.files))}")
    if not found:
        print("No packs were taken in.")
    return code


def _take_out(arguments: argparse.Namespace) -> int:
    from trainer.services.packs.take_in import take_out

    print(f"{take_out(arguments.id)}: removed. Attempts at its cases stay in the records.")
    return DONE


def _files(count: int) -> str:
    return f"{count} file{'' if count == 1 else 's'}"


def _tell_notes(notes: tuple[str, ...]) -> None:
    for note in notes:
        say(f"{note} – possible, but look again")
