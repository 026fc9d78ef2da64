"""A sound pack, and a library to take it into."""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers.packs import plain_files, with_list

from trainer.services.packs.make import archive_of


@pytest.fixture
def sound(tmp_path: Path) -> dict[str, bytes]:
    """The files of a pack with one of every kind and a true list."""
    return with_list(plain_files(), tmp_path)


@pytest.fixture
def packed(sound: dict[str, bytes], tmp_path: Path) -> Path:
    """The sound pack as an archive."""
    path = tmp_path / "sound.zip"
    path.write_bytes(archive_of(sound))
    return path


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Where packs are taken in; not there yet."""
    return tmp_path / "library"
