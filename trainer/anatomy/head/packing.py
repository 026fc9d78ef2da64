"""Surfaces and structures as plain arrays, and back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.structures import Structure, StructureKind

Arrays = dict[str, NDArray[Any]]

# Stored positions are rounded to this [mm]: far below what any screen or margin shows, and the
# archives stay the same when a processor rounds the last bit differently.
STORED_STEP_MM = 0.001


@dataclass(frozen=True, slots=True)
class Pieces:
    """Structures with their marks, and the display surfaces ``fine`` and ``coarse``."""

    fine: tuple[DisplayPart, ...]
    coarse: tuple[DisplayPart, ...]
    structures: Mapping[str, Structure]
    marks: Mapping[str, DisplayPart]


def stored(points_mm: NDArray[Any]) -> NDArray[np.int32]:
    """Points as they are stored: whole steps of `STORED_STEP_MM`."""
    return np.round(np.asarray(points_mm, np.float64) / STORED_STEP_MM).astype(np.int32)


def pack(pieces: Pieces) -> Arrays:
    """The pieces as arrays by name."""
    groups = {"fine": pieces.fine, "coarse": pieces.coarse, "mark": tuple(pieces.marks.values())}
    out: Arrays = {}
    rows: dict[str, Any] = {}
    for group, parts in groups.items():
        rows[group] = [[p.id, p.tissue, p.frame, p.jaw_share is not None] for p in parts]
        out[f"{group}.counts"] = np.array(
            [[len(p.vertices_mm), len(p.faces)] for p in parts], np.int32
        )
        out[f"{group}.vertices"] = stored(_joined((p.vertices_mm for p in parts), 3))
        out[f"{group}.faces"] = _joined((p.faces for p in parts), 3).astype(np.int32)
        shares = (p.jaw_share for p in parts if p.jaw_share is not None)
        out[f"{group}.shares"] = _joined(shares, 0).astype(np.float32)
    structures = list(pieces.structures.values())
    rows["structures"] = [
        [s.id, s.name, s.kind, s.side, s.frame, s.cell_mm, s.volume_mm3] for s in structures
    ]
    out["structure.counts"] = np.array(
        [[len(s.samples_mm), len(s.hull_mm)] for s in structures], np.int32
    )
    out["structure.samples"] = stored(_joined((s.samples_mm for s in structures), 3))
    out["structure.weights"] = _joined((s.weights for s in structures), 0)
    out["structure.hulls"] = stored(_joined((s.hull_mm for s in structures), 3))
    out["rows"] = np.frombuffer(json.dumps(rows).encode(), np.uint8)
    return out


def unpack(arrays: Mapping[str, NDArray[Any]]) -> Pieces:
    """The pieces that `pack` made into arrays."""
    rows = json.loads(arrays["rows"].tobytes())
    fine, coarse, marks = (_parts(arrays, g, rows[g]) for g in ("fine", "coarse", "mark"))
    structures: dict[str, Structure] = {}
    samples = arrays["structure.samples"] * STORED_STEP_MM
    weights = arrays["structure.weights"]
    hulls = arrays["structure.hulls"] * STORED_STEP_MM
    s = h = 0
    for row, (n, m) in zip(rows["structures"], arrays["structure.counts"], strict=True):
        structures[row[0]] = Structure(
            row[0],
            row[1],
            StructureKind(row[2]),
            Side(row[3]),
            Frame(row[4]),
            samples[s : s + n],
            weights[s : s + n],
            row[5],
            hulls[h : h + m],
            row[6],
        )
        s, h = s + n, h + m
    return Pieces(fine, coarse, structures, {p.id: p for p in marks})


def _joined(arrays: Iterable[NDArray[Any]], columns: int) -> NDArray[Any]:
    empty = np.zeros((0, columns) if columns else 0)
    return np.concatenate([*arrays] or [empty])


def _parts(
    arrays: Mapping[str, NDArray[Any]], group: str, rows: list[list[Any]]
) -> tuple[DisplayPart, ...]:
    vertices = (arrays[f"{group}.vertices"] * STORED_STEP_MM).astype(np.float32)
    found = []
    v = f = w = 0
    for (part, tissue, frame, follows), (n, m) in zip(rows, arrays[f"{group}.counts"], strict=True):
        share = arrays[f"{group}.shares"][w : w + n] if follows else None
        w += n if follows else 0
        found.append(
            DisplayPart(
                part,
                Tissue(tissue),
                Frame(frame),
                vertices[v : v + n],
                arrays[f"{group}.faces"][f : f + m],
                share,
            )
        )
        v, f = v + n, f + m
    return tuple(found)
