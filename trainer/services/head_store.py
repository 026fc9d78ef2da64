"""Heads and phantoms of people that were built before, in the user's cache folder.

A file is named after everything that decides its content: person, spacing, generator and reference.
So nothing in the folder is ever out of date, and all of it may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import logging
import os
import platform
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from trainer.anatomy.head.packing import Arrays
from trainer.anatomy.head.reference import REFERENCE, read_reference
from trainer.models.images import Phantom
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import Person
from trainer.services.archives import (
    BROKEN,
    QUICK,
    arrays_of_head,
    arrays_of_phantom,
    head_of_arrays,
    phantom_of_arrays,
    read_arrays,
    write_arrays,
)

T = TypeVar("T")

LOG = logging.getLogger("trainer.services.head_store")

# Same name as that of the program's settings.
PROGRAM = "placement-trainer"
# The folder is kept below this; what was used longest ago goes first.
MOST_BYTES = 400_000_000


def cache_folder() -> Path:
    """Where the user's system keeps what a program can make again; it need not exist yet."""
    home, system = Path.home(), platform.system()
    if system == "Windows":
        return (
            Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / PROGRAM / "cache"
        )
    if system == "Darwin":
        return home / "Library" / "Caches" / PROGRAM
    return Path(os.environ.get("XDG_CACHE_HOME") or home / ".cache") / PROGRAM


def stored_head(
    person: Person, meshes_folder: Path, tell: Callable[[str], None] = lambda _: None
) -> HeadMeshes:
    """The person's head, built now if it was not before; always the same bytes.

    Raises
    ------
    NotReadable
        If the reference in ``meshes_folder`` is missing or broken.
    """

    def build() -> Arrays:
        from trainer.anatomy.head.build import build_head

        return arrays_of_head(build_head(person, tell, _reference(meshes_folder / REFERENCE)))

    name = f"head-{head_key(person, meshes_folder)}.npz"
    return kept(name, lambda arrays: head_of_arrays(arrays, person), build)


def stored_phantom(
    person: Person,
    spacing_mm: float,
    meshes_folder: Path,
    tell: Callable[[str], None] = lambda _: None,
) -> Phantom:
    """The person's phantom, likewise; raises as `build_phantom` and `stored_head`."""

    def build() -> Arrays:
        from trainer.anatomy.head.phantom import build_phantom

        book = _reference(meshes_folder / REFERENCE)
        return arrays_of_phantom(build_phantom(person, spacing_mm, tell, book))

    name = f"phantom-{head_key(person, meshes_folder, spacing_mm)}.npz"
    return kept(name, phantom_of_arrays, build)


_reference = lru_cache(maxsize=1)(read_reference)


def head_key(person: Person, meshes_folder: Path, *more: float) -> str:
    """What names everything that decides the head's content, and those numbers."""
    from trainer.anatomy.head.build import GENERATOR_VERSION

    path = meshes_folder / REFERENCE
    # without it building says what is wrong
    book = hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else ""
    words = (repr(person.shape), str(GENERATOR_VERSION), book, *map(repr, more))
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:32]


def kept(name: str, read: Callable[[Arrays], T], build: Callable[[], Arrays]) -> T:
    """What the cached file of that name holds, or else what ``build`` gives, which is kept."""
    path = cache_folder() / name
    try:
        found = read(read_arrays(path))
        os.utime(path)  # used now
    except FileNotFoundError:
        pass
    except BROKEN as error:
        LOG.warning("the cached file %s cannot be read (%s) and is made again", path, error)
    else:
        return found
    arrays = build()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_arrays(path, arrays, QUICK)
        _make_room(path.parent)
    except OSError as error:
        LOG.warning("the file %s cannot be kept (%s)", path, error)
    return read(arrays)


def _make_room(folder: Path, most_bytes: int = MOST_BYTES) -> None:
    """Removes the files used longest ago until the others take at most ``most_bytes``."""
    files = [(p, p.stat()) for p in folder.glob("*.npz")]
    total = 0
    for path, facts in sorted(files, key=lambda f: f[1].st_mtime, reverse=True):
        total += facts.st_size
        if total > most_bytes:
            LOG.info("%s is removed from the cache to make room", path)
            path.unlink(missing_ok=True)
