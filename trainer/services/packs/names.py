"""What the files of a pack may be called: one plain layout, the same on every system."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from trainer.services.unit_io import MANIFEST as MANIFEST

MAX_NAME = 100
# Folder to the kind of file in it; cases stand at the top.
KIND_OF_FOLDER = {"": "case", "units": "unit", "rules": "rules", "solutions": "commands"}
TEXTS = "texts"
FOLDERS = (*filter(None, KIND_OF_FOLDER), TEXTS)

WORD = r"[a-z0-9]+(_[a-z0-9]+)*"
ALLOWED = re.compile(rf"((units|rules|solutions)/)?{WORD}\.yaml|texts/{WORD}\.(txt|md)")
DRIVE = re.compile(r"[A-Za-z]:")
# Names that Windows keeps for devices, with any ending: Microsoft, "Naming Files, Paths, and
# Namespaces".
RESERVED = frozenset(
    ("con", "prn", "aux", "nul", "conin$", "conout$",
     *(f"{name}{n}" for name in ("com", "lpt") for n in "0123456789¹²³"))
)  # fmt: skip


def name_fault(name: str) -> str:
    """What is wrong with a file's name in a pack, as a sentence; empty when nothing is."""
    parts = name.split("/")
    if any(unicodedata.category(c).startswith("C") for c in name):
        return "the name holds control characters"
    if "\\" in name:
        return "the name holds a backslash; folders are parted by /"
    if name.startswith("/"):
        return "the name is an absolute path, which could write anywhere"
    if DRIVE.match(name):
        return "the name begins with a drive letter, which could write anywhere"
    if ".." in parts:
        return "the name leads out of the pack (..)"
    if len(name) > MAX_NAME:
        return f"the name has {len(name)} characters, at most {MAX_NAME} are allowed"
    if any(p.split(".")[0].rstrip(" ").casefold() in RESERVED for p in parts):
        return "the name is one that Windows keeps for devices"
    if unicodedata.normalize("NFC", name) != name:
        return "the name is spelled with characters that other systems put together in another way"
    if not ALLOWED.fullmatch(name):
        return (
            "no place for such a file; a pack holds NAME.yaml (cases), units/NAME.yaml, "
            "rules/NAME.yaml, solutions/NAME.yaml and texts/NAME.txt or .md, names of small "
            "letters, numbers and underscores"
        )
    return ""


def name_faults(names: Iterable[str]) -> list[tuple[str, str]]:
    """Every wrong name with its sentence, also those that some system takes for another one."""
    found: list[tuple[str, str]] = []
    seen: dict[str, str] = {}
    for name in names:
        same = unicodedata.normalize("NFKC", name).casefold()
        if same in seen:
            other = "" if seen[same] == name else f", on some systems as {seen[same]!r}"
            found.append((name, f"is there twice{other}"))
        seen.setdefault(same, name)
        if text := name_fault(name):
            found.append((name, text))
    return found


def kind_at(name: str) -> str:
    """The kind of file at that place of the layout; ``text`` for a text."""
    folder = name.rpartition("/")[0]
    return "text" if folder == TEXTS else KIND_OF_FOLDER[folder]


def id_at(name: str) -> str:
    """The id that the file of that name holds: ``units/a_b.yaml`` is ``a-b``."""
    return name.rpartition("/")[2].rpartition(".")[0].replace("_", "-")
