"""A copy of the records' folder.

Copying the folder by hand is a backup, too, whenever no attempt is being stored at that moment:
between two writes the folder is complete, whether the program is open or not. This copy is right
at any moment. Records on a server are backed up by whoever runs it.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from trainer.errors import NotReadable, TrainerError
from trainer.services.records.store import Records
from trainer.services.records.upgrade import copy_file


def copy_records(records: Records, out: Path) -> Path:
    """Copies records and logs under way into a new folder, which can be opened and verified.

    Raises
    ------
    TrainerError
        If the records lie on a server, or ``out`` is there already.
    NotReadable
        If it cannot be written: nothing half is left then.
    """
    place = records.place
    if place.file is None:
        raise TrainerError("Records on a server are backed up there; ask who runs it.")
    if out.exists():
        raise TrainerError(f"{out}: is there already; a backup is never written over")
    half = out.with_name(f"{out.name}.half")
    shutil.rmtree(half, ignore_errors=True)
    try:
        half.mkdir(parents=True)
        # Logs first: one that is stored meanwhile is then in both, which does no harm.
        if place.attempts.exists():
            shutil.copytree(place.attempts, half / place.attempts.name, ignore=_vanished)
        copy_file(place.file, half / place.file.name)
        half.replace(out)
    except (OSError, shutil.Error) as error:
        shutil.rmtree(half, ignore_errors=True)
        if isinstance(error, TrainerError):
            raise
        raise NotReadable(
            f"{out}: the copy cannot be written: {error}. Make room first."
        ) from error
    return out


def _vanished(folder: str, names: list[str]) -> list[str]:
    """Names that are gone since the folder was listed."""
    return [name for name in names if not (Path(folder) / name).exists()]
