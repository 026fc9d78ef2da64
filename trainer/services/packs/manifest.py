"""The list of a pack: what it is called, who wrote it, and every file with size and hash."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trainer.errors import Fault
from trainer.services.file_check import entries, got, in_order, known, schema_faults
from trainer.services.packs.names import MANIFEST
from trainer.services.yaml_text import Tree

KIND = "pack"


@dataclass(frozen=True, slots=True)
class PackFile:
    """A file of a pack: its place, size and hash."""

    path: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a pack says about itself. ``title`` is by language; ``made_with`` a program's version.

    ``files`` are all but the list itself.
    """

    id: str
    title: Mapping[str, str]
    author: str
    licence: str
    made_with: str
    files: tuple[PackFile, ...]

    def title_in(self, language: str = "en") -> str:
        """The title in the language, else in English."""
        return self.title.get(language) or self.title["en"]


def manifest_faults(tree: Tree, finished: bool = True) -> tuple[Fault, ...]:
    """Every fault of a list; one that is not ``finished`` may lack what the program puts in."""
    schema_faults(tree, KIND)
    first: dict[str, int] = {}
    for n in entries(tree, "files"):
        name = known(tree, "files", n, "path")
        if not isinstance(name, str):
            continue
        if name in first:
            tree.say(
                ("files", n, "path"), f"{got(name)} is listed twice, first in line {first[name]}"
            )
        first.setdefault(name, tree.line(("files", n, "path")))
    if finished and isinstance(tree.data, dict):
        for key in ("made_with", "files"):
            if key not in tree.data:
                tree.say((key,), "is missing; 'trainer pack' puts it in")
    return in_order(tree)


def manifest_of(data: Any) -> Manifest:
    """The list from data that has no faults."""
    files = tuple(PackFile(f["path"], f["bytes"], f["sha256"]) for f in data["files"])
    return Manifest(
        data["id"], dict(data["title"]), data["author"], data["licence"], data["made_with"], files
    )


def listed(files: Mapping[str, bytes]) -> list[dict[str, str | int]]:
    """The entries of these files, in the order of their names; the list itself is left out."""
    return [
        {"path": name, "bytes": len(raw), "sha256": hashlib.sha256(raw).hexdigest()}
        for name, raw in sorted(files.items())
        if name != MANIFEST
    ]


def content_faults(tree: Tree, files: Mapping[str, bytes]) -> list[Fault]:
    """Files that the list lacks, that are not there, or that are not what the list says."""
    manifest = manifest_of(tree.data)
    faults: list[Fault] = []
    for n, entry in enumerate(manifest.files):
        line, key = tree.line(("files", n, "path")), f"files[{n}]"
        raw = files.get(entry.path)
        if raw is None or entry.path == MANIFEST:
            text = f"{got(entry.path)} is not in the pack" if raw is None else "is the list itself"
            faults.append(Fault(tree.path, line, key, text))
        elif len(raw) != entry.size_bytes:
            text = f"{entry.path} has {len(raw)} bytes, the list says {entry.size_bytes}"
            faults.append(Fault(tree.path, line, key, text))
        elif hashlib.sha256(raw).hexdigest() != entry.sha256:
            text = f"{entry.path} was changed since the pack was made (its hash is another)"
            faults.append(Fault(tree.path, line, key, text))
    named = {entry.path for entry in manifest.files} | {MANIFEST}
    faults += [
        Fault(
            tree.path, tree.line(("files",)), "files", f"does not list {got(name)}, which is here"
        )
        for name in sorted(files)
        if name not in named
    ]
    return faults
