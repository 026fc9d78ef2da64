"""Measures of the outside of a head: sizes on the skin and depths of soft tissue.

Each function takes a `Specimen` and returns one number [mm].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy.measures.measures_skull import bigonial_bone, bizygomatic_bone
from trainer.anatomy.measures.specimen import Specimen
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.calipers import breadth_mm, cut_mm, front_line, hits_mm, tape_mm
from trainer.anatomy.soft.skin_ear import ROOT_MM, ear_frame

Array = NDArray[np.float64]

# Above this no ear reaches [mm above the ear line].
ABOVE_EARS_MM = 38.0
# The auricle ends this far behind the plane of its root [mm], as in the test of the ear's model.
EAR_ROOT_MM = -1.5
# In front of this the auricle's rim has run into the temple [mm behind its front root].
EAR_FRONT_MM = 12.0
# No auricle reaches farther from its root: six deviations over ANSUR II's mean.
EAR_REACH_MM = 45.0
# The neck's tape lies square to the neck, which leans forward by about this.
NECK_LEAN_DEG = 12.0


def head_breadth(s: Specimen) -> float:
    """Widest above the ears."""
    return breadth_mm(s.surface("skin"), (-120.0, 120.0), (ABOVE_EARS_MM, 120.0))


def head_length(s: Specimen) -> float:
    """Glabella to the farthest midline point behind."""
    return float(np.linalg.norm(s.head_back - s.glabella))


def head_circumference(s: Specimen) -> float:
    """A tight tape round the head in the plane through glabella and rearmost point."""
    normal = np.cross([1.0, 0.0, 0.0], s.head_back - s.glabella)
    return tape_mm(cut_mm(s.surface("skin"), s.glabella, normal).reshape(-1, 3), normal)


def tragion_to_vertex(s: Specimen) -> float:
    """Upright, Frankfort plane level."""
    top = s.surface("skin").vertices_mm[:, 2].max()
    return float(top - s.skin_marks["tragion-left"][2])


def menton_sellion(s: Specimen) -> float:
    """Nose's root to under the chin, on the skin."""
    return float(np.linalg.norm(s.sellion - s.chin_underside))


def bizygomatic_skin(s: Specimen) -> float:
    """Widest across the cheekbones."""
    return breadth_mm(s.surface("skin"), (25.0, 80.0), (-25.0, 8.0))


def pupils_apart(s: Specimen) -> float:
    """Between the centres of the lenses, which lie behind the pupils."""
    return float(s.centre("lens-left")[0] - s.centre("lens-right")[0])


def bigonial_skin(s: Specimen) -> float:
    """Across the angles of the jaw."""
    _, back, up = s.mark("gonion")
    return breadth_mm(s.surface("skin"), (-back - 3.0, -back + 5.0), (up - 3.0, up + 3.0))


def bigonial_over_bizygomatic(s: Specimen) -> float:
    """Skin breadth at the jaw's angles over that at the cheekbones."""
    return bigonial_skin(s) / bizygomatic_skin(s)


def tragion_to_tragion(s: Specimen) -> float:
    """Across the head between the notches above the tragi."""
    return float(s.skin_marks["tragion-left"][0] - s.skin_marks["tragion-right"][0])


def chin_arc(s: Specimen) -> float:
    """Tape from tragion to tragion over the foremost point of the chin."""
    return _arc(s, s.skin_marks["pogonion-skin"])


def under_jaw_arc(s: Specimen) -> float:
    """Tape from tragion to tragion under the jaw, just before the neck begins."""
    way = s.chin_underside
    f = -way[1] - 25.0
    return _arc(s, np.array([0.0, -f, _underside(s, f)]))


def neck_circumference(s: Specimen) -> float:
    """A tight tape square to the neck, just below the larynx."""
    lean = np.radians(NECK_LEAN_DEG)
    normal = np.array([0.0, -np.sin(lean), np.cos(lean)])
    return tape_mm(
        cut_mm(s.surface("skin"), s.place((38.0, -144.0)), normal).reshape(-1, 3), normal
    )


def ear_length(s: Specimen) -> float:
    """Greatest length of the auricle along its own axis."""
    ear = _ear(s)
    return float(np.ptp(ear[ear[:, 0] > EAR_FRONT_MM, 1]))


def ear_breadth(s: Specimen) -> float:
    """Greatest breadth of the auricle across its own axis."""
    return float(np.ptp(_ear(s)[:, 0]))


def ear_protrusion(s: Specimen) -> float:
    """From the head behind the ear sideways to the ear's outer rim."""
    v = s.surface("skin").vertices_mm
    beside = v[(v[:, 2] > -10) & (v[:, 2] < 25) & (v[:, 1] > 0) & (v[:, 1] < 45)]
    behind = beside[(beside[:, 1] > 36) & (beside[:, 2] < 0), 0].max()
    return float(beside[:, 0].max() - behind)


def nasion_to_mouth(s: Specimen) -> float:
    """Nose's root to the line between the lips, on the skin, straight down."""
    return float(_skin_nasion(s)[2] - s.skin_marks["lip-line"][2])


def subnasale_to_chin(s: Specimen) -> float:
    """Base of the nose to under the chin, on the skin, straight down."""
    return float(s.skin_marks["subnasale"][2] - s.chin_underside[2])


def nasion_to_subnasale(s: Specimen) -> float:
    """Nose's root to its base, on the skin, straight down."""
    return float(_skin_nasion(s)[2] - s.skin_marks["subnasale"][2])


def over_vertex(s: Specimen) -> float:
    """Soft tissue over the top of the skull."""
    top = s.surface("skull").vertices_mm[:, 2].max()
    return float(s.surface("skin").vertices_mm[:, 2].max() - top)


def over_side(s: Specimen) -> float:
    """Soft tissue over the widest part of the braincase, on one side."""
    bone = breadth_mm(s.surface("skull"), (-120.0, 120.0), (20.0, 120.0))
    return (head_breadth(s) - bone) / 2.0


def over_cheekbone(s: Specimen) -> float:
    """Soft tissue over the cheekbones, on one side."""
    return (bizygomatic_skin(s) - bizygomatic_bone(s)) / 2.0


def over_jaw_angle(s: Specimen) -> float:
    """Soft tissue over the angle of the jaw, on one side."""
    return (bigonial_skin(s) - bigonial_bone(s)) / 2.0


def over_glabella(s: Specimen) -> float:
    """Soft tissue between the brows."""
    u = s.glabella[2]
    bone = front_line(s.skull_profile, u - 0.5, u + 0.5)[:, 0].mean()
    return float(-s.glabella[1] - bone)


def over_nasion(s: Specimen) -> float:
    """Soft tissue straight before the nose's bony root."""
    return _to_skin(s, s.nasion, (0, -1, 0))


def over_pogonion(s: Specimen) -> float:
    """Soft tissue straight before the bony chin."""
    return _to_skin(s, s.pogonion, (0, -1, 0))


def over_menton(s: Specimen) -> float:
    """Soft tissue straight below the bony chin."""
    return _to_skin(s, s.menton, (0, 0, -1))


def over_subnasale(s: Specimen) -> float:
    """Soft tissue straight before the upper jaw at the base of the nose."""
    base = s.skin_marks["subnasale"]
    bone = front_line(s.skull_profile, base[2] - 0.5, base[2] + 0.5)[:, 0].mean()
    return float(-base[1] - bone)


def _to_skin(s: Specimen, bone_mm: Array, way: ArrayLike) -> float:
    return float(hits_mm(s.surface("skin"), bone_mm, way)[0])


def _skin_nasion(s: Specimen) -> Array:
    """The skin straight before the bony nasion."""
    return s.nasion - [0.0, over_nasion(s), 0.0]


def _underside(s: Specimen, forward_mm: float) -> float:
    """Height of the skin under the jaw in the midline, ``forward_mm`` in front of the ear line."""
    inside = np.array([0.0, -forward_mm, s.menton[2] + 4.0])
    return float(inside[2] - hits_mm(s.surface("skin"), inside, (0, 0, -1))[0])


def _arc(s: Specimen, over_mm: Array) -> float:
    """Tight tape from tragion to tragion over a midline point."""
    left, right = s.skin_marks["tragion-left"], s.skin_marks["tragion-right"]
    normal = np.cross([1.0, 0.0, 0.0], over_mm - left)
    down = (over_mm - left) * [0.0, 1.0, 1.0]
    down = down / np.linalg.norm(down)
    points = cut_mm(s.surface("skin"), left, normal).reshape(-1, 3)
    flat = np.stack([points[:, 0], (points - left) @ down], axis=1)
    reach = np.linalg.norm((over_mm - left)[1:])
    # what the tape lies on: nothing behind the tragi, nothing beyond the chin (the neck)
    flat = flat[(flat[:, 1] > 0.0) & (flat[:, 1] < reach + 1.0) & (np.abs(flat[:, 0]) <= left[0])]
    ends = np.array([[left[0], 0.0], [right[0], 0.0]])
    return float(ConvexHull(np.vstack([flat, ends])).area - (left[0] - right[0]))


def _ear(s: Specimen) -> Array:
    """Corners (n, 3) of the left auricle: back, up, out of its own plane, from its front root.

    Which corners are ear is told in the mean man's ear; lengths are the head's own.
    """
    v = s.surface("skin").vertices_mm
    own = (head_warp(s.person).to_mean_man(v) - ROOT_MM) @ ear_frame()
    reach = (own[:, 0] > 0.0) & (own[:, 0] < EAR_REACH_MM) & (np.abs(own[:, 1]) < EAR_REACH_MM)
    return np.asarray((v[reach & (own[:, 2] > EAR_ROOT_MM)] - ROOT_MM) @ ear_frame())
