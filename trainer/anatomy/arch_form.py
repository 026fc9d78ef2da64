"""Where the teeth stand: arch curves, curve of Spee, angles, and the way crowns meet.

Arch coordinates [mm]: x left, b back along the bisected occlusal plane, h up from it; origin in the
midline, half way between the upper and lower incisal edges. Only the left half is worked out; the
right is its mirror image.

The line through the contacts of each arch is a sixth-order polynomial, b = A x^6 + B x^2 (Noroozi
et al., Angle Orthod. 2001). Teeth are threaded on it from the midline backwards, each crown
touching the one before. Then the upper back teeth are let down onto the lower ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from trainer.anatomy.tooth_shapes import tooth_model

Array = NDArray[np.float64]

# Points (half width, depth) of the contact lines near the canine and at the second molar [mm].
# Chosen so that widths between cusps (published: canines 35.4 and 26.9, first molars 53.8 and 51.7,
# Class I arch-width study, n = 76), a Class I bite and the depth of the arches come out together as
# nearly as mean crown widths allow: wider canines make shallower arches.
CURVE_POINTS = {"upper": ((17.0, 6.0), (26.0, 39.9)), "lower": ((13.2, 3.52), (26.0, 38.97))}
# Long axes against the occlusal plane's normal, crown towards the lips or cheeks positive [deg].
# Incisors: upper 110 to Frankfort, lower 91 to the mandibular plane (from memory: Steiner,
# Ricketts; Downs, Tweed) with an occlusal cant of 8. Lateral incisors, canines and lower back
# teeth: Andrews' crown face inclinations (1972, from memory) plus the angle between crown face and
# long axis, about 17 to 20. Upper back teeth: by eye, leaning outwards (curve of Wilson) as far as
# lets them meet the lower ones well.
TORQUE_DEG = {
    "upper": (28.0, 22.0, 9.0, 3.0, 3.0, 11.0, 14.0, 12.0),
    "lower": (18.7, 17.0, 7.0, -2.0, -7.0, -11.0, -13.0, -15.0),
}
# Crown leaning to mesial positive [deg]: after Andrews 1972 (from memory), lateral incisors and
# upper premolars changed until roots keep apart and cusps meet; lower molars lean further forward
# and upper ones back, by eye, with the curve of Spee.
TIP_DEG = {
    "upper": (3.0, 4.0, 9.0, 6.0, 5.0, -1.0, -7.0, -11.0),
    "lower": (1.0, 1.0, 5.0, 3.0, 4.0, 6.0, 10.0, 15.0),
}
# Turn about the long axis, mesial side towards lips or cheeks positive [deg]: upper molars as is
# usual for them (from memory: orthodontic textbooks, about 10).
TURN_DEG = {
    "upper": (0.0, 0.0, 0.0, 0.0, 0.0, 10.0, 8.0, 6.0),
    "lower": (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
}
# Half the overbite and overjet between incisal edges (both 2.5 (1), from memory).
EDGE_BACK_MM, EDGE_UP_MM = 1.38, 1.1
# Lower cusps and edges lie on a hollow curve. Its depth is chosen so that the cusps come out about
# 2.2 below a line from the incisal edge to the second molar (Marshall et al.: 2.17 at 12 years,
# nearly constant after). The line rises to the back, so that first-molar cusps overlap about the
# occlusal plane.
SPEE_DEPTH_MM, SPEE_LENGTH_MM, SPEE_RISE = 2.8, 38.0, 0.085
# Upper edges and buccal cusps below the lower ones' curve, teeth 1 to 8; from the first premolar on
# this is where they start before being let down on the lower teeth.
UPPER_BELOW_MM = (2.2, 1.8, 2.8, 1.6, 1.6, 1.6, 1.6, 1.6)
TOUCH_MM = 0.03  # gap aimed at where crowns touch


@dataclass(frozen=True, slots=True)
class Stand:
    """A left tooth in arch coordinates: columns of ``axes`` are mesial, buccal, occlusal."""

    axes: Array
    origin_mm: Array

    def to_arch(self, points_mm: Array) -> Array:
        """Tooth coordinates to arch coordinates, (n, 3) [mm]."""
        return points_mm @ self.axes.T + self.origin_mm

    def to_tooth(self, points_mm: Array) -> Array:
        """Arch coordinates to tooth coordinates, (n, 3) [mm]."""
        return (points_mm - self.origin_mm) @ self.axes


class ContactLine:
    """The left half of an arch's contact line by its length from the midline."""

    def __init__(self, jaw: str) -> None:
        (xc, dc), (xm, dm) = CURVE_POINTS[jaw]
        self.a, self.b = np.linalg.solve([[xc**6, xc**2], [xm**6, xm**2]], [dc, dm])
        self.x = np.linspace(0.0, xm + 4.0, 2000)
        y = self.a * self.x**6 + self.b * self.x**2
        self.s = np.r_[0.0, np.cumsum(np.hypot(np.diff(self.x), np.diff(y)))]

    def at(self, s: float) -> tuple[Array, Array]:
        """The point (x, b) at length ``s`` and the unit direction to distal there."""
        x = float(np.interp(s, self.s, self.x))
        point = np.array([x, self.a * x**6 + self.b * x**2])
        way = np.array([1.0, 6.0 * self.a * x**5 + 2.0 * self.b * x])
        return point, way / np.linalg.norm(way)


def spee_height(back_mm: float) -> float:
    """Height [mm] of the lower cusp line at ``back_mm`` behind the lower incisal edge."""
    u = back_mm / SPEE_LENGTH_MM
    return EDGE_UP_MM + SPEE_RISE * back_mm - 4.0 * SPEE_DEPTH_MM * u * (1.0 - u)


def _axes(jaw: str, place: int, way: Array) -> Array:
    mesial = np.array([-way[0], -way[1], 0.0])
    buccal = np.array([way[1], -way[0], 0.0])
    occlusal = np.array([0.0, 0.0, 1.0 if jaw == "lower" else -1.0])
    turn, torque, tip = (np.radians(t[jaw][place - 1]) for t in (TURN_DEG, TORQUE_DEG, TIP_DEG))
    mesial, buccal = (
        np.cos(turn) * mesial + np.sin(turn) * buccal,
        np.cos(turn) * buccal - np.sin(turn) * mesial,
    )
    occlusal, buccal = (
        np.cos(torque) * occlusal + np.sin(torque) * buccal,
        np.cos(torque) * buccal - np.sin(torque) * occlusal,
    )
    occlusal, mesial = (
        np.cos(tip) * occlusal + np.sin(tip) * mesial,
        np.cos(tip) * mesial - np.sin(tip) * occlusal,
    )
    return np.column_stack([mesial, buccal, occlusal])


@cache
def crown_points(jaw: str, place: int) -> Array:
    """Points on the crown, (n, 3) tooth coordinates [mm], about half a millimetre apart."""
    model = tooth_model(jaw, place)
    size = model.size
    heights = np.arange(0.5, size.crown_mm, 0.45)
    angles = np.arange(0.0, 2.0 * np.pi, np.pi / 20.0)
    h, a = (g.ravel() for g in np.meshgrid(heights, angles))
    level = np.array([0.0, model.contact_mm[1], 0.0]) + np.outer(h, [0.0, 0.0, 1.0])
    around = np.column_stack([np.cos(a), np.sin(a), np.zeros_like(a)])
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-6.0, 6.1, 0.4), np.arange(-6.0, 6.1, 0.4)))
    floor = np.column_stack([x, y, np.full_like(x, 0.5 * size.crown_mm)])
    start = np.vstack([level, floor])
    way = np.vstack([around, np.tile([0.0, 0.0, 1.0], (len(floor), 1))])
    inside = model.crown(start) < 0
    start, way = start[inside], way[inside]
    low, high = np.zeros(len(start)), np.full(len(start), 9.0)
    for _ in range(16):
        mid = (low + high) / 2
        within = model.crown(start + mid[:, None] * way) < 0
        low, high = np.where(within, mid, low), np.where(within, high, mid)
    return np.asarray(start + low[:, None] * way)


def _stand(jaw: str, place: int, line: ContactLine, s: float, height_mm: float) -> Stand:
    """The tooth with its contact point over the line at ``s`` and its tip at ``height_mm``."""
    model = tooth_model(jaw, place)
    point, way = line.at(s)
    axes = _axes(jaw, place, way)
    origin = np.array([*point, 0.0]) - axes @ model.contact_mm
    origin[2] = height_mm - (axes @ model.tip_mm)[2]
    return Stand(axes, origin)


def gap_mm(jaw: str, front: int, a: Stand, back: int, b: Stand) -> float:
    """Least distance between two crowns of one jaw; negative when they overlap [mm]."""
    mesial, distal = crown_points(jaw, back), crown_points(jaw, front)
    mesial = mesial[mesial[:, 0] > 0.6 * mesial[:, 0].max()]  # only the sides that can touch
    distal = distal[distal[:, 0] < 0.6 * distal[:, 0].min()]
    there = tooth_model(jaw, front).crown(a.to_tooth(b.to_arch(mesial)))
    here = tooth_model(jaw, back).crown(b.to_tooth(a.to_arch(distal)))
    return float(min(there.min(), here.min()))


def _thread(jaw: str, heights: dict[int, float]) -> dict[int, Stand]:
    """Teeth 1 to 8 on the contact line, each touching the one before, tips at ``heights`` [mm]."""
    line = ContactLine(jaw)
    stands: dict[int, Stand] = {}
    at = behind_mm = 0.0

    def excess(s: float, place: int) -> float:
        stand = _stand(jaw, place, line, s, heights[place])
        if place == 1:
            return float(stand.to_arch(crown_points(jaw, 1))[:, 0].min()) - TOUCH_MM / 2
        return gap_mm(jaw, place - 1, stands[place - 1], place, stand) - TOUCH_MM

    for place in range(1, 9):
        width = tooth_model(jaw, place).size.md_mm
        ahead = at + (width + behind_mm) / 2
        at = float(brentq(excess, ahead - 1.5, ahead + 2.0, args=(place,), xtol=2e-3))
        behind_mm = width
        stands[place] = _stand(jaw, place, line, at, heights[place])
    tip = stands[1].to_arch(tooth_model(jaw, 1).tip_mm[None])[0]
    shift = np.array([0.0, (EDGE_BACK_MM if jaw == "lower" else -EDGE_BACK_MM) - tip[1], 0.0])
    return {n: Stand(s.axes, s.origin_mm + shift) for n, s in stands.items()}


def tip_of(jaw: str, place: int, stand: Stand) -> Array:
    """The tallest buccal cusp (or middle of the edge) in arch coordinates [mm]."""
    return np.asarray(stand.to_arch(tooth_model(jaw, place).tip_mm[None])[0])


def clearance_mm(place: int, upper: Stand, lower: dict[int, Stand], drop_mm: float = 0.0) -> float:
    """Least distance between an upper crown, let down by ``drop_mm``, and the lower crowns [mm]."""
    points = upper.to_arch(crown_points("upper", place)) - [0.0, 0.0, drop_mm]
    moved = Stand(upper.axes, upper.origin_mm - [0.0, 0.0, drop_mm])
    best = 1e3
    for n in range(max(1, place - 1), min(8, place + 1) + 1):
        best = min(best, float(tooth_model("lower", n).crown(lower[n].to_tooth(points)).min()))
        back = moved.to_tooth(lower[n].to_arch(crown_points("lower", n)))
        best = min(best, float(tooth_model("upper", place).crown(back).min()))
    return best


def _drop_mm(place: int, upper: Stand, lower: dict[int, Stand]) -> float:
    """How far an upper tooth can be let down until it touches the lower ones [mm]."""
    return float(
        brentq(lambda d: clearance_mm(place, upper, lower, d) - TOUCH_MM, -4.0, 6.0, xtol=1e-3)
    )


def _first_heights(jaw: str) -> dict[int, float]:
    """Tip heights [mm] of teeth 1 to 8 if each stood where the widths before it add up to."""
    line, along, heights = ContactLine(jaw), 0.0, {}
    for n in range(1, 9):
        md_mm = tooth_model(jaw, n).size.md_mm
        back = line.at(along + md_mm / 2)[0][1]
        along += md_mm
        below = 0.0 if jaw == "lower" else UPPER_BELOW_MM[n - 1]
        heights[n] = spee_height(max(back - (2 * EDGE_BACK_MM if jaw == "upper" else 0), 0)) - below
    return heights


@cache
def left_arches() -> dict[tuple[str, int], Stand]:
    """The sixteen left teeth in arch coordinates, teeth together."""
    heights = _first_heights("lower")
    lower = _thread("lower", heights)
    for n in range(2, 9):  # heights follow from places, places hardly from heights
        heights[n] = spee_height(tip_of("lower", n, lower[n])[1] - EDGE_BACK_MM)
    lower = _thread("lower", heights)
    heights = _first_heights("upper")
    upper = _thread("upper", heights)
    for _ in range(2):
        for n in range(4, 9):
            heights[n] -= _drop_mm(n, upper[n], lower)
        upper = _thread("upper", heights)
    found = {("upper", n): s for n, s in upper.items()}
    found |= {("lower", n): s for n, s in lower.items()}
    return found
