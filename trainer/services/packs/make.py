"""Making a pack from a folder: what its cases need is put in, every file is listed."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path

from trainer.errors import Fault, NotReadable, NotValid, TrainerError
from trainer.services.appointment import PROGRAM_VERSION
from trainer.services.assets import SCENARIOS
from trainer.services.file_check import known
from trainer.services.packs.check import Pack, Tell, check_pack, write_files
from trainer.services.packs.manifest import listed, manifest_faults
from trainer.services.packs.members import MAX_ARCHIVE_BYTES, read_members
from trainer.services.packs.names import MANIFEST, id_at, kind_at
from trainer.services.unit_io import named_files
from trainer.services.yaml_text import Tree, dump, load_document, read_tree, tree_of

# Every file of an archive carries this date, so that equal folders make equal packs.
DATE = (1980, 1, 1, 0, 0, 0)
FIRST_LINES = """\
schema_version: 1
kind: pack
id: my-cases
title:
  en: My cases
author: Who wrote them
licence: Who may use them, and for what
"""
NEEDED = {"unit": "units", "rules": "rules"}  # key of a case to the folder of what it names


def make_pack(folder: Path, out: Path, tell: Tell = lambda _: None) -> Pack:
    """Write the pack of the folder to ``out``, an archive (``.zip``) or a new folder.

    The folder's `manifest.yaml` says id, title, author and licence; the program adds the rest.
    Shipped units and rules that its cases name are put in, so a pack is complete in itself.

    Raises
    ------
    NotReadable, NotValid
        If something is missing or wrong with the folder; nothing was written then.
    TrainerError
        If ``out`` is a folder that is there already.
    """
    if not folder.is_dir():
        raise NotReadable(f"{folder}: is no folder; a pack is made from a folder of files")
    is_archive = out.suffix.lower() == ".zip"
    if not is_archive and out.exists():
        raise TrainerError(f"{out}: is there already. Nothing was written; choose a new folder.")
    files = read_members(folder)
    if MANIFEST not in files:
        raise NotValid(
            [Fault(folder.name, 0, "", f"holds no {MANIFEST}. Write one like this:\n{FIRST_LINES}")]
        )
    files |= _what_cases_need(files)
    files[MANIFEST] = _manifest_text(folder / MANIFEST, files).encode()
    with tempfile.TemporaryDirectory(prefix="pack-") as work:
        place = Path(work) / folder.resolve().name
        write_files(files, place)
        # the user's own library does not count: the pack is for others
        pack = check_pack(place, Path(work) / "no-library", tell)
    _write(files, out, is_archive)
    return pack


def _what_cases_need(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The shipped units and rules that cases name and the folder does not hold."""
    found: dict[str, bytes] = {}
    for name, raw in files.items():
        if name == MANIFEST or kind_at(name) != "case":
            continue
        try:
            tree = tree_of(raw.decode("utf-8"), name)
        except (NotReadable, UnicodeDecodeError):
            continue  # told when the pack is looked through
        for key, folder in NEEDED.items():
            wanted = known(tree, key)
            here = {id_at(n) for n in files if n.startswith(f"{folder}/")}
            shipped = named_files(SCENARIOS / folder)
            if isinstance(wanted, str) and wanted not in here and wanted in shipped:
                found[f"{folder}/{shipped[wanted].name}"] = shipped[wanted].read_bytes()
    return found


def _manifest_text(path: Path, files: Mapping[str, bytes]) -> str:
    """The folder's list with version and files; its comments stay."""
    tree: Tree = read_tree(path)
    faults = manifest_faults(tree, finished=False)
    if faults:
        raise NotValid(faults)
    document = load_document(path)
    document["made_with"] = PROGRAM_VERSION
    document["files"] = listed(files)
    return dump(document)


def _write(files: Mapping[str, bytes], out: Path, is_archive: bool) -> None:
    beside = out.with_name(f".{out.name}.part")
    try:
        if is_archive:
            raw = archive_of(files)
            if len(raw) > MAX_ARCHIVE_BYTES:
                raise NotReadable(
                    f"the pack has {len(raw)} bytes, at most {MAX_ARCHIVE_BYTES} are allowed; make "
                    "two of it"
                )
            beside.write_bytes(raw)
        else:
            write_files(files, beside)
        beside.replace(out)
    except OSError as error:
        if isinstance(error, TrainerError):
            raise
        raise NotReadable(
            f"{out}: cannot be written ({error.strerror or error}). Nothing was changed."
        ) from error


def archive_of(files: Mapping[str, bytes]) -> bytes:
    """The files as an archive; equal files give equal bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, raw in sorted(files.items()):
            info = zipfile.ZipInfo(name, DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o100644 << 16
            archive.writestr(info, raw)
    return stream.getvalue()
