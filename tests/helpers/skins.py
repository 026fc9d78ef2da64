"""Measures on the skin of any person: the mean man's skin, moved by the person's map."""

from __future__ import annotations

from functools import cache

import numpy as np

from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.calipers import breadth_mm, cut_mm, tape_mm
from trainer.anatomy.shapes.meshing import Mesh, surface
from trainer.anatomy.soft.skin import skin, skin_points
from trainer.models.subject import Person

SPACING_MM = 1.5
# The neck's tape lies square to the neck, just below the larynx (as in test_skin.py).
NECK_LEAN_DEG, LARYNX_MM = 12.0, (0.0, -38.0, -144.0)


@cache
def _mans_skin() -> Mesh:
    return surface(skin(), SPACING_MM)


@cache
def skin_measures(person: Person) -> dict[str, float]:
    """Sizes of a person's head by the names of `Sizes`, and the head's girth [mm]."""
    warp, man, named = head_warp(person), _mans_skin(), skin_points()
    mesh = Mesh(warp.to_subject(man.vertices_mm), man.faces)
    points = dict(zip(named, warp.to_subject(np.array([*named.values()])), strict=True))
    marks = starter_landmarks(person)
    v = mesh.vertices_mm
    middle = v[(np.abs(v[:, 0]) < 1.5) & (v[:, 1] > 0) & (v[:, 2] > 0)]
    away = np.linalg.norm(middle - points["glabella"], axis=1)
    back = middle[np.argmax(away)]
    around = np.cross([1.0, 0.0, 0.0], back - points["glabella"])
    lean = np.radians(NECK_LEAN_DEG)
    neck = np.array([0.0, -np.sin(lean), np.cos(lean)])
    larynx = warp.to_subject(np.array([LARYNX_MM]))[0]
    return {
        "head_breadth": breadth_mm(mesh, (-120.0, 120.0), (34.0, 90.0)),
        "head_length": float(away.max()),
        "head_height": float(v[:, 2].max() - points["tragion-left"][2]),
        "face_width": breadth_mm(mesh, (25.0, 80.0), (-25.0, 8.0)),
        "face_height": float(np.linalg.norm(points["sellion"] - points["chin-contact"])),
        "jaw_length": float(np.linalg.norm((marks["condylion-left"] - marks["gnathion"])[1:])),
        "neck_girth": tape_mm(cut_mm(mesh, larynx, neck).reshape(-1, 3), neck),
        "head_girth": tape_mm(cut_mm(mesh, points["glabella"], around).reshape(-1, 3), around),
    }
