"""Small packs for tests, and ways to break them."""

from __future__ import annotations

import io
import random
import stat
import struct
import zipfile
from pathlib import Path

from trainer.services.packs.make import archive_of
from trainer.services.packs.manifest import listed
from trainer.services.packs.names import MANIFEST
from trainer.services.yaml_text import dump, load_document

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
HEAD = """\
# invented
schema_version: 1
kind: pack
id: alder-lessons
title:
  en: Alder lessons
  de: Erlen-Stunden
author: Tallow Lane Training Practice (invented)
licence: For anybody who trains
"""
CASE, UNIT = "own_molar.yaml", "units/own_bench.yaml"
RULES, SOLUTION, TEXT = "rules/tallow_lane.yaml", "solutions/own_molar.yaml", "texts/read_me.md"


def own_case(unit: str = "own-bench") -> str:
    """A shipped case under another name, in a unit of that id."""
    text = (SCENARIOS / "lower_third_molar.yaml").read_text(encoding="utf-8")
    assert "id: lower-third-molar" in text and "unit: alder-bench" in text
    text = text.replace("id: lower-third-molar", "id: own-molar")
    return text.replace("unit: alder-bench", f"unit: {unit}")


def plain_files() -> dict[str, bytes]:
    """The files of a sound pack but its list: one of every kind."""
    unit = (SCENARIOS / "units" / "alder_bench.yaml").read_text(encoding="utf-8")
    solution = (SCENARIOS / "solutions" / "lower_third_molar.yaml").read_text(encoding="utf-8")
    texts = {
        CASE: own_case(),
        UNIT: unit.replace("id: alder-bench", "id: own-bench", 1),
        RULES: (SCENARIOS / "rules" / "tallow_lane.yaml").read_text(encoding="utf-8"),
        SOLUTION: solution.replace("case: lower-third-molar", "case: own-molar", 1),
        TEXT: "# Read me\n\nInvented, for training only.\n",
    }
    return {name: text.encode("utf-8") for name, text in texts.items()}


def with_list(files: dict[str, bytes], folder: Path, head: str = HEAD) -> dict[str, bytes]:
    """The files with a list that tells the truth about them; ``folder`` is for work."""
    path = folder / MANIFEST
    path.write_text(head, encoding="utf-8")
    document = load_document(path)
    path.unlink()
    document["made_with"] = "0.1.0"
    document["files"] = listed(files)
    return {**files, MANIFEST: dump(document).encode("utf-8")}


def as_folder(files: dict[str, bytes], folder: Path) -> Path:
    """The files written below the folder."""
    for name, raw in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(raw)
    return folder


# breaking packs at random ---------------------------------------------------------------------

SNIPPETS = (
    b"*a", b"&a x", b"!!python/name:os.system", b"[[[[[[[[[[[[[[[[", b"{", b"\xff\xfe", b"\x00",
    b"\xef\xbb\xbf", b"\r\n", b"\r", b"---\n", b"...\n", b"%YAML 1.1\n", b"<<: *a\n", b"9" * 400,
    b"1e400", b".nan", b"-.inf", b"0x7f", b"\t", b"- - - - - - -", b"? a\n: b\n", b"'", b'"',
    b"|", b">", b": ", b"#", b"\xe2\x80\xae", b"\xed\xa0\x80", b"id: x\n", b"kind: unit\n",
    b"kind: case\n", b"schema_version: 2\n", b"-1", b"\xc2\x85", b"x" * 5000,
    b"a: &a [x, x]\n" + b"".join(b"b%d: [*a, *a]\n" % n for n in range(40)),
)  # fmt: skip
NAMES = (
    "../up.yaml", "/etc/x.yaml", "C:x.yaml", "a\\b.yaml", "con.yaml", "units/nul.yaml", "x" * 300,
    "Own_molar.yaml", "a/b/c/d.yaml", "u\u0301.yaml", "\u00fc.yaml", "a\0.yaml", "run.py", "", ".",
    "units", "units/", "texts/x.exe", "own_molar.yaml ", "manifest.yaml/x", "\u202ea.yaml",
)  # fmt: skip


def mutated_text(raw: bytes, chance: random.Random) -> bytes:
    """Bytes with one to four changes of characters, lines or snippets."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(raw) + 1)
        how = chance.randrange(7)
        if how == 0:
            raw = raw[:at] + chance.choice(SNIPPETS) + raw[at:]
        elif how == 1:
            raw = raw[:at] + raw[at + chance.randint(1, 30) :]
        elif how == 2:
            raw = raw[:at] + bytes([chance.randrange(256)]) + raw[at + 1 :]
        else:
            lines = raw.split(b"\n")
            n, m = chance.randrange(len(lines)), chance.randrange(len(lines))
            if how == 3:
                lines[n] = lines[n].split(b":")[0] + b": " + chance.choice(SNIPPETS)
            elif how == 4:
                lines[n], lines[m] = lines[m], lines[n]
            elif how == 5:
                lines[n] = b"  " + lines[n]
            else:
                lines.insert(m, lines[n])
            raw = b"\n".join(lines)
    return raw


def mutated_archive(raw: bytes, chance: random.Random) -> bytes:
    """An archive with some of its own bytes changed, dropped or doubled."""
    found = bytearray(raw)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(found))
        how = chance.randrange(4)
        if how == 0:
            found[at] = chance.randrange(256)
        elif how == 1:
            # the last 400 bytes hold the archive's own list
            found[max(0, len(found) - chance.randint(1, 400))] ^= 1 << chance.randrange(8)
        elif how == 2:
            del found[at : at + chance.randint(1, 60)]
        else:
            found[at:at] = found[at : at + chance.randint(1, 60)]
        if not found:
            break
    return bytes(found)


def odd_archive(files: dict[str, bytes], chance: random.Random) -> bytes:
    """An archive in which one file is a link, encrypted, doubled, oddly called or swells."""
    stream = io.BytesIO()
    names = sorted(files)
    odd = chance.choice(names)
    with zipfile.ZipFile(stream, "w") as archive:
        for name in names:
            info, content = zipfile.ZipInfo(name), files[name]
            info.compress_type = zipfile.ZIP_DEFLATED
            how = chance.randrange(7) if name == odd else -1
            if how == 0:
                info.external_attr = (stat.S_IFLNK | 0o777) << 16
            elif how == 1:
                info.external_attr = (stat.S_IFIFO | 0o644) << 16
            elif how == 2:
                content = b"a: 1\n" * chance.randint(1, 400_000)
            elif how == 3:
                info.compress_type = chance.choice((zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA))
            elif how == 4:
                info.filename = info.orig_filename = chance.choice(NAMES)
            elif how == 5:
                _quietly(archive, name, content)
            _quietly(archive, info, content)
    raw = bytearray(stream.getvalue())
    if chance.random() < 0.15:  # says that it is encrypted
        at = raw.find(b"PK\x01\x02")
        struct.pack_into("<H", raw, at + 8, 1)
    return bytes(raw)


def _quietly(archive: zipfile.ZipFile, name: str | zipfile.ZipInfo, content: bytes) -> None:
    """Write a file; that its name is there already, which the library warns of, is meant."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        archive.writestr(name, content)


def broken_pack(sound: dict[str, bytes], seed: int, folder: Path) -> Path:
    """A pack that was broken in one of five ways, as an archive or a folder below ``folder``."""
    chance = random.Random(seed)
    how = chance.randrange(5)
    if how == 0:  # the container's own bytes
        raw = mutated_archive(archive_of(sound), chance)
    elif how == 1:  # odd files in a sound container
        raw = odd_archive(sound, chance)
    else:
        files = dict(sound)
        name = MANIFEST if how == 2 else chance.choice(sorted(set(files) - {MANIFEST}))
        files[name] = mutated_text(files[name], chance)
        if how == 4:  # told truly, so that what is in the file decides
            files = with_list({n: r for n, r in files.items() if n != MANIFEST}, folder)
        if chance.random() < 0.3:
            return as_folder(files, folder / "pack")
        raw = archive_of(files)
    path = folder / "pack.zip"
    path.write_bytes(raw)
    return path
