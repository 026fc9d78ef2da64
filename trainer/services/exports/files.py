"""Writing an export: whole or not at all, and only to the place that was named."""

from __future__ import annotations

import os
from pathlib import Path

from trainer.errors import NotReadable, TrainerError


def write_whole(path: Path, data: bytes) -> Path:
    """Writes the file so that it is there whole or as it was before.

    Raises
    ------
    NotReadable
        If it cannot be written; the message says that nothing was changed.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise NotReadable(
            f"{path}: cannot be written: {error.strerror or error}. Nothing was changed; choose "
            "another place."
        ) from error
    return path


def empty_folder(folder: Path) -> Path:
    """The folder, made if need be; files of two exports are never mixed.

    Raises
    ------
    TrainerError
        If something is in it.
    NotReadable
        If it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        taken = any(folder.iterdir())
    except OSError as error:
        raise NotReadable(
            f"{folder}: cannot be used as a folder: {error.strerror or error}. Nothing was written."
        ) from error
    if taken:
        raise TrainerError(f"{folder}: is not empty. Nothing was written; choose a new folder.")
    return folder


def with_ending(path: Path, *endings: str) -> Path:
    """The path itself, if its name ends as the kind of file does; `TrainerError` if not."""
    if path.suffix.lower() not in endings:
        raise TrainerError(
            f"{path}: the file's name must end in {' or '.join(endings)}. Nothing was written."
        )
    return path
