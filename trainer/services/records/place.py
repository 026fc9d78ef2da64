"""Where the records lie: a folder, or a school's database server."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from trainer.errors import TrainerError
from trainer.services.appointment import attempts_folder

VARIABLE = "TRAINER_RECORDS"  # the environment variable that names folder or server
FILE = "records.db"
SERVER = "postgresql+psycopg"


@dataclass(frozen=True, slots=True)
class Place:
    """A database and the folder for logs of attempts under way.

    ``folder`` is that of the records; ``None`` when they lie on a server, which keeps the attempts
    under way in this computer's own folder.
    """

    url: URL
    folder: Path | None
    attempts: Path

    def __str__(self) -> str:
        return str(self.folder) if self.folder else self.url.render_as_string(hide_password=True)

    @property
    def file(self) -> Path | None:
        """The database's file; ``None`` on a server."""
        return self.folder / FILE if self.folder else None


def default_place() -> str | Path:
    """What the environment variable names, or else the folder beside the user's attempts."""
    return os.environ.get(VARIABLE) or attempts_folder().parent / "records"


def place_of(named: str | Path | None = None) -> Place:
    """The place of that name; of the default one when it is ``None``.

    Raises
    ------
    TrainerError
        If it looks like an address but is none that can be used.
    """
    named = default_place() if named is None else named
    if isinstance(named, str) and "://" in named:
        return Place(_server(named), None, attempts_folder())
    folder = Path(named).expanduser()
    if folder.name == FILE:
        folder = folder.parent
    return Place(URL.create("sqlite", database=str(folder / FILE)), folder, folder / "attempts")


def _server(named: str) -> URL:
    try:
        url = make_url(named)
    except (ArgumentError, ValueError):
        text = "the records' address cannot be read"
        raise TrainerError(f"{text}; expected {SERVER}://user@computer/database") from None
    if url.get_backend_name() != "postgresql":
        text = f"the records' address begins with {url.drivername}://"
        raise TrainerError(f"{text}; expected {SERVER}://user@computer/database, or a folder")
    return url.set(drivername=SERVER)
