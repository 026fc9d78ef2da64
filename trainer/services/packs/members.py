"""The files of a pack as bytes, out of an archive or a folder, within limits and without writing.

Everything that can be known without unpacking is judged first; a fault there ends the reading.
"""

from __future__ import annotations

import os
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from trainer.errors import Fault, NotReadable, NotValid
from trainer.services.packs.names import FOLDERS, MANIFEST, name_faults
from trainer.services.yaml_text import MAX_BYTES, shown

# Cases are short texts: own working values, far above what a school writes.
MAX_FILES = 200
MAX_FILE_BYTES = MAX_BYTES
MAX_TOTAL_BYTES = 8 * 1024 * 1024
MAX_ARCHIVE_BYTES = 2 * 1024 * 1024
# The shipped files shrink to a third or a quarter. A file of at most this size may shrink more.
MAX_SWELL, SMALL_BYTES = 60, 4096
PACKED_AS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
ENCRYPTED_BITS = 0x1 | 0x40 | 0x2000
# What the archive reader raises on a file that is no sound archive.
BROKEN = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error, EOFError, OSError,
    ValueError, RuntimeError, NotImplementedError, OverflowError, IndexError,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Member:
    """A file that the container names: how large it says it is, and how to get its bytes."""

    name: str
    size_bytes: int
    read: Callable[[], bytes]


def read_members(path: Path) -> dict[str, bytes]:
    """The files of the archive or folder by name.

    Raises
    ------
    NotReadable
        If there is no such thing, or the archive is broken or too large.
    NotValid
        With every file that may not be in a pack.
    """
    try:
        return _from_folder(path) if path.is_dir() else _from_archive(path)
    except (NotReadable, NotValid):
        raise
    except BROKEN as error:
        told = shown(str(error.args[-1] if error.args else error), 100)
        raise NotReadable(
            f"{path}: is not readable as a pack ({told}). Nothing was taken."
        ) from error


# archives -----------------------------------------------------------------------------------------


def _from_archive(path: Path) -> dict[str, bytes]:
    if not path.is_file():
        raise NotReadable(f"{shown(str(path))}: there is no such file or folder")
    size = path.stat().st_size
    if size > MAX_ARCHIVE_BYTES:
        raise NotReadable(
            f"{path}: has {size} bytes, a packed pack may have {MAX_ARCHIVE_BYTES}. Nothing was "
            "taken."
        )
    with zipfile.ZipFile(path) as archive:
        infos = archive.infolist()
        faults = _Faults(path)
        if len(infos) > MAX_FILES + len(FOLDERS) + 1:
            faults.say("", f"holds {len(infos)} files, at most {MAX_FILES} are allowed")
            raise NotValid(faults.found)
        files = [i for i in infos if not _is_plain_folder(i)]
        for info in files:
            faults.tell(info.orig_filename, _entry_faults(info))
        return _checked(
            [Member(i.orig_filename, i.file_size, _reader(archive, i)) for i in files], faults
        )


def _is_plain_folder(info: zipfile.ZipInfo) -> bool:
    name = info.orig_filename
    return name.endswith("/") and name[:-1] in FOLDERS and not info.file_size


def _entry_faults(info: zipfile.ZipInfo) -> Iterator[str]:
    kind = stat.S_IFMT(info.external_attr >> 16)
    if kind not in (0, stat.S_IFREG):
        what = {stat.S_IFLNK: "a link", stat.S_IFDIR: "a folder"}.get(kind, "a device or pipe")
        yield f"is {what}, not a file"
    if info.flag_bits & ENCRYPTED_BITS:
        yield "is encrypted; nobody could look at what it says"
    if info.compress_type not in PACKED_AS:
        yield f"is packed in a way (number {info.compress_type}) that is not read here"
    swells = info.file_size > MAX_SWELL * max(info.compress_size, 1)
    if swells and info.file_size > SMALL_BYTES:
        yield (
            f"swells from {info.compress_size} to {info.file_size} bytes, more than "
            f"{MAX_SWELL} times"
        )


def _reader(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Callable[[], bytes]:
    def read() -> bytes:
        with archive.open(info) as stream:
            return stream.read(MAX_FILE_BYTES + 1)

    return read


# folders ------------------------------------------------------------------------------------------


def _from_folder(path: Path) -> dict[str, bytes]:
    faults = _Faults(path)
    members: list[Member] = []
    for entry, name in _entries(path, ""):
        if len(members) > MAX_FILES:
            faults.say("", f"holds more than {MAX_FILES} files, which is the most allowed")
            break
        if entry.is_symlink():
            faults.say(name, "is a link, not a file")
        elif not entry.is_file(follow_symlinks=False):
            what = "a folder" if entry.is_dir(follow_symlinks=False) else "a device or pipe"
            faults.say(name, f"is {what}, not a file of a pack")
        else:
            size = entry.stat(follow_symlinks=False).st_size
            members.append(Member(name, size, _file_reader(Path(entry.path))))
    return _checked(members, faults)


def _entries(folder: Path, above: str) -> Iterator[tuple[os.DirEntry[str], str]]:
    """What stands in the folder and in the folders of the layout; what begins with a dot is not
    looked at, since systems and version control leave such things behind."""
    with os.scandir(folder) as found:
        for entry in sorted(found, key=lambda e: e.name):
            if entry.name.startswith("."):
                continue
            is_ours = not above and entry.name in FOLDERS
            if is_ours and entry.is_dir(follow_symlinks=False):
                yield from _entries(Path(entry.path), f"{entry.name}/")
            else:
                yield entry, above + entry.name


def _file_reader(path: Path) -> Callable[[], bytes]:
    def read() -> bytes:
        with path.open("rb") as stream:
            return stream.read(MAX_FILE_BYTES + 1)

    return read


# both ---------------------------------------------------------------------------------------------


class _Faults:
    """Faults of the files in one container."""

    def __init__(self, path: Path) -> None:
        self.container = path.name
        self.found: list[Fault] = []

    def say(self, name: str, text: str) -> None:
        place = f"{self.container}/{shown(name)}" if name else self.container
        self.found.append(Fault(place, 0, "", text))

    def tell(self, name: str, texts: Iterator[str]) -> None:
        for text in texts:
            self.say(name, text)


def _checked(members: list[Member], faults: _Faults) -> dict[str, bytes]:
    """The bytes of all members, once nothing is wrong with any of them."""
    for name, text in name_faults(m.name for m in members):
        faults.say(name, text)
    names = {m.name for m in members}
    if len(names - {MANIFEST}) > MAX_FILES:
        faults.say("", f"holds {len(names) - 1} files, at most {MAX_FILES} are allowed")
    for member in members:
        if member.size_bytes > MAX_FILE_BYTES:
            text = f"has {member.size_bytes} bytes, at most {MAX_FILE_BYTES} are allowed"
            faults.say(member.name, text)
    total = sum(m.size_bytes for m in members)
    if total > MAX_TOTAL_BYTES:
        faults.say("", f"unpacks to {total} bytes, at most {MAX_TOTAL_BYTES} are allowed")
    if faults.found:
        raise NotValid(faults.found)
    found: dict[str, bytes] = {}
    for member in members:
        raw = member.read()
        if len(raw) != member.size_bytes:
            faults.say(member.name, f"says it has {member.size_bytes} bytes, which is not true")
        found[member.name] = raw
    if faults.found:
        raise NotValid(faults.found)
    return found
