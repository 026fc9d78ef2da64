"""Packs that want harm: each is refused with a word, and nothing is written.

The attacks are those of the common lists: path traversal (CWE-22), links (CWE-59), archives that
swell (CWE-409), names for devices on Windows, look-alike names, YAML that builds objects (CWE-502)
or grows by its aliases (CWE-776).
"""

from __future__ import annotations

import io
import os
import stat
import struct
import time
import zipfile
from pathlib import Path

import pytest
from helpers.packs import CASE, NAMES, as_folder, broken_pack, with_list
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import NotReadable, NotValid
from trainer.services.packs.make import archive_of
from trainer.services.packs.members import MAX_ARCHIVE_BYTES, MAX_FILE_BYTES, MAX_FILES
from trainer.services.packs.names import ALLOWED, name_fault
from trainer.services.packs.take_in import take_in

LONGEST_S = 1.0


def refused(path: Path, library: Path, words: str) -> None:
    """It is refused with these words, and neither the library nor anything beside it appears."""
    beside = {p: p.stat().st_mtime_ns for p in path.parent.rglob("*")}
    with pytest.raises((NotValid, NotReadable), match=words):
        take_in(path, library)
    assert not library.exists() or list(library.iterdir()) == []
    assert {p: p.stat().st_mtime_ns for p in path.parent.rglob("*")} == beside


def zipped(path: Path, entries: list[tuple[zipfile.ZipInfo | str, bytes]]) -> Path:
    """An archive with just these entries."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for info, raw in entries:
            archive.writestr(info, raw)
    path.write_bytes(stream.getvalue())
    return path


@pytest.mark.parametrize("name", [n for n in NAMES if n and "\0" not in n and n != "units/"])
def test_names_that_lead_elsewhere(sound, tmp_path: Path, library: Path, name: str) -> None:
    """Upwards, absolute, drives, devices, too long, other alphabets, programs: none comes in."""
    entries = [(n, raw) for n, raw in sound.items()] + [(name, b"a: 1\n")]
    refused(zipped(tmp_path / "odd.zip", entries), library, "name|place for such a file")


@pytest.mark.parametrize(
    ("kind", "words"),
    [(stat.S_IFLNK, "is a link"), (stat.S_IFIFO, "device or pipe"), (stat.S_IFCHR, "device or")],
)
def test_links_and_devices_in_archives(sound, tmp_path, library, kind: int, words: str) -> None:
    """By the mode bits that the archive names."""
    info = zipfile.ZipInfo(CASE)
    info.external_attr = (kind | 0o777) << 16
    entries = [(n, raw) for n, raw in sound.items() if n != CASE] + [(info, b"/etc/passwd")]
    refused(zipped(tmp_path / "odd.zip", entries), library, words)


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_links_in_folders(sound, tmp_path: Path, library: Path) -> None:
    """A link to a file outside, and a link to a folder outside."""
    secret = tmp_path / "secret.yaml"
    secret.write_text("a: 1\n", encoding="utf-8")
    folder = as_folder(sound, tmp_path / "pack")
    (folder / "linked.yaml").symlink_to(secret)
    (folder / "others").symlink_to(tmp_path)
    refused(folder, library, "is a link")


def test_an_archive_that_swells(sound, tmp_path: Path, library: Path) -> None:
    """Half a megabyte of one letter packs to half a kilobyte."""
    entries = [*sound.items(), ("texts/long.txt", b"a" * (MAX_FILE_BYTES // 2))]
    refused(zipped(tmp_path / "odd.zip", entries), library, "swells from")


def test_an_archive_that_lies_about_its_size(sound, tmp_path: Path, library: Path) -> None:
    """The list says ten bytes, the content is a megabyte: read no further than allowed."""
    path = zipped(tmp_path / "odd.zip", [*sound.items(), ("texts/long.txt", os.urandom(300_000))])
    raw = bytearray(path.read_bytes())
    at = raw.rfind(b"texts/long.txt") - 46
    struct.pack_into("<I", raw, at + 24, 10)
    path.write_bytes(bytes(raw))
    refused(path, library, "which is not true|not readable")


def test_too_many_and_too_large(sound, tmp_path: Path, library: Path) -> None:
    """More files, larger files and larger archives than a pack has."""
    many = [*sound.items(), *((f"texts/t{n}.txt", b"x") for n in range(MAX_FILES + 20))]
    refused(zipped(tmp_path / "many.zip", many), library, "at most 200")
    large = [*sound.items(), ("texts/large.txt", os.urandom(MAX_FILE_BYTES + 1))]
    refused(zipped(tmp_path / "large.zip", large), library, "at most")
    huge = tmp_path / "huge.zip"
    huge.write_bytes(b"PK" + bytes(MAX_ARCHIVE_BYTES))
    refused(huge, library, "a packed pack may have")


@pytest.mark.parametrize("raw", [b"", b"no archive", b"PK\x05\x06" + bytes(18), b"\x1f\x8b\x08"])
def test_what_is_no_pack(tmp_path: Path, library: Path, raw: bytes) -> None:
    """Empty files, other files, empty archives, other archives."""
    path = tmp_path / "odd.zip"
    path.write_bytes(raw)
    refused(path, library, "not readable as a pack|so it is no pack")


@pytest.mark.parametrize(
    "text",
    [
        "!!python/object/apply:os.system ['touch ran']\n",
        "a: &a [x, x]\n" + "".join(f"b{n}: [*a, *a]\n" for n in range(9)),
        "id: " + "[" * 400 + "\n",
        "id: own-molar\nid: other\n",
        "id: \x00\n",
        "id: 9" + "9" * 5000 + "\n",
    ],
    ids=["object", "aliases", "deep", "twice", "control", "long number"],
)
def test_hostile_yaml(sound, tmp_path: Path, library: Path, text: str) -> None:
    """Told truly in the list, so that only what the file says is wrong."""
    files = {n: raw for n, raw in sound.items() if n != "manifest.yaml"}
    files[CASE] = text.encode()
    path = tmp_path / "odd.zip"
    path.write_bytes(archive_of(with_list(files, tmp_path)))
    begin = time.monotonic()
    refused(path, library, "own_molar.yaml")
    assert time.monotonic() - begin < LONGEST_S
    assert not Path("ran").exists()


@given(st.text(max_size=120))
def test_only_plain_names_are_allowed(name: str) -> None:
    """No name that is allowed leads out of its folder or differs between systems."""
    if name_fault(name):
        return
    assert ALLOWED.fullmatch(name)
    assert name.isascii() and name == name.lower()
    assert ".." not in name and not name.startswith("/")


@given(st.from_regex(ALLOWED, fullmatch=True))
def test_names_of_the_layout_are_allowed(name: str) -> None:
    """Unless they are too long or Windows keeps them for a device."""
    told = name_fault(name)
    assert told == "" or "characters" in told or "Windows" in told


def fuzz(sound: dict[str, bytes], folder: Path, seeds: range) -> tuple[int, float]:
    """How many broken packs were taken in all the same, and the longest of all in seconds.

    Every other error than the two that are told, and every file left in the library of a refused
    pack, is a failure.
    """
    taken, longest = 0, 0.0
    for seed in seeds:
        place, library = folder / f"{seed}", folder / f"{seed}-library"
        place.mkdir()
        path = broken_pack(sound, seed, place)
        begin = time.monotonic()
        try:
            take_in(path, library)
            taken += 1
            assert len(list(library.iterdir())) == 1
        except (NotValid, NotReadable):
            assert not library.exists() or not list(library.iterdir()), seed
        longest = max(longest, time.monotonic() - begin)
    return taken, longest


@pytest.mark.slow
def test_broken_packs_neither_crash_nor_hang_nor_come_in_by_half(sound, tmp_path: Path) -> None:
    """Packs broken at random: refused with a word within a second, or sound all the same.

    A thousand; ten thousand with HYPOTHESIS_PROFILE=search, which takes minutes.
    """
    many = 10_000 if os.environ.get("HYPOTHESIS_PROFILE") == "search" else 1_000
    taken, longest = fuzz(sound, tmp_path, range(many))
    assert longest < LONGEST_S
    assert 0 < taken < many / 2
