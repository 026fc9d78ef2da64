"""Landmarks, tooth sizes and volumes of a head, as plain data and as text."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.anatomy.dentition import dentition
from trainer.models.subject import Sex
from trainer.services.assets import MESHES, load_head


def anatomy_report(sex: Sex, meshes_folder: Path = MESHES) -> dict[str, Any]:
    """What the head measures; mm and mm3, skull frame (+x left, +y back, +z up), teeth together.

    Tooth sizes are measured on the model's solids, not repeated from the table.

    Raises
    ------
    NotReadable
        If the built head is missing.
    """
    from trainer.anatomy.tooth_measures import measure_tooth

    head = load_head(sex, meshes_folder).head
    teeth = {}
    for tooth in dentition(sex):
        m = measure_tooth(tooth)
        teeth[str(tooth.fdi)] = {
            "crown_mm": round(m.crown_mm, 2),
            "root_mm": {name or "single": round(v, 2) for name, v in m.root_mm.items()},
            "mesiodistal_mm": round(m.mesiodistal_mm, 2),
            "buccolingual_mm": round(m.buccolingual_mm, 2),
        }
    return {
        "sex": str(sex),
        "frame": "skull, LPS: x to the patient's left, y to the back, z up",
        "landmarks_mm": {
            name: [round(float(v), 3) for v in point] for name, point in head.landmarks_mm.items()
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


def anatomy_text(report: dict[str, Any]) -> str:
    """The report for reading."""
    lines = [f"Mean adult {report['sex']} head, {report['frame']}", "", "Landmarks [mm]"]
    lines += [
        f"  {name:34} {x:8.1f} {y:8.1f} {z:8.1f}"
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
    return "\n".join(lines)
