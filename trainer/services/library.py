"""Where cases are found: the shipped ones, and those of packs that were taken in.

A case goes by the units and rules beside it first, then by the shipped ones. So a pack brings its
own, and two packs never meet.
"""

from __future__ import annotations

import os
import platform
from pathlib import Path

from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.head_store import PROGRAM
from trainer.services.unit_io import Folders, named_files

UNITS_FOLDER = "units"  # beside the cases


def data_folder() -> Path:
    """Where the user's system keeps a program's data; it need not exist yet."""
    home, system = Path.home(), platform.system()
    if system == "Windows":
        base = Path(os.environ.get("APPDATA") or home / "AppData" / "Roaming")
    elif system == "Darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    return base / PROGRAM


def library_folder() -> Path:
    """Where taken-in packs stand, each in a folder called by its id."""
    return data_folder() / "library"


def pack_folders(library: Path | None = None) -> dict[str, Path]:
    """The folders of taken-in packs by id; what begins with a dot is no pack."""
    library = library_folder() if library is None else library
    if not library.is_dir():
        return {}
    found = (p for p in sorted(library.iterdir()) if p.is_dir() and not p.name.startswith("."))
    return {p.name: p for p in found}


def case_folders(library: Path | None = None) -> tuple[Path, ...]:
    """Every folder that holds cases, the shipped one first."""
    return (SCENARIOS, *pack_folders(library).values())


def every_case(library: Path | None = None) -> dict[str, Path]:
    """The files of all cases by name."""
    return named_files(case_folders(library))


def units_for(path: Path) -> Folders:
    """The folders of units that the case in this file goes by; its own come first."""
    own = path.resolve().parent / UNITS_FOLDER
    return UNITS if own == UNITS.resolve() else (own, UNITS)
