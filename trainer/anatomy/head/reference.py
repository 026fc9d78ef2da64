"""What is worked out exactly once, in the mean man, and serves for everybody.

`make_reference` asks the implicit head; everyone else reads what it found: fields of the solids,
surfaces and structures that follow the head's map, and teeth of every kind in tooth coordinates.
"""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones import midface, skull_base
from trainer.anatomy.bones.braincase import inner_vault
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.mandible import headless_body
from trainer.anatomy.bones.spine import cervical_column, hyoid
from trainer.anatomy.head.packing import Arrays, Pieces, pack, unpack
from trainer.anatomy.head.structures import STRUCTURE_TRIANGLES, led_solids, structure_of
from trainer.anatomy.head.tooth_patterns import TOOTH_KINDS, ToothPattern, tooth_pattern
from trainer.anatomy.shapes.fields import SampledField, packed, sampled, unpacked
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import Mesh, simplified, surface
from trainer.anatomy.soft.airway import airway
from trainer.anatomy.soft.skin import jaw_share, skin
from trainer.errors import NotReadable
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.subject import MEAN_MAN

Array = NDArray[np.float64]

REFERENCE = "reference.npz"
FOLDER = Path(__file__).resolve().parents[3] / "assets" / "meshes"
REBUILD = "Run 'trainer build-head' to make it again."
# Triangles of the surfaces that follow the map, at rest and while something moves.
SPINE_TRIANGLES = (3500, 1000)
HYOID_TRIANGLES = (500, 200)
SKIN_TRIANGLES = (14000, 4000)
# What everybody's structures come from is looked at more finely, and keeps more corners of its
# hulls: which are the farthest changes on the way.
FINER = 2

# The mean man's solids by name, and how finely each is sampled [mm]: thin bone and small spaces
# most finely.
SOLIDS: Mapping[str, tuple[Callable[[], Shape], float]] = {
    "skin": (skin, 0.9),
    "brain-space": (inner_vault, 1.0),
    "lens": (midface.lens, 0.3),
    "cervical-column": (cervical_column, 0.6),
    "hyoid": (hyoid, 0.5),
    "cranium": (cranium, 0.5),
    "petrous": (skull_base.petrous, 0.6),
    "jaw-body": (headless_body, 0.5),
    "sinus": (midface.sinus, 0.5),
    "ethmoid-cells": (midface.ethmoid_cells, 0.4),
    "frontal-sinus": (midface.frontal_sinus, 0.5),
    "sphenoid-sinus": (skull_base.sphenoid_sinus, 0.5),
    "ear-canal": (skull_base.ear_canal, 0.4),
    "tympanic-cavity": (skull_base.tympanic_cavity, 0.3),
    "airway": (lambda: airway()["airway"], 0.5),
    "ostium": (lambda: airway()["ostium-left"], 0.3),
    "mastoid-cells": (lambda: airway()["mastoid-cells-left"], 0.35),
}


@dataclass(frozen=True, slots=True)
class Reference:
    """The mean man's ``fields`` by name, what follows the head's map, left side and midline
    (``led``), and finished teeth by kind (``teeth``)."""

    fields: Mapping[str, SampledField]
    led: Pieces
    teeth: Mapping[tuple[str, int], ToothPattern]


def make_reference(tell: Callable[[str], None] = lambda _: None) -> Reference:
    """Works everything out from the implicit model; takes a minute or two."""
    fields = {}
    for name, (shape, spacing_mm) in SOLIDS.items():
        tell(f"field of {name}")
        fields[name] = sampled(shape(), spacing_mm)
    tell("surfaces and structures")
    led = _led_pieces()
    tell("teeth")
    return Reference(fields, led, {kind: tooth_pattern(*kind) for kind in TOOTH_KINDS})


def display_part(
    part: str, tissue: Tissue, frame: Frame, mesh: Mesh, jaw: NDArray[Any] | None = None
) -> DisplayPart:
    """A surface ready for the screen; ``jaw`` is how far each corner follows the lower jaw."""
    share = None if jaw is None else jaw.astype(np.float32)
    return DisplayPart(part, tissue, frame, mesh.vertices_mm.astype(np.float32), mesh.faces, share)


def _led_pieces() -> Pieces:
    fine: list[DisplayPart] = []
    coarse: list[DisplayPart] = []
    for part, tissue, shape, spacing_mm, budget in (
        ("cervical-column", Tissue.BONE, cervical_column(), 1.0, SPINE_TRIANGLES),
        ("hyoid", Tissue.BONE, hyoid(), 0.8, HYOID_TRIANGLES),
        ("skin", Tissue.SKIN, skin(), 1.3, SKIN_TRIANGLES),
    ):
        mesh = surface(shape, spacing_mm)
        for parts, triangles in ((fine, budget[0]), (coarse, budget[1])):
            # the coarse surface comes from the fine one: quicker, and closed more surely
            mesh = simplified(mesh, triangles)
            share = jaw_share(mesh.vertices_mm) if tissue is Tissue.SKIN else None
            parts.append(display_part(part, tissue, Frame.SKULL, mesh, share))
    structures, marks = {}, {}
    for solid in led_solids(MEAN_MAN):
        structure, mesh = structure_of(solid, FINER)
        structures[solid.id] = structure
        mark = simplified(mesh, STRUCTURE_TRIANGLES)
        marks[solid.id] = display_part(solid.id, Tissue.BONE, solid.frame, mark)
    return Pieces(tuple(fine), tuple(coarse), structures, marks)


# --- on disk -----------------------------------------------------------------------------------


def write_reference(book: Reference, path: Path) -> None:
    """Stores the reference as one archive of arrays; equal ones give equal bytes."""
    out: Arrays = {}
    for name, field in book.fields.items():
        out[f"field/{name}/changes"] = packed(field.values)
        out[f"field/{name}/place"] = np.array(
            [field.spacing_mm, *field.origin_mm, *field.lower_mm, *field.upper_mm]
        )
    out |= {f"led/{name}": array for name, array in pack(book.led).items()}
    for (jaw, place), pattern in book.teeth.items():
        under = f"tooth/{jaw}/{place}"
        out |= {f"{under}/{name}": array for name, array in pack(pattern.pieces).items()}
        out[f"{under}/tips"] = np.stack([pattern.cusp_mm, pattern.edge_mm])
    np.savez_compressed(path, allow_pickle=False, **out)


def read_reference(path: Path) -> Reference:
    """The reference as stored.

    Raises
    ------
    NotReadable
        If the archive is missing or broken; the message says how to make it again.
    """
    try:
        # opened here: np.load leaves a file that it cannot read open
        with path.open("rb") as file, np.load(file, allow_pickle=False) as found:
            arrays = {name: found[name] for name in found.files}
        return _reference_of(arrays)
    except FileNotFoundError:
        raise NotReadable(f"The file {path.name} is missing in {path.parent}. {REBUILD}") from None
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error) as error:
        raise NotReadable(f"The file {path.name} cannot be read ({error}). {REBUILD}") from error


def _reference_of(arrays: Arrays) -> Reference:
    grouped: dict[str, Arrays] = {}
    for name, array in arrays.items():
        group, _, key = name.rpartition("/")
        grouped.setdefault(group, {})[key] = array
    fields, teeth = {}, {}
    for group, held in grouped.items():
        first, *rest = group.split("/")
        if first == "field":
            place = held["place"]
            values = unpacked(held["changes"])
            fields[rest[0]] = SampledField(
                values, place[1:4], float(place[0]), place[4:7], place[7:10]
            )
        elif first == "tooth":
            cusp, edge = held["tips"]
            teeth[rest[0], int(rest[1])] = ToothPattern(unpack(held), cusp, edge)
    return Reference(fields, unpack(grouped["led"]), teeth)


@lru_cache(maxsize=1)
def reference() -> Reference:
    """The shipped reference, read once; errors as in `read_reference`."""
    return read_reference(FOLDER / REFERENCE)
