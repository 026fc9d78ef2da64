"""Measures of the teeth: sizes against the table, arches, bite and angles.

Each function takes a `Specimen` and returns one number [mm, deg, % or none]. Sizes are taken from
the built surfaces in each tooth's own axes, heights of cusps from its solid.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from trainer.anatomy.measures.specimen import Specimen, whole_roots
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.calipers import angle_deg, fall_deg, from_side_mm, off_line_mm
from trainer.anatomy.shapes.meshing import Mesh
from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.teeth.tooth_measures import in_tooth_axes
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH, is_right
from trainer.errors import NotFound

Array = NDArray[np.float64]
Kind = Literal["crown", "root", "mesiodistal", "buccolingual"]

LEFT_TEETH = tuple(fdi for fdi in ALL_TEETH if not is_right(fdi))

# Where a tip is looked for: a grid of so many steps round the surface's, then a finer one.
TIP_GRID, TIP_STEPS_MM = np.arange(-4.0, 5.0), (0.16, 0.04, 0.01)


# --- sizes -----------------------------------------------------------------------------------


def sizes_mm(s: Specimen, fdi: int, kind: Kind) -> list[tuple[float, float]]:
    """Measured and tabled size [mm] of a tooth; one pair for each root, else one.

    The crown's length runs from the neck to the edge or canine tip, or to the tallest cusp on the
    cheek's side; widths are the largest of the crown.
    """
    tooth = s.finished_tooth(fdi) if kind == "root" else s.tooth(fdi)
    own = s.tooth_in_axes(fdi)
    crown, size = own[own[:, 2] > 0.0], tooth.size
    if kind == "mesiodistal":
        return [(float(np.ptp(crown[:, 0])), size.md_mm)]
    if kind == "buccolingual":
        return [(float(np.ptp(crown[:, 1])), size.bl_mm)]
    if kind == "crown":
        return [(_height_at(tooth, in_tooth_axes(tooth, s.tip(fdi)[None])[0]), size.crown_mm)]
    return list(zip(_roots(tooth, own), size.root_mm, strict=True))


def farthest_from_table(kind: Kind) -> Callable[[Specimen], float]:
    """A measure: over all teeth, the farthest that a size lies from the person's table [%], signed.

    Roots that grow or are being dissolved do not count.
    """

    def measure(s: Specimen) -> float:
        asked = [n for n, tooth in s.teeth.items() if kind != "root" or whole_roots(tooth)]
        if not asked:
            raise NotFound("the head has no such teeth")
        pairs = [pair for fdi in asked for pair in sizes_mm(s, fdi, kind)]
        return max((100.0 * (is_mm / table_mm - 1.0) for is_mm, table_mm in pairs), key=abs)

    return measure


def bolton(to_place: int) -> Callable[[Specimen], float]:
    """A measure: widths of the lower over those of the upper teeth, both sides up to a place."""

    def measure(s: Specimen) -> float:
        def total(*quadrants: int) -> float:
            numbers = [10 * q + n for q in quadrants for n in range(1, to_place + 1)]
            return sum(sizes_mm(s, fdi, "mesiodistal")[0][0] for fdi in numbers)

        return total(3, 4) / total(1, 2)

    return measure


def teeth_on_the_wrong_side(s: Specimen) -> float:
    """How many teeth of quadrants 1 and 4 are not at negative x, or of 2 and 3 not at positive."""
    centre = {fdi: s.centre(f"tooth-{fdi}")[0] for fdi in s.teeth}
    return float(sum((x < 0.0) != is_right(fdi) for fdi, x in centre.items()))


def _height_at(tooth: Tooth, tip_mm: Array) -> float:
    """Height of the tooth above its neck round a tip in its own axes, on the solid itself [mm].

    The built surface is too coarse for a sharp tip: it may end a quarter millimetre off.
    """
    around = tip_mm
    for step_mm in TIP_STEPS_MM:
        x, y = (g.ravel() for g in np.meshgrid(TIP_GRID * step_mm, TIP_GRID * step_mm))
        foot = around + np.stack([x, y, 0.0 * x], axis=1)
        low, high = foot[:, 2] - 8.0 * step_mm, foot[:, 2] + 8.0 * step_mm
        for _ in range(9):
            foot[:, 2] = (low + high) / 2.0
            inside = tooth.solid(_from_tooth_axes(tooth, foot)) < 0.0
            low, high = np.where(inside, foot[:, 2], low), np.where(inside, high, foot[:, 2])
        foot[:, 2] = low
        around = foot[np.argmax(low)]
    return float(around[2])


def _from_tooth_axes(tooth: Tooth, own_mm: Array) -> Array:
    """The inverse of `in_tooth_axes`."""
    distal_first = tooth.fdi // 10 in (2, 4)
    sign = np.array([-1.0 if distal_first else 1.0, 1.0, 1.0])
    return np.asarray((own_mm * sign) @ tooth.rotation.T + tooth.origin_mm)


def _roots(tooth: Tooth, own: Array) -> list[float]:
    """Length of each root [mm]: each point below the neck belongs to the tip nearest sideways."""
    below = own[own[:, 2] < 0.0]
    tips = np.array([in_tooth_axes(tooth, root.axis_mm[-1:])[0] for root in tooth.roots])
    owner = np.argmin(np.linalg.norm(below[:, None, :2] - tips[None, :, :2], axis=2), axis=1)
    return [float(-below[owner == i, 2].min()) for i in range(len(tips))]


# --- arches ----------------------------------------------------------------------------------


def canine_width(quadrants: tuple[int, int]) -> Callable[[Specimen], float]:
    """A measure: between the canine tips of two quadrants."""
    left, right = quadrants
    return lambda s: float(np.linalg.norm(s.tip(10 * left + 3) - s.tip(10 * right + 3)))


def molar_width(quadrants: tuple[int, int]) -> Callable[[Specimen], float]:
    """A measure: between the mesiobuccal cusps of the first molars of two quadrants."""
    left, right = (10 * q + 6 for q in quadrants)
    return lambda s: float(np.linalg.norm(s.tip(left, mesial=True) - s.tip(right, mesial=True)))


def molar_outer_width(quadrants: tuple[int, int]) -> Callable[[Specimen], float]:
    """A measure: between the outermost crown faces of the first molars of two quadrants."""

    def measure(s: Specimen) -> float:
        left, right = (s.crown_corners(10 * q + 6)[:, 0] for q in quadrants)
        return float(left.max() - right.min())

    return measure


def arch_depth(incisor: int, molar: int) -> Callable[[Specimen], float]:
    """A measure: incisal edge to the rear face of a molar, along the occlusal plane."""

    def measure(s: Specimen) -> float:
        crown, own = s.crown_corners(molar), s.tooth_in_axes(molar)
        rear = crown[np.argmin(own[own[:, 2] > 0.0, 0])]
        return float(s.in_bite(rear)[1] - s.in_bite(s.edge(incisor))[1])

    return measure


def spee_depth(s: Specimen) -> float:
    """Deepest lower buccal cusp below the line from incisal edge to second molar's rear cusp."""
    edge, last = s.in_bite(s.edge(31)), s.in_bite(s.tip(37, mesial=False))
    slope = (last[2] - edge[2]) / (last[1] - edge[1])
    cusps = [s.in_bite(s.tip(fdi)) for fdi in (34, 35, 36)]
    return float(max(edge[2] + slope * (c[1] - edge[1]) - c[2] for c in cusps))


def sphere_of_cusps(s: Specimen) -> float:
    """Radius of the sphere that fits canine tips and buccal cusps of the lower teeth best."""
    cusps = [s.tip(10 * q + n) for q in (3, 4) for n in (3, 4, 5)]
    cusps += [s.tip(10 * q + n, mesial=m) for q in (3, 4) for n in (6, 7) for m in (True, False)]
    p = np.array([s.in_bite(cusp) for cusp in cusps])

    def off(ball: Array) -> Array:
        return np.asarray(np.linalg.norm(p - ball[:3], axis=1) - ball[3])

    start = [*p.mean(axis=0) + [0.0, 0.0, 100.0], 100.0]
    return float(least_squares(off, start).x[3])


def farthest_from_contact(s: Specimen) -> float:
    """The farthest that two neighbouring crowns are from touching; overlap counts likewise."""
    gaps = [
        min(_least(s, front, back), _least(s, back, front))
        for front, back in pairwise(LEFT_TEETH)
        if front // 10 == back // 10 and front in s.teeth and back in s.teeth
    ]
    if not gaps:
        raise NotFound("the head has no two neighbouring teeth on the left")
    return max(map(abs, gaps))


def _least(s: Specimen, of: int, to: int) -> float:
    """Least distance of one crown's surface points from another crown."""
    return float(s.tooth(to).crown(_dense(s.crown_mesh(of))).min())


def _dense(mesh: Mesh) -> Array:
    """Points (n, 3) spread over the triangles: corners, edge middles, centres and more."""
    shares = np.array([(i, j, 4 - i - j) for i in range(5) for j in range(5 - i)]) / 4.0
    return np.einsum("kc,mcd->mkd", shares, mesh.vertices_mm[mesh.faces]).reshape(-1, 3)


# --- bite and angles -------------------------------------------------------------------------


def overjet(s: Specimen) -> float:
    """Upper incisal edge before the lower, along the occlusal plane."""
    return float(s.in_bite(s.edge(31))[1] - s.in_bite(s.edge(21))[1])


def overbite(s: Specimen) -> float:
    """Upper incisal edge below the lower, square to the occlusal plane."""
    return float(s.in_bite(s.edge(31))[2] - s.in_bite(s.edge(21))[2])


def occlusal_cant(s: Specimen) -> float:
    """Bisected occlusal plane to the Frankfort plane, front end low."""
    return fall_deg(*s.bite)


def upper_incisor_to_frankfort(s: Specimen) -> float:
    """Long axis of the upper incisor to the Frankfort plane, inner lower angle."""
    return angle_deg(_axis(s, 21), (1.0, 0.0))


def upper_incisor_to_sn(s: Specimen) -> float:
    """Long axis of the upper incisor to S-N."""
    return angle_deg(_axis(s, 21), (s.mark("sella") - s.nasion)[1:])


def lower_incisor_to_jaw_plane(s: Specimen) -> float:
    """Long axis of the lower incisor to the line from menton to gonion."""
    return angle_deg(_axis(s, 31), (s.mark("gonion") - s.menton)[1:])


def between_incisors(s: Specimen) -> float:
    """Interincisal angle, between both long axes."""
    return angle_deg(_axis(s, 21), _axis(s, 31))


def edge_to_palate(s: Specimen) -> float:
    """Upper incisal edge square to the palatal plane."""
    return off_line_mm(s.edge(21), s.nasal_spine, s.mark("posterior-nasal-spine"))


def molar_to_palate(s: Specimen) -> float:
    """Upper first molar's front cusp square to the palatal plane."""
    cusp = s.tip(26, mesial=True)
    return off_line_mm(cusp, s.nasal_spine, s.mark("posterior-nasal-spine"))


def edge_to_jaw_plane(s: Specimen) -> float:
    """Lower incisal edge square to the line from menton to gonion."""
    return off_line_mm(s.edge(31), s.menton, s.mark("gonion"))


def molar_to_jaw_plane(s: Specimen) -> float:
    """Lower first molar's front cusp square to the line from menton to gonion."""
    return off_line_mm(s.tip(36, mesial=True), s.menton, s.mark("gonion"))


def molar_cusp_off_starter(s: Specimen) -> float:
    """Upper first molar's front cusp, in side view, from the place the landmark set gives it."""
    planned = starter_landmarks(s.person)["upper-first-molar-cusp-left"]
    return from_side_mm(s.tip(26, mesial=True), planned)


def _axis(s: Specimen, fdi: int) -> Array:
    """Way (2,) back and up from a tooth's root tip to its edge, in side view."""
    return np.asarray((s.edge(fdi) - s.apex(fdi))[1:])


def each_tooth(s: Specimen) -> Iterator[tuple[int, Kind, float, float]]:
    """Every tooth's every size, of roots the whole ones: number, kind, measured, tabled [mm]."""
    kinds: tuple[Kind, ...] = ("crown", "mesiodistal", "buccolingual", "root")
    for fdi, tooth in s.teeth.items():
        for kind in kinds[: None if whole_roots(tooth) else -1]:
            for measured, tabled in sizes_mm(s, fdi, kind):
                yield fdi, kind, measured, tabled
