"""Archives of arrays on disk: heads and phantoms, written whole or not at all."""

from __future__ import annotations

import json
import os
import tempfile
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.packing import Arrays, Pieces, pack, unpack
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume, Phantom
from trainer.models.meshes import HeadMeshes
from trainer.models.structures import Head
from trainer.models.subject import Person

# What reading a missing, cut off or otherwise broken archive may raise.
BROKEN = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error)
# All entries carry the same date, so that equal arrays make equal files.
DATE = (1980, 1, 1, 0, 0, 0)
BEST, QUICK = 6, 1  # how hard arrays are pressed


def write_arrays(path: Path, arrays: Mapping[str, NDArray[Any]], level: int = BEST) -> None:
    """Writes an archive that numpy reads; on failure what stood there before stays."""
    handle, name = tempfile.mkstemp(prefix=".part-", dir=path.parent)
    part = Path(name)
    try:
        with (
            os.fdopen(handle, "wb") as file,
            zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=level) as archive,
        ):
            for key, array in arrays.items():
                entry = zipfile.ZipInfo(f"{key}.npy", DATE)
                entry.compress_type = zipfile.ZIP_DEFLATED
                with archive.open(entry, "w", force_zip64=True) as out:
                    np.lib.format.write_array(out, np.asarray(array), allow_pickle=False)
        part.chmod(0o644)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def read_arrays(path: Path) -> Arrays:
    """All arrays of an archive; raises one of `BROKEN` if it is missing or broken."""
    # opened here: np.load leaves a file that it cannot read open
    with path.open("rb") as file, np.load(file, allow_pickle=False) as found:
        return {name: found[name] for name in found.files}


def arrays_of_head(built: HeadMeshes) -> Arrays:
    """A head as arrays by name; positions are rounded (see `packing.STORED_STEP_MM`)."""
    out = pack(Pieces(built.fine, built.coarse, built.head.structures, built.of_structure))
    marks = built.head.landmarks_mm
    out["landmark.names"] = np.frombuffer(json.dumps(list(marks)).encode(), np.uint8)
    out["landmark.points"] = np.array(list(marks.values()))
    out["chin_contact"] = built.head.chin_contact_mm
    return out


def head_of_arrays(arrays: Arrays, person: Person) -> HeadMeshes:
    """The person's head from what `arrays_of_head` gave."""
    pieces = unpack(arrays)
    names = json.loads(arrays["landmark.names"].tobytes())
    marks = dict(zip(names, arrays["landmark.points"], strict=True))
    head = Head(person, pieces.structures, marks, arrays["chin_contact"])
    return HeadMeshes(head, pieces.fine, pieces.coarse, pieces.marks)


def arrays_of_phantom(phantom: Phantom) -> Arrays:
    """A phantom as arrays by name."""
    out: Arrays = {}
    for volume in (phantom.skull, phantom.mandible):
        out[f"{volume.frame}.labels"] = volume.labels
        out[f"{volume.frame}.place"] = np.array([volume.spacing_mm, *volume.origin_mm])
    out["materials"] = np.array(phantom.skull.materials)
    return out


def phantom_of_arrays(arrays: Arrays) -> Phantom:
    """The phantom from what `arrays_of_phantom` gave."""
    materials = tuple(map(str, arrays["materials"]))

    def volume(frame: Frame) -> LabelVolume:
        place = arrays[f"{frame}.place"]
        labels = arrays[f"{frame}.labels"]
        return LabelVolume(frame, labels, place[1:], float(place[0]), materials)

    return Phantom(volume(Frame.SKULL), volume(Frame.MANDIBLE))
