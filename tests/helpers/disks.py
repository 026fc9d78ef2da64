"""Disks for tests: a small one in memory, and one without room."""

from __future__ import annotations

import contextlib
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

SMALL_KB = 192


@contextlib.contextmanager
def small_disk_at(folder: Path) -> Iterator[Path]:
    """A disk of 192 kB in that new folder, where this user may make one; skips where not."""
    folder.mkdir()
    options = ["mount", "-t", "tmpfs", "-o", f"size={SMALL_KB}k", "tmpfs", str(folder)]
    mount = shutil.which("mount")
    if not mount or subprocess.run(options, capture_output=True).returncode != 0:
        pytest.skip("this user cannot mount a small disk in memory")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def filled(disk: Path) -> Path:
    """A file that leaves no room on the disk."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while file.write(bytes(1024)) == 1024:
            pass
    return filler
