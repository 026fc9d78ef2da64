"""Taking packs in, whole or not at all, listing them, and taking them out again."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from trainer.errors import NotAllowedNow, NotFound, NotReadable, NotValid, TrainerError
from trainer.services.file_check import near_hint
from trainer.services.library import library_folder, pack_folders
from trainer.services.packs.check import Pack, Tell, check_pack, write_files
from trainer.services.packs.manifest import Manifest, manifest_faults, manifest_of
from trainer.services.packs.names import MANIFEST
from trainer.services.yaml_text import read_tree

# Folders of work under way; whoever lists packs passes over names that begin with a dot.
TAKING, GOING = ".taking-in-", ".going-"


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A pack that stands in the library now."""

    pack: Pack
    folder: Path


def take_in(
    path: Path, library: Path | None = None, replace: bool = False, tell: Tell = lambda _: None
) -> TakenIn:
    """Look the pack through and put it into the library in one step.

    ``replace`` lets it take the place of a pack of its id.

    Raises
    ------
    NotReadable, NotValid
        As `check_pack`; nothing was written then.
    NotAllowedNow
        If a pack of its id is there.
    """
    library = library_folder() if library is None else library
    pack = check_pack(path, library, tell)
    target = library / pack.manifest.id
    if target.exists() and not replace:
        raise NotAllowedNow(
            f"A pack {pack.manifest.id!r} was taken in before and stays as it is. Take it out "
            "first, or say that it shall be replaced."
        )
    try:
        library.mkdir(parents=True, exist_ok=True)
        with _beside(library, TAKING) as work:
            write_files(pack.files, work / "new")
            if target.exists():
                target.replace(work / "old")
                try:
                    (work / "new").replace(target)
                except OSError:
                    (work / "old").replace(target)
                    raise
            else:
                (work / "new").replace(target)
    except OSError as error:
        raise NotReadable(
            f"{library}: the pack cannot be written there ({error.strerror or error}). What was "
            "there before stays as it was."
        ) from error
    return TakenIn(pack, target)


def take_out(pack_id: str, library: Path | None = None) -> Path:
    """Take a pack out of the library; gives back where it stood. Attempts at its cases stay.

    Raises
    ------
    NotFound
        If there is none of that id.
    NotReadable
        If its folder cannot be removed; it is whole then.
    """
    library = library_folder() if library is None else library
    folders = pack_folders(library)
    if pack_id not in folders:
        hint = near_hint(pack_id, folders) or f"; there are {', '.join(folders) or 'none'}"
        raise NotFound(f"no pack {pack_id!r} was taken in{hint}")
    try:
        with _beside(library, GOING) as work:
            folders[pack_id].replace(work / "old")
    except OSError as error:
        raise NotReadable(
            f"{folders[pack_id]}: cannot be removed ({error.strerror or error}). It is as it was."
        ) from error
    return folders[pack_id]


def packs_here(library: Path | None = None) -> dict[str, Manifest | TrainerError]:
    """The list of every pack in the library by id, or what is wrong with it."""
    found: dict[str, Manifest | TrainerError] = {}
    for name, folder in pack_folders(library).items():
        try:
            tree = read_tree(folder / MANIFEST)
            faults = manifest_faults(tree)
            found[name] = NotValid(faults) if faults else manifest_of(tree.data)
        except NotReadable as error:
            found[name] = error
    return found


@contextlib.contextmanager
def _beside(library: Path, prefix: str) -> Iterator[Path]:
    """A new folder in the library, on the same disk as its packs, gone afterwards."""
    work = Path(tempfile.mkdtemp(prefix=prefix, dir=library))
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)
