"""The built heads on disk: one archive of arrays per head and a manifest with their hashes."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from trainer.errors import NotReadable
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.models.structures import Head, Structure, StructureKind
from trainer.models.subject import MEANS, Person

PROJECT = Path(__file__).resolve().parents[2]
MESHES = PROJECT / "assets" / "meshes"
SCENARIOS = PROJECT / "scenarios"
UNITS = SCENARIOS / "units"
MANIFEST = "manifest.json"
REBUILD = "Run 'trainer build-head' to make the head again; nothing else is affected."
# Stored positions are rounded to this [mm]: far below what any screen or margin shows, and the
# archives stay the same when a processor rounds the last bit differently.
STORED_STEP_MM = 0.001


def archive_name(person: Person) -> str:
    """The file that holds a mean head."""
    return f"{person.sex}.npz"


def load_head(person: Person, folder: Path = MESHES) -> HeadMeshes:
    """The built head of the mean man or woman.

    Raises
    ------
    NotReadable
        If the archive is missing or broken; the message says how to make it again.
    """
    path = folder / archive_name(person)
    try:
        # opened here: np.load leaves a file that it cannot read open
        with path.open("rb") as file, np.load(file, allow_pickle=False) as arrays:
            return _unpack({k: arrays[k] for k in arrays.files}, person)
    except FileNotFoundError:
        raise NotReadable(f"The head file {path.name} is missing in {folder}. {REBUILD}") from None
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile) as error:
        raise NotReadable(
            f"The head file {path.name} cannot be read ({error}). {REBUILD}"
        ) from error


def read_manifest(folder: Path = MESHES) -> dict[str, Any]:
    """What the archives were built from, and their hashes.

    Raises
    ------
    NotReadable
        If the manifest is missing or broken.
    """
    path = folder / MANIFEST
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(found, dict):
            raise ValueError("not an object")
    except (OSError, ValueError) as error:
        raise NotReadable(
            f"The list of head files {path} cannot be read ({error}). {REBUILD}"
        ) from error
    return found


def known_structure_ids(folder: Path = MESHES) -> frozenset[str]:
    """Ids of all structures, without loading a head."""
    ids = read_manifest(folder).get("structure_ids")
    if not isinstance(ids, list):
        raise NotReadable(f"The list of head files in {folder} names no structures. {REBUILD}")
    return frozenset(map(str, ids))


def build_meshes(
    folder: Path = MESHES,
    people: tuple[Person, ...] = MEANS,
    tell: Callable[[str], None] = lambda _: None,
) -> None:
    """Build the heads from the model and write archives and manifest into ``folder``."""
    from trainer.anatomy.build import GENERATOR_VERSION, build_head

    folder.mkdir(parents=True, exist_ok=True)
    files: dict[str, Any] = {}
    ids: list[str] = []
    for person in people:
        built = build_head(person, lambda part, person=person: tell(f"{person.sex}: {part}"))  # type: ignore[misc]
        path = folder / archive_name(person)
        np.savez_compressed(path, allow_pickle=False, **_pack(built))
        ids = list(built.head.structures)
        files[path.name] = {
            "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
            "parameters": {"sex": str(person.sex), "landmarks": "mean adult"},
            "triangles_at_rest": sum(len(p.faces) for p in built.fine),
            "triangles_while_moving": sum(len(p.faces) for p in built.coarse),
        }
    manifest = {
        "note": "Built from the model by 'trainer build-head'. Synthetic; no person was scanned.",
        "generator_version": GENERATOR_VERSION,
        "files": files,
        "structure_ids": ids,
    }
    (folder / MANIFEST).write_text(json.dumps(manifest, indent=1) + "\n", encoding="utf-8")


def stored(points_mm: np.ndarray) -> np.ndarray:
    """Points as they are stored: whole steps of `STORED_STEP_MM`."""
    return np.round(np.asarray(points_mm, np.float64) / STORED_STEP_MM).astype(np.int32)


def _pack(built: HeadMeshes) -> dict[str, np.ndarray]:
    out: dict[str, np.ndarray] = {}
    index: dict[str, Any] = {
        "landmarks": list(built.head.landmarks_mm),
        "parts": {},
        "structures": [],
    }
    groups = {
        "fine": built.fine,
        "coarse": built.coarse,
        "mark": tuple(built.of_structure.values()),
    }
    for group, parts in groups.items():
        index["parts"][group] = [[p.id, p.tissue, p.frame, p.jaw_share is not None] for p in parts]
        counts = np.array([[len(p.vertices_mm), len(p.faces)] for p in parts], np.int32)
        out[f"{group}.counts"] = counts
        out[f"{group}.vertices"] = stored(np.concatenate([p.vertices_mm for p in parts]))
        out[f"{group}.faces"] = np.concatenate([p.faces for p in parts]).astype(np.int32)
        shares = [p.jaw_share for p in parts if p.jaw_share is not None]
        out[f"{group}.shares"] = np.concatenate(shares) if shares else np.zeros(0, np.float32)
    structures = list(built.head.structures.values())
    index["structures"] = [
        [s.id, s.name, s.kind, s.side, s.frame, s.cell_mm, s.volume_mm3] for s in structures
    ]
    out["structure.counts"] = np.array(
        [[len(s.samples_mm), len(s.hull_mm)] for s in structures], np.int32
    )
    out["structure.samples"] = stored(np.concatenate([s.samples_mm for s in structures]))
    out["structure.weights"] = np.concatenate([s.weights for s in structures])
    out["structure.hulls"] = stored(np.concatenate([s.hull_mm for s in structures]))
    out["landmarks"] = np.array(list(built.head.landmarks_mm.values()))
    out["chin_contact"] = built.head.chin_contact_mm
    out["index"] = np.frombuffer(json.dumps(index).encode(), np.uint8)
    return out


def _unpack(arrays: dict[str, np.ndarray], person: Person) -> HeadMeshes:
    index = json.loads(arrays["index"].tobytes())
    parts = {group: _parts(arrays, group, rows) for group, rows in index["parts"].items()}
    structures: dict[str, Structure] = {}
    samples = arrays["structure.samples"] * STORED_STEP_MM
    weights = arrays["structure.weights"]
    hulls = arrays["structure.hulls"] * STORED_STEP_MM
    s = h = 0
    for row, (n, m) in zip(index["structures"], arrays["structure.counts"], strict=True):
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
    marks = dict(zip(index["landmarks"], arrays["landmarks"], strict=True))
    head = Head(person, structures, marks, arrays["chin_contact"])
    return HeadMeshes(head, parts["fine"], parts["coarse"], {p.id: p for p in parts["mark"]})


def _parts(
    arrays: dict[str, np.ndarray], group: str, rows: list[list[Any]]
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
