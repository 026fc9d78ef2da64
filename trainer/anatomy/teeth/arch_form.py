"""Where the teeth stand: arch curves, curve of Spee, angles.

Arch coordinates [mm]: x left, b back along the bisected occlusal plane, h up from it; origin in the
midline, half way between the upper and lower incisal edges. Only the left half is worked out; the
right is its mirror image. Lengths are those of mean crowns: for larger or smaller crowns the whole
arch is scaled.

The line through the contacts of each arch is a sixth-order polynomial, b = A x^6 + B x^2 (Noroozi
et al., Angle Orthod. 2001). `arch_bite` threads the teeth on it and brings both jaws together.

A jaw's *row* names its teeth in order by their places (`tooth_tables.kind_of`): 1 to 8 in an adult,
in a child also primary ones, 11 to 15.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.teeth.tooth_tables import FIRST_PRIMARY

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
# The same for primary teeth, places 11 to 15: front ones nearly upright and with gaps between them,
# molars upright (from memory: textbooks of children's dentistry; amounts by eye).
PRIMARY_TORQUE_DEG = {"upper": (14.0, 11.0, 6.0, 2.0, 2.0), "lower": (8.0, 8.0, 4.0, -2.0, -4.0)}
PRIMARY_TIP_DEG = {"upper": (1.0, 2.0, 3.0, 1.0, 0.0), "lower": (0.0, 0.0, 2.0, 2.0, 3.0)}
PRIMARY_BELOW_MM = (1.4, 1.2, 1.6, 1.2, 1.2)
PRIMARY_GAP_MM = {"upper": 0.25, "lower": 0.5}
PERMANENT_ROW = (1, 2, 3, 4, 5, 6, 7, 8)
# How finely the lower arch is let down where front teeth would meet.
DOWN_STEP_MM = 0.1
MOST_DOWN_MM = 4.0


@dataclass(frozen=True, slots=True)
class ArchPlan:
    """What the two arches are made of; the default is the adult Class I bite.

    ``width`` scales the arches at the second molars, ``spee`` the depth of the curve of Spee.
    ``lower_back_mm`` is how far further back than in Class I the lower arch stands.
    """

    upper: tuple[int, ...] = PERMANENT_ROW
    lower: tuple[int, ...] = PERMANENT_ROW
    width: float = 1.0
    spee: float = 1.0
    lower_back_mm: float = 0.0

    def row(self, jaw: str) -> tuple[int, ...]:
        """The places of one jaw, in order."""
        return self.upper if jaw == "upper" else self.lower


ADULT = ArchPlan()


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

    def __init__(self, jaw: str, width: float = 1.0) -> None:
        (xc, dc), (xm, dm) = CURVE_POINTS[jaw]
        xm *= width
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


def spee_height(back_mm: float, spee: float = 1.0) -> float:
    """Height [mm] of the lower cusp line at ``back_mm`` behind the lower incisal edge."""
    u = back_mm / SPEE_LENGTH_MM
    return EDGE_UP_MM + SPEE_RISE * back_mm - 4.0 * spee * SPEE_DEPTH_MM * u * (1.0 - u)


def _angles_deg(jaw: str, place: int) -> tuple[float, float, float]:
    """Turn, torque and tip of a kind of tooth."""
    if place < FIRST_PRIMARY:
        return TURN_DEG[jaw][place - 1], TORQUE_DEG[jaw][place - 1], TIP_DEG[jaw][place - 1]
    at = place - FIRST_PRIMARY
    return 0.0, PRIMARY_TORQUE_DEG[jaw][at], PRIMARY_TIP_DEG[jaw][at]


def below_mm(place: int) -> float:
    """How far the upper tooth's edge or cusp starts below the lower cusp line."""
    if place < FIRST_PRIMARY:
        return UPPER_BELOW_MM[place - 1]
    return PRIMARY_BELOW_MM[place - FIRST_PRIMARY]


def is_front(place: int) -> bool:
    """True for incisors and canines, permanent or primary."""
    return place % 10 <= 3


def axes_along(jaw: str, place: int, way: Array) -> Array:
    """Mesial, buccal, occlusal (columns) of a tooth where the arch runs on to ``way``."""
    mesial = np.array([-way[0], -way[1], 0.0])
    buccal = np.array([way[1], -way[0], 0.0])
    occlusal = np.array([0.0, 0.0, 1.0 if jaw == "lower" else -1.0])
    turn, torque, tip = np.radians(_angles_deg(jaw, place))
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
