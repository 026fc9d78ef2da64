"""Measures of the skull, its spaces, the eyes, the upper neck, and side-view lengths and angles.

Each function takes a `Specimen` and returns one number [mm, deg or mm3]. Lengths and angles of the
face are those of a side view, as on a lateral film without enlargement.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.measures.specimen import Specimen
from trainer.anatomy.shapes.calipers import (
    angle_deg,
    breadth_mm,
    cut_mm,
    fall_deg,
    from_side_mm,
    hits_mm,
    off_line_mm,
    side_view,
)

Array = NDArray[np.float64]

PROBE_STEP_MM = 0.05  # of a probe through a solid

# The middle of the orbit's mouth in the mean man, and where its cone ends: left, forward, up.
ORBIT_MOUTH_MM, ORBIT_APEX_MM = (31.0, 74.0, 17.5), (14.5, 36.0, 20.0)
# The plane of the rim lies this far in front of that middle; the optic canal's width, 4 to 6
# (from memory).
RIM_BEFORE_MOUTH_MM, OPTIC_CANAL_MM = 3.5, 6.0
# The mouth of the orbit looks a little sideways: the way across it.
ORBIT_ACROSS = np.array([18.0, 8.0, 0.0])


# --- braincase and breadths ------------------------------------------------------------------


def skull_breadth(s: Specimen) -> float:
    """Widest of the braincase."""
    return breadth_mm(s.surface("skull"), (-120.0, 120.0), (20.0, 120.0))


def skull_length(s: Specimen) -> float:
    """Bony glabella to the farthest midline point behind."""
    fu = s.skull_profile.reshape(-1, 2)
    u = s.glabella[2]
    brow = fu[np.abs(fu[:, 1] - u) < 6.0]
    glabella = brow[np.argmax(brow[:, 0])]
    return float(np.linalg.norm(fu - glabella, axis=1).max())


def bizygomatic_bone(s: Specimen) -> float:
    """Widest across the cheek arches."""
    return breadth_mm(s.surface("skull"), (20.0, 60.0), (-12.0, 12.0))


def bigonial_bone(s: Specimen) -> float:
    """Widest across the angles of the lower jaw."""
    _, back, up = s.mark("gonion")
    return breadth_mm(s.surface("mandible"), (-back - 8.0, -back + 8.0), (up - 8.0, up + 8.0))


def between_porions(s: Specimen) -> float:
    """Porion to porion."""
    return float(s.mark("porion-left")[0] - s.mark("porion-right")[0])


def temple_bone_thickness(s: Specimen) -> float:
    """Outer to inner table at the side of the braincase, at its widest level.

    On the solid: the shown skull is filled.
    """
    steps = np.arange(0.0, 100.0, PROBE_STEP_MM)
    bone = s.skull_bone(s.place((-10.0, 55.0)) + steps[:, None] * [1.0, 0.0, 0.0]) < 0.0
    first = int(np.argmax(bone))
    return float(PROBE_STEP_MM * np.argmin(bone[first:]))


# --- side view -------------------------------------------------------------------------------


def sella_nasion(s: Specimen) -> float:
    """S to N."""
    return from_side_mm(s.mark("sella"), s.nasion)


def nasion_menton(s: Specimen) -> float:
    """N to Me."""
    return from_side_mm(s.nasion, s.menton)


def nasion_spine(s: Specimen) -> float:
    """N to ANS, straight down."""
    return float(s.nasion[2] - s.nasal_spine[2])


def spine_menton(s: Specimen) -> float:
    """ANS to Me, straight down."""
    return float(s.nasal_spine[2] - s.menton[2])


def spine_to_spine(s: Specimen) -> float:
    """ANS to PNS."""
    return from_side_mm(s.nasal_spine, s.mark("posterior-nasal-spine"))


def condylion_gnathion(s: Specimen) -> float:
    """Co to Gn: length of the lower jaw."""
    return from_side_mm(s.condylion, s.gnathion)


def condylion_a_point(s: Specimen) -> float:
    """Co to A: length of the middle face."""
    return from_side_mm(s.condylion, s.a_point)


def articulare_gonion(s: Specimen) -> float:
    """Ar to Go."""
    return from_side_mm(s.mark("articulare"), s.mark("gonion"))


def condylion_gonion(s: Specimen) -> float:
    """Co to Go: the whole ramus."""
    return from_side_mm(s.condylion, s.mark("gonion"))


def gonion_pogonion(s: Specimen) -> float:
    """Go to Pog: length of the jaw's body."""
    return from_side_mm(s.mark("gonion"), s.pogonion)


def facial_angle(s: Specimen) -> float:
    """N-Pog to the Frankfort plane, inner lower angle."""
    return angle_deg((s.pogonion - s.nasion)[1:], (1.0, 0.0))


def convexity_angle(s: Specimen) -> float:
    """N-A to A-Pog; positive when A stands before N-Pog."""
    return fall_deg(s.a_point, s.pogonion) - fall_deg(s.nasion, s.a_point)


def y_axis(s: Specimen) -> float:
    """S-Gn to the Frankfort plane."""
    return fall_deg(s.gnathion, s.mark("sella"))


def sn_to_frankfort(s: Specimen) -> float:
    """S-N to the Frankfort plane, front end high."""
    return -fall_deg(s.nasion, s.mark("sella"))


def palatal_plane(s: Specimen) -> float:
    """ANS-PNS to the Frankfort plane; negative when the front is low."""
    return -fall_deg(s.nasal_spine, s.mark("posterior-nasal-spine"))


def sna(s: Specimen) -> float:
    """S-N-A."""
    return angle_deg((s.mark("sella") - s.nasion)[1:], (s.a_point - s.nasion)[1:])


def snb(s: Specimen) -> float:
    """S-N-B."""
    return angle_deg((s.mark("sella") - s.nasion)[1:], (s.b_point - s.nasion)[1:])


def anb(s: Specimen) -> float:
    """A-N-B: how far the upper jaw stands before the lower."""
    return sna(s) - snb(s)


def saddle(s: Specimen) -> float:
    """N-S-Ar."""
    sella = s.mark("sella")
    return angle_deg((s.nasion - sella)[1:], (s.mark("articulare") - sella)[1:])


def nasion_sella_basion(s: Specimen) -> float:
    """N-S-Ba."""
    sella = s.mark("sella")
    return angle_deg((s.nasion - sella)[1:], (s.mark("basion") - sella)[1:])


def articular_angle(s: Specimen) -> float:
    """S-Ar-Go."""
    at = s.mark("articulare")
    return angle_deg((s.mark("sella") - at)[1:], (s.mark("gonion") - at)[1:])


def level_of_frankfort(s: Specimen) -> float:
    """The farthest that a porion or orbitale, found on the bone, lies off z = 0."""
    skull = s.surface("skull")
    inside = s.place((-1.5, -4.5), s.mark("porion-left")[0] - 2.0)
    porion = inside[2] + hits_mm(skull, inside, (0, 0, 1))[0]
    x = s.mark("orbitale-left")[0]
    rims = []
    for off in np.arange(-6.0, 6.1, 2.0):
        fu = side_view(skull, x + off).reshape(-1, 2)
        forward = -s.mark("orbitale-left")[1]
        rim = fu[(np.abs(fu[:, 0] - forward) < 7.0) & (np.abs(fu[:, 1]) < 10.0)]
        rims.append(float(rim[:, 1].max()))
    return max(abs(float(porion)), abs(min(rims)))


# --- eyes ------------------------------------------------------------------------------------


def orbit_width(s: Specimen) -> float:
    """Across the orbit's mouth, from rim to rim."""
    return _both_ways(s, ORBIT_ACROSS)


def orbit_height(s: Specimen) -> float:
    """From the lower to the upper rim."""
    return _both_ways(s, np.array([0.0, 0.0, 1.0]))


def orbit_depth(s: Specimen) -> float:
    """From the plane of the rim back to where most ways across meet bone within an optic canal.

    On the solid: the shown skull is coarse so far inside.
    """
    mouth = _orbit(s, ORBIT_MOUTH_MM)
    back = _orbit(s, ORBIT_APEX_MM) - mouth
    back = back / np.linalg.norm(back)
    one = np.cross(back, [0.0, 0.0, 1.0])
    two = np.cross(back, one)
    turns = np.arange(8)[:, None] * np.pi / 4.0
    steps = np.arange(0.0, OPTIC_CANAL_MM / 2.0, PROBE_STEP_MM)
    probes = steps[:, None] * (np.cos(turns) * one + np.sin(turns) * two)[:, None]
    for depth in np.arange(36.0, 60.0, 0.5):
        bone = s.skull_bone(mouth + depth * back + probes).reshape(len(turns), -1) < 0.0
        if bone.any(axis=1).sum() > len(turns) / 2:
            return float(depth + RIM_BEFORE_MOUTH_MM)
    return float("nan")


def globe_diameter(s: Specimen) -> float:
    """Mean of the eyeball's three extents."""
    return float(s.size("globe-left").mean())


def globe_volume(s: Specimen) -> float:
    """Volume of an eyeball."""
    return s.volume_mm3("globe-left")


def globe_above_orbitale(s: Specimen) -> float:
    """Eyeball's centre above the Frankfort plane."""
    return float(s.centre("globe-left")[2])


def globe_behind_orbitale(s: Specimen) -> float:
    """Eyeball's centre behind orbitale."""
    return float(s.centre("globe-left")[1] - s.mark("orbitale-left")[1])


def lens_width(s: Specimen) -> float:
    """Left-right extent of a lens."""
    return float(s.size("lens-left")[0])


def lens_thickness(s: Specimen) -> float:
    """Fore-and-aft extent of a lens."""
    return float(s.size("lens-left")[1])


def lens_volume(s: Specimen) -> float:
    """Volume of a lens."""
    return s.volume_mm3("lens-left")


def lens_before_globe(s: Specimen) -> float:
    """Lens's centre in front of the eyeball's."""
    return float(s.centre("globe-left")[1] - s.centre("lens-left")[1])


def lens_above_incisors(s: Specimen) -> float:
    """Lens's centre above the upper incisors' edge, square to the Frankfort plane."""
    return float(s.centre("lens-left")[2] - s.edge(21)[2])


# --- spaces ----------------------------------------------------------------------------------


def sinus_width(s: Specimen) -> float:
    """Left-right extent of a maxillary sinus."""
    return float(s.size("sinus-left")[0])


def sinus_depth(s: Specimen) -> float:
    """Fore-and-aft extent of a maxillary sinus."""
    return float(s.size("sinus-left")[1])


def sinus_height(s: Specimen) -> float:
    """Upright extent of a maxillary sinus."""
    return float(s.size("sinus-left")[2])


def sinus_volume(s: Specimen) -> float:
    """Volume of a maxillary sinus."""
    return s.volume_mm3("sinus-left")


def sinus_floor_below_spine(s: Specimen) -> float:
    """Lowest point of the sinus below the front nasal spine."""
    return float(s.nasal_spine[2] - s.hull("sinus-left")[:, 2].min())


def palate_breadth(s: Specimen) -> float:
    """Between the inner faces of the upper alveolar processes at the second molars' necks."""
    at = s.tooth(27).origin_mm
    met = hits_mm(s.surface("skull"), (0.0, at[1], at[2] + 2.0), (1, 0, 0))
    return float(2.0 * met[0])


def palate_height(s: Specimen) -> float:
    """The vault above the necks of the first molars."""
    at = s.tooth(26).origin_mm
    return float(hits_mm(s.surface("skull"), (0.5, at[1], at[2]), (0, 0, 1))[0])


def ear_canal_length(s: Specimen) -> float:
    """Extent of the ear canal along its own axis."""
    found = s.head.head.structure("ear-canal-left")
    off = found.samples_mm - s.centre("ear-canal-left")
    _, axes = np.linalg.eigh((off * found.weights[:, None]).T @ off)
    return float(np.ptp(found.hull_mm @ axes[:, 2]))


def tympanic_lateral(s: Specimen) -> float:
    """Tympanic cavity from the midline."""
    return float(s.centre("tympanic-cavity-left")[0])


# --- upper neck ------------------------------------------------------------------------------


def atlas_to_spine(s: Specimen) -> float:
    """Front of the atlas to the rear nasal spine: depth of the upper airway."""
    v = s.surface("cervical-column").vertices_mm
    high = v[(np.abs(v[:, 0]) < 4.0) & (v[:, 2] > s.place((8.0, -40.0))[2])]
    return from_side_mm(high[np.argmin(high[:, 1])], s.mark("posterior-nasal-spine"))


def hyoid_before_third_vertebra(s: Specimen) -> float:
    """Front lower edge of C3 to the hyoid's front."""
    points = cut_mm(s.surface("cervical-column"), (0.0, 0.0, 0.0), (1, 0, 0)).reshape(-1, 3)
    low, high = s.place((10.0, -82.0))[2], s.place((10.0, -76.0))[2]
    body = points[(points[:, 2] > low) & (points[:, 2] < high)]
    return from_side_mm(body[np.argmin(body[:, 1] + 0.5 * body[:, 2])], _hyoid_front(s))


def hyoid_below_jaw_plane(s: Specimen) -> float:
    """Foremost and highest point of the hyoid below the gonion-menton line, square to it."""
    return off_line_mm(_hyoid_front(s), s.mark("gonion"), s.menton)


def dens_below_frankfort(s: Specimen) -> float:
    """Tip of the dens below the Frankfort plane."""
    return float(-_dens(s)[2])


def dens_behind_porion(s: Specimen) -> float:
    """Tip of the dens behind the ear line."""
    return float(_dens(s)[1])


def _dens(s: Specimen) -> Array:
    v = s.surface("cervical-column").vertices_mm
    middle = v[(np.abs(v[:, 0]) < 4.0) & (np.abs(v[:, 1] - 3.0) < 6.0)]
    return np.asarray(middle[np.argmax(middle[:, 2])])


def _hyoid_front(s: Specimen) -> Array:
    """The hyoid's foremost and highest midline point."""
    points = cut_mm(s.surface("hyoid"), (0.0, 0.0, 0.0), (1, 0, 0)).reshape(-1, 3)
    return np.asarray(points[np.argmin(points[:, 1] - points[:, 2])])


def _orbit(s: Specimen, man_lfu: tuple[float, float, float]) -> Array:
    left, forward, up = man_lfu
    return s.place((forward, up), left)


def _both_ways(s: Specimen, way: Array) -> float:
    skull, mouth = s.surface("skull"), _orbit(s, ORBIT_MOUTH_MM)
    return float(hits_mm(skull, mouth, way)[0] + hits_mm(skull, mouth, -way)[0])
