"""Measures of the lower jaw: angles, joint, canal, heights, and how it opens.

Each function takes a `Specimen` and returns one number [mm, deg or mm3].
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.jaw import GAP_RANGE_MM, JawModel, mandible_to_skull
from trainer.anatomy.measures.specimen import Specimen
from trainer.anatomy.shapes.calipers import angle_deg, cut_mm, fall_deg, from_side_mm, hits_mm
from trainer.geometry.transforms import apply

Array = NDArray[np.float64]

# Beyond these ways from its ends the canal lies in bone; before, it opens through the face.
MOUTH_REAR_MM, MOUTH_FRONT_MM = 4.0, 4.5
ROUND = 12  # probes round the canal
# The mean opening of a population sample: Kordass et al. 2014, 44.3 (7.4).
MEAN_OPENING_MM = 44.0


# --- angles and heights ----------------------------------------------------------------------


def mandibular_plane(s: Specimen) -> float:
    """Lower tangent of the jaw to the Frankfort plane."""
    lower, _ = s.jaw_tangents
    return float(np.degrees(np.arctan2(-lower[1], lower[0])))


def gonial_angle(s: Specimen) -> float:
    """Between the lower and the rear tangent of the jaw."""
    lower, rear = s.jaw_tangents
    return angle_deg(lower, rear)


def ramus_width(s: Specimen) -> float:
    """Fore-and-aft width of the ramus half way between its angle and the articulare."""
    gonion, lean = s.mark("gonion-left"), s.mark("articulare-left") - s.mark("gonion-left")
    points = cut_mm(s.surface("mandible"), gonion + 0.45 * lean, lean).reshape(-1, 3)
    across = np.cross(lean / np.linalg.norm(lean), [1.0, 0.0, 0.0])
    return float(np.ptp(points[points[:, 0] > 36.0] @ across))


def height_at_symphysis(s: Specimen) -> float:
    """Height of the bone in the midline."""
    return float(np.ptp(s.jaw_profile[..., 1]))


def height_at_mental_foramen(s: Specimen) -> float:
    """Height of the body at the mental foramen."""
    return foramen_to_border(s) + foramen_to_crest(s)


# --- joint -----------------------------------------------------------------------------------


def condyle_mediolateral(s: Specimen) -> float:
    """Length of the condyle along its own long axis, from above."""
    return float(np.ptp(s.hull("condyle-left")[:, :2] @ _condyle_axis(s)))


def condyle_anteroposterior(s: Specimen) -> float:
    """Width of the condyle across its own long axis, from above."""
    x, y = _condyle_axis(s)
    return float(np.ptp(s.hull("condyle-left")[:, :2] @ np.array([-y, x])))


def condyle_turn(s: Specimen) -> float:
    """Long axis of the condyle from the coronal plane, from above; inner pole back positive."""
    x, y = _condyle_axis(s)
    return float(np.degrees(np.arctan2(-y, x)))


def condyle_volume(s: Specimen) -> float:
    """Volume of a condyle."""
    return s.volume_mm3("condyle-left")


def between_condyles(s: Specimen) -> float:
    """Condyle centre to condyle centre."""
    return float(s.condyle[0] - s.centre("condyle-right")[0])


def between_outer_poles(s: Specimen) -> float:
    """Between the outermost points of both condyles."""
    return float(s.hull("condyle-left")[:, 0].max() - s.hull("condyle-right")[:, 0].min())


def between_inner_poles(s: Specimen) -> float:
    """Between the innermost points of both condyles."""
    return float(s.hull("condyle-left")[:, 0].min() - s.hull("condyle-right")[:, 0].max())


def bonwill_side(s: Specimen) -> float:
    """Condyle centre to the lower incisors' contact."""
    return float(np.linalg.norm(s.condyle - s.edge(31) * [0.0, 1.0, 1.0]))


def bonwill_ratio(s: Specimen) -> float:
    """Side over base of Bonwill's triangle."""
    return bonwill_side(s) / between_condyles(s)


def balkwill_angle(s: Specimen) -> float:
    """Between Bonwill's plane and the occlusal plane, in the midline."""
    front, rear = s.bite
    return fall_deg(s.edge(31), s.condyle) - fall_deg(front, rear)


def hinge_before_porion(s: Specimen) -> float:
    """Condyle centre in front of the porion."""
    return float(s.mark("porion-left")[1] - s.condyle[1])


def hinge_below_porion(s: Specimen) -> float:
    """Condyle centre below the Frankfort plane."""
    return float(-s.condyle[2])


def hinge_lateral(s: Specimen) -> float:
    """Condyle centre from the midline."""
    return float(s.condyle[0])


def joint_space_above(s: Specimen) -> float:
    """Least way from the condyle's top straight up to the socket."""
    return _joint_space(s, np.array([0.0, 0.0, 1.0]))


def joint_space_behind(s: Specimen) -> float:
    """Least way from the condyle's rear face straight back to the skull."""
    return _joint_space(s, np.array([0.0, 1.0, 0.0]))


def joint_space_in_front(s: Specimen) -> float:
    """Least way from the condyle's upper front face forward and up to the eminence."""
    return _joint_space(s, np.array([0.0, -1.0, 0.8]))


def eminence_height(s: Specimen) -> float:
    """Crest of the eminence below the roof of the socket."""
    forward, up = _socket_line(s)
    roof, crest = _roof_and_crest(s, forward, up)
    return float(up[roof] - up[crest])


def eminence_slope(s: Specimen) -> float:
    """Steepest slope of the eminence's rear face, over 1.5 mm, to the Frankfort plane."""
    forward, up = _socket_line(s)
    roof, crest = _roof_and_crest(s, forward, up)
    f, u = forward[roof : crest + 1], up[roof : crest + 1]
    return float(np.degrees(np.arctan((u[:-3] - u[3:]) / (f[3:] - f[:-3]))).max())


# --- canal -----------------------------------------------------------------------------------


def canal_diameter(s: Specimen) -> float:
    """Of a rod with round ends that has the canal's volume and length."""
    run = float(np.linalg.norm(np.diff(s.canal, axis=0), axis=1).sum())
    volume = s.volume_mm3("canal-left")
    roots = np.roots([4.0 / 3.0 * np.pi, np.pi * run, 0.0, -volume])
    return float(2.0 * max(r.real for r in roots if abs(r.imag) < 1e-9))


def apex_to_canal(fdi: int) -> Callable[[Specimen], float]:
    """A measure: from a lower tooth's lowest root point straight down to the canal's wall."""

    def measure(s: Specimen) -> float:
        v = s.surface(f"tooth-{s.finished_tooth(fdi).fdi}").vertices_mm
        tip = v[np.argmin(v[:, 2])]
        path = _forward_canal(s)
        middle = np.interp(-tip[1], -path[:, 1], path[:, 2])
        return float(tip[2] - middle - canal_diameter(s) / 2.0)

    return measure


def canal_to_border_at_first_molar(s: Specimen) -> float:
    """Canal's middle straight down to the lower border, below the first molar."""
    return _down(s, _canal_at(s, 36))


def bone_beside_canal(fdi: int, share: float, outwards: bool) -> Callable[[Specimen], float]:
    """A measure: bone between the canal and the jaw's outer or inner face, level, at a tooth.

    ``share`` is the place along the crown: 0 its mesial, 1 its distal end.
    """

    def measure(s: Specimen) -> float:
        v = s.surface(f"tooth-{fdi}").vertices_mm
        own = s.tooth_in_axes(fdi)
        crown = v[own[:, 2] > 0.0]
        y = crown[:, 1].min() + share * np.ptp(crown[:, 1])
        return _beside(s, y, outwards)

    return measure


def bone_beside_canal_behind_foramen(s: Specimen) -> float:
    """Bone on the cheek's side of the canal, 5 mm behind the mental foramen."""
    return _beside(s, float(s.canal[-1, 1]) + 5.0, outwards=True)


def bone_beside_canal_further_back(s: Specimen) -> float:
    """Thickest bone on the cheek's side of the canal over the 30 mm behind that."""
    start = float(s.canal[-1, 1]) + 5.0
    return max(_beside(s, start + back, outwards=True) for back in np.arange(3.0, 31.0, 3.0))


def least_bone_round_canal(s: Specimen) -> float:
    """Least bone between canal and surface anywhere between its two mouths; negative outside."""
    bone, path, radius = s.surface("mandible"), _inner_canal(s), canal_diameter(s) / 2.0
    least = np.inf
    for i in range(1, len(path) - 1, 3):
        along = path[i + 1] - path[i - 1]
        one = np.cross(along, [0.0, 0.0, 1.0])
        two = np.cross(along, one)
        one, two = one / np.linalg.norm(one), two / np.linalg.norm(two)
        for turn in np.arange(ROUND) * 2.0 * np.pi / ROUND:
            met = hits_mm(bone, path[i], np.cos(turn) * one + np.sin(turn) * two)
            # from inside a closed surface a probe meets it an odd number of times
            least = min(least, met[0] - radius if len(met) % 2 else -radius)
    return float(least)


# --- mental foramen --------------------------------------------------------------------------


def foramen_to_midline(s: Specimen) -> float:
    """Mental foramen's centre from the midline."""
    return float(s.centre("mental-foramen-left")[0])


def foramen_to_border(s: Specimen) -> float:
    """Mental foramen's centre straight down to the lower border of the bone behind it."""
    return _down(s, _behind_foramen(s))


def foramen_to_crest(s: Specimen) -> float:
    """Mental foramen's centre straight up to the alveolar crest."""
    met = hits_mm(s.surface("mandible"), _behind_foramen(s), (0, 0, 1))
    return float(met[-1])


def foramen_size(s: Specimen) -> float:
    """Height of the mental foramen."""
    return float(s.size("mental-foramen-left")[2])


def anterior_loop(s: Specimen) -> float:
    """How far the canal passes the mental foramen before it turns back to it."""
    front = s.canal[_run(s) > _run(s)[-1] - 12.0]
    outwards = np.array([0.78, -0.62, 0.0])  # the outer face runs obliquely here
    along = np.array([-0.62, -0.78, 0.0])
    return float((front @ along).max() - (s.canal[-1] - 3.0 * outwards) @ along)


# --- opening ---------------------------------------------------------------------------------


def opening_angle(gap_mm: float, model: JawModel) -> Callable[[Specimen], float]:
    """A measure: how far the jaw turns when the incisors are opened by ``gap_mm``."""

    def measure(s: Specimen) -> float:
        turn = mandible_to_skull(s.person, gap_mm, model).rotation
        return float(np.degrees(np.arccos(np.clip((np.trace(turn) - 1.0) / 2.0, -1.0, 1.0))))

    return measure


def largest_opening(s: Specimen) -> float:
    """The widest opening of the incisors that the jaw's model allows."""
    return GAP_RANGE_MM[1]


def change_between_condyles(s: Specimen) -> float:
    """Change of the distance between the condyles at 10 mm of hinge opening."""
    both = np.stack([s.condyle, s.centre("condyle-right")])
    moved = apply(mandible_to_skull(s.person, 10.0), both)
    return float(abs(np.linalg.norm(moved[0] - moved[1]) - np.linalg.norm(both[0] - both[1])))


def condyle_path(s: Specimen) -> float:
    """Straight way of the condyle's centre at 44 mm of opening."""
    moved = apply(mandible_to_skull(s.person, MEAN_OPENING_MM), s.condyle[None])[0]
    return float(np.linalg.norm(moved - s.condyle))


def incisor_path(s: Specimen) -> float:
    """Straight way of the lower incisors' edge, on the built teeth, when 10 mm are asked for."""
    edge = s.edge(31) * [0.0, 1.0, 1.0]
    return from_side_mm(apply(mandible_to_skull(s.person, 10.0), edge[None])[0], edge)


# --- helpers ---------------------------------------------------------------------------------


def _condyle_axis(s: Specimen) -> Array:
    """Long axis (2,) of the left condyle from above, outwards."""
    found = s.head.head.structure("condyle-left")
    plan = found.samples_mm[:, :2] - s.condyle[:2]
    _, axes = np.linalg.eigh((plan * found.weights[:, None]).T @ plan)
    long = axes[:, 1]
    return np.asarray(long * np.sign(long[0]))


def _joint_space(s: Specimen, way: Array) -> float:
    hull = s.hull("condyle-left")
    from_centre = hull - s.condyle
    d = way / np.linalg.norm(way)
    facing = hull[from_centre @ d > 0.7 * (from_centre @ d).max()]
    met = [hits_mm(s.surface("skull"), p, d) for p in facing]
    return float(min(m[0] for m in met if len(m)))


def _socket_line(s: Specimen) -> tuple[Array, Array]:
    """Underside of the skull above the condyle: forward (n,) and height (n,)."""
    skull, x = s.surface("skull"), s.condyle[0]
    forward = np.arange(4.0, 28.0, 0.5)
    up = np.array([-30.0 + hits_mm(skull, (x, -f, -30.0), (0, 0, 1))[0] for f in forward])
    return forward, up


def _roof_and_crest(s: Specimen, forward: Array, up: Array) -> tuple[int, int]:
    """Numbers of the socket's highest place and of the lowest place in front of it."""
    near = np.abs(forward + s.condyle[1]) < 5.0
    roof = int(np.flatnonzero(near)[np.argmax(up[near])])
    before = (np.arange(len(forward)) > roof) & (forward < -s.condyle[1] + 14.0)
    return roof, int(np.flatnonzero(before)[np.argmin(up[before])])


def _run(s: Specimen) -> Array:
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(s.canal, axis=0), axis=1))]


def _inner_canal(s: Specimen) -> Array:
    run = _run(s)
    return s.canal[(run > MOUTH_REAR_MM) & (run < run[-1] - MOUTH_FRONT_MM)]


def _canal_at(s: Specimen, fdi: int) -> Array:
    v = s.surface(f"tooth-{s.finished_tooth(fdi).fdi}").vertices_mm
    y = v[np.argmin(v[:, 2]), 1]
    return np.asarray(s.canal[np.argmin(np.abs(s.canal[:, 1] - y))])


def _down(s: Specimen, inside_mm: Array) -> float:
    return float(hits_mm(s.surface("mandible"), inside_mm, (0, 0, -1))[-1])


def _behind_foramen(s: Specimen) -> Array:
    """A point 5 mm in from the mental foramen, square to the outer face."""
    return s.centre("mental-foramen-left") + 5.0 * np.array([-0.8, 0.6, 0.0])


def _forward_canal(s: Specimen) -> Array:
    """The canal from its rear mouth to its foremost point, before it turns back to the foramen."""
    path = _inner_canal(s)
    return path[: int(np.argmin(path[:, 1])) + 1]


def _beside(s: Specimen, back_mm: float, outwards: bool) -> float:
    """Least level way from the canal's wall to the jaw's outer or inner face, at a place."""
    path = _forward_canal(s)
    middle = path[np.argmin(np.abs(path[:, 1] - back_mm))]
    turns = np.radians(np.arange(-60.0, 61.0, 10.0))
    sign = 1.0 if outwards else -1.0
    ways = [(sign * np.cos(turn), np.sin(turn), 0.0) for turn in turns]
    bone = s.surface("mandible")
    return float(min(hits_mm(bone, middle, way)[0] for way in ways) - canal_diameter(s) / 2.0)
