"""Landmarks, tooth sizes, volumes and measures of a head, as plain data and as text."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from trainer.anatomy.teeth.dentition import dentition
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import Person
from trainer.services.assets import MESHES, load_head
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.person_io import person_data, person_text

# A person is anybody, a norm a mean of many: what is said beside the measures.
ADULT_NORMS = "Norms are those of mean adults of the sex; one person may well lie outside."
CHILD_NORMS = "Norms are those of adults: for a child they show how much is still to grow."


def anatomy_report(person: Person, meshes_folder: Path = MESHES) -> dict[str, Any]:
    """What the head measures; mm and mm3, skull frame (+x left, +y back, +z up), teeth together.

    Tooth sizes are measured on the model's solids, not repeated from the table.

    Raises
    ------
    NotReadable
        If the built head is missing.
    """
    from trainer.anatomy.teeth.tooth_measures import measure_tooth

    meshes = load_head(person, meshes_folder)
    head = meshes.head
    teeth = {}
    for tooth in dentition(person):
        m = measure_tooth(tooth)
        teeth[str(tooth.fdi)] = {
            "crown_mm": round(m.crown_mm, 2),
            "root_mm": {name or "single": round(v, 2) for name, v in m.root_mm.items()},
            "mesiodistal_mm": round(m.mesiodistal_mm, 2),
            "buccolingual_mm": round(m.buccolingual_mm, 2),
        }
    away = surface_distances(meshes)
    return {
        "caution": SHORT_CAUTION,
        "person": person_data(person),
        "in_words": person_text(person),
        "frame": "skull, LPS: x to the patient's left, y to the back, z up",
        "landmarks_mm": {
            name: [round(float(v), 3) for v in point] for name, point in head.landmarks_mm.items()
        },
        "landmarks_from": {
            name: "read off the teeth"
            if "incisor" in name or "molar" in name
            else f"constructed; nearest surface {away[name]:.1f} mm away"
            for name in head.landmarks_mm
        },
        "teeth": teeth,
        "structures": {
            s.id: {
                "kind": str(s.kind),
                "side": str(s.side),
                "frame": str(s.frame),
                "volume_mm3": round(s.volume_mm3, 1),
            }
            for s in head.structures.values()
        },
    }


def surface_distances(meshes: HeadMeshes) -> dict[str, float]:
    """Distance of each landmark to the nearest shown surface [mm], teeth together.

    Taken to corners, edge and face middles of the triangles, so up to half a millimetre too long.
    """
    from scipy.spatial import cKDTree

    points = []
    for part in meshes.fine:
        corners = part.vertices_mm[part.faces].astype(float)
        middles = (corners + np.roll(corners, 1, axis=1)) / 2.0
        points += [part.vertices_mm, corners.mean(axis=1), middles.reshape(-1, 3)]
    tree = cKDTree(np.concatenate(points))
    return {name: float(tree.query(p)[0]) for name, p in meshes.head.landmarks_mm.items()}


def anatomy_text(report: dict[str, Any]) -> str:
    """The report for reading."""
    lines = [f"Head of a {report['in_words']}; {report['frame']}", "", "Landmarks [mm]"]
    lines += [
        f"  {name:34} {x:8.1f} {y:8.1f} {z:8.1f}  {report['landmarks_from'][name]}"
        for name, (x, y, z) in report["landmarks_mm"].items()
    ]
    lines += ["", "Teeth [mm]   crown  mesiodistal  buccolingual  roots"]
    lines += [
        f"  {number:9} {t['crown_mm']:6.1f} {t['mesiodistal_mm']:12.1f} "
        f"{t['buccolingual_mm']:13.1f}  "
        + ", ".join(f"{name} {v:.1f}" for name, v in t["root_mm"].items())
        for number, t in report["teeth"].items()
    ]
    lines += ["", "Structures [mm3]"]
    lines += [f"  {name:34} {s['volume_mm3']:10.1f}" for name, s in report["structures"].items()]
    return "\n".join([*lines, "", SHORT_CAUTION])


def measures_report(person: Person, meshes_folder: Path = MESHES) -> dict[str, Any]:
    """Every measure that the built head can be asked for, beside its norm.

    A range that is not published is ``None``, and so is a number of standard deviations.
    ``within`` tells whether the value lies in the range or within two deviations.

    Raises
    ------
    NotReadable
        If the built head is missing.
    """
    from trainer.anatomy.measures.measures import measure_head
    from trainer.anatomy.measures.norms import figure

    rows = []
    for m in measure_head(load_head(person, meshes_folder)):
        off = m.deviations
        rows.append(
            {
                "id": m.id,
                "name": m.name,
                "unit": m.unit,
                "value": round(m.value, 3),
                "norm": figure(m.norm.mean, person.sex),
                "sd": figure(m.norm.sd, person.sex),
                "low": figure(m.norm.low, person.sex),
                "high": figure(m.norm.high, person.sex),
                "sd_off": None if off is None else round(off, 2),
                "within": m.within,
                "source": m.norm.source,
                "mark": str(m.norm.mark),
            }
        )
    return {
        "person": person_data(person),
        "in_words": person_text(person),
        "norms": ADULT_NORMS if person.adult else CHILD_NORMS,
        "caution": SHORT_CAUTION,
        "measures": rows,
    }


def measures_text(report: dict[str, Any]) -> str:
    """The measures for reading, one a line; a value outside its norm is marked with ``!``."""
    lines = [
        f"Head of a {report['in_words']}: measured, norm (SD) or [range], SD off, source. "
        "! is outside the range or more than 2 SD off.",
        report["norms"],
    ]
    for m in report["measures"]:
        norm = "" if m["norm"] is None else f"{m['norm']:g}"
        norm += "" if m["sd"] is None else f" ({m['sd']:g})"
        if m["low"] is not None:
            norm += f" [{m['low']:g}" + (" up]" if m["high"] is None else f" to {m['high']:g}]")
        off = "" if m["sd_off"] is None else f"{m['sd_off']:+.1f}"
        flag = "!" if m["within"] is False else " "
        digits = 0 if m["unit"] == "mm3" else 1 if m["unit"] else 3
        lines.append(
            f"{flag} {m['name']:38} {m['value']:9.{digits}f} {m['unit']:3}  {norm.strip():22} "
            f"{off:>5}  {m['source']} ({m['mark']})"
        )
    return "\n".join([*lines, "", report["caution"]])
