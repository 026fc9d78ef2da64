"""How the lower jaw moves against the skull: opening, protrusion, shift to a side.

Two models of the opening, because the sources disagree on the first millimetres: a guided jaw turns
about the axis through both condyles ("hinge"), a jaw opened freely turns about a point well below
it ("free"). Both keep the midsagittal plane, so the condyles keep their distance. Opening is a turn
about +x: what lies in front of the axis goes down, and the chin goes back.

From there the condyles slide down and forward along the eminence: both for a protrusion, the one on
the other side (the balancing one) for a shift to a side, while the working condyle turns about an
upright axis. What lies between the front teeth, a spacer or the teeth themselves, keeps the incisor
edge at the height that the opening gave it, so the jaw tips a little as the condyles go down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.errors import TrainerError
from trainer.models.frames import Frame, RigidTransform
from trainer.models.subject import Person

Array = NDArray[np.float64]
JawModel = Literal["hinge", "free"]

GAP_RANGE_MM = (0.0, 45.0)
# Means are 8.0 forward and 9.2-9.4 to a side: Woelfel et al., J. Adv. Prosthodont. 2014. The ends
# of what may be asked lie a little beyond them (working values).
PROTRUSION_RANGE_MM = (0.0, 10.0)
LATERAL_RANGE_MM = (-10.0, 10.0)
# Mean limit of the guided hinge movement: Woelfel et al., J. Adv. Prosthodont. 2014.
HINGE_LIMIT_MM = 17.2
# Way of the condyle at wide opening: Kordass et al., Int. J. Comput. Dent. 2014.
LONGEST_PATH_MM = 14.5
# Slope of the condyle's path to the Frankfort horizontal over its first part, 35-45 degrees over
# 5-7 mm: from memory, articulator literature. From there it runs out level, as the crest of the
# eminence does; the whole drop is then near the eminence's height, 7 (1.5): from memory.
PATH_SLOPE_DEG, PATH_STRAIGHT_MM = 40.0, 6.0
# Centre of the whole free opening, below and behind the condyle: Mehl et al., Clin. Oral
# Investig. 2025.
FREE_CENTRE_BELOW_MM, FREE_CENTRE_BEHIND_MM = 32.4, 0.2
# How far inward the balancing condyle's path runs, seen from above (Bennett angle); articulators
# are set to 7.5-15 degrees: from memory, articulator literature.
BENNETT_DEG = 10.0


class JawOutOfRange(TrainerError, ValueError):
    """A place that the lower jaw cannot have."""


class GapOutOfRange(JawOutOfRange):
    """A mouth opening that the jaw cannot have."""


@dataclass(frozen=True, slots=True)
class JawPosition:
    """Where the lower jaw stands against the skull.

    Attributes
    ----------
    gap_mm : float
        Opening, as `mandible_to_skull` takes it: 0 to 45.
    protrusion_mm : float
        How far the incisor edge has gone forward from there, both condyles sliding alike: 0 to 10.
    lateral_mm : float
        How far it has then gone to the patient's left (right when negative): -10 to 10.
    model : "hinge" or "free"
        Of the opening.

    Raises
    ------
    GapOutOfRange, JawOutOfRange
        If a value is out of its range.
    """

    gap_mm: float = 0.0
    protrusion_mm: float = 0.0
    lateral_mm: float = 0.0
    model: JawModel = "hinge"

    def __post_init__(self) -> None:
        _check_gap(self.gap_mm)
        for what, value, (low, high) in (
            ("protrusion", self.protrusion_mm, PROTRUSION_RANGE_MM),
            ("lateral shift", self.lateral_mm, LATERAL_RANGE_MM),
        ):
            if not low <= value <= high:
                raise JawOutOfRange(f"{what} {value} mm: {low:g} to {high:g}")


def _check_gap(gap_mm: float) -> None:
    low, high = GAP_RANGE_MM
    if not low <= gap_mm <= high:
        raise GapOutOfRange(f"mouth opening {gap_mm} mm: {low:g} to {high:g}")


def jaw_to_skull(person: Person, position: JawPosition) -> RigidTransform:
    """Where the lower jaw stands for a position.

    The teeth do not guide it: a protrusion with the teeth together leads them through each other,
    as a real jaw first opens by the overbite. Ask for the gap that lets them pass.

    Raises
    ------
    JawOutOfRange
        If a condyle would have to slide farther than 14.5 mm.
    """
    opened = mandible_to_skull(person, position.gap_mm, position.model)
    if position.protrusion_mm == 0.0 and position.lateral_mm == 0.0:
        return opened
    marks = starter_landmarks(person)
    hinges = np.array([marks["hinge-left"], marks["hinge-right"]])
    edge = marks["lower-incisor-edge"]
    at = (opened.rotation @ hinges.T).T + opened.translation_mm
    edge_at = opened.rotation @ edge + opened.translation_mm
    slid = float(np.linalg.norm(at[0] - hinges[0]))
    if position.model == "hinge":
        slid = opening_path_mm(position.gap_mm)
    angle = float(np.arctan2(opened.rotation[2, 1], opened.rotation[1, 1]))

    def settled(condyles: Array) -> RigidTransform:
        return _on_condyles(hinges, condyles, edge, float(edge_at[2]), angle)

    def forward(path_mm: float) -> float:
        return float(edge_at[1] - _of(settled(at + _ways(slid, path_mm)), edge)[1])

    both = _slide_for(position.protrusion_mm, forward, LONGEST_PATH_MM - slid, "forward")
    if position.lateral_mm == 0.0:
        return settled(at + _ways(slid, both))
    sign = float(np.sign(position.lateral_mm))
    # the jaw goes towards the working side
    working, balancing = (0, 1) if sign > 0 else (1, 0)
    base = at + _ways(slid, both)
    apart = float(np.linalg.norm(hinges[0] - hinges[1]))

    def shifted(path_mm: float) -> RigidTransform:
        condyles = base.copy()
        way = _ways(slid + both, path_mm)
        inward = np.array([sign * np.tan(np.radians(BENNETT_DEG)) * -way[1], 0.0, 0.0])
        condyles[balancing] += way + inward
        # the working condyle gives way sideways just so that the bone keeps its width
        off = condyles[working] - condyles[balancing]
        reach = np.sqrt(apart**2 - off[1] ** 2 - off[2] ** 2)
        condyles[working, 0] = condyles[balancing, 0] + sign * reach
        return settled(condyles)

    def aside(path_mm: float) -> float:
        return sign * float(_of(shifted(path_mm), edge)[0])

    left = LONGEST_PATH_MM - slid - both
    return shifted(_slide_for(abs(position.lateral_mm), aside, left, "to the side"))


def _slide_for(
    asked_mm: float, reached_mm: Callable[[float], float], longest_mm: float, way: str
) -> float:
    """The condylar path that leads the incisor edge as far as asked [mm]."""
    if asked_mm == 0.0:
        return 0.0
    longest_mm = max(longest_mm, 0.0)
    most = reached_mm(longest_mm)
    if most < asked_mm:
        raise JawOutOfRange(
            f"the jaw cannot go {asked_mm:g} mm {way} from there: its condyles have "
            f"{longest_mm:.1f} mm of path left, which is {most:.1f} mm at the incisors"
        )
    return float(brentq(lambda path: reached_mm(path) - asked_mm, 0.0, longest_mm, xtol=1e-12))


def _of(transform: RigidTransform, point_mm: Array) -> Array:
    return transform.rotation @ point_mm + transform.translation_mm


def _on_condyles(
    hinges_mm: Array, condyles_mm: Array, edge_mm: Array, height_mm: float, near_rad: float
) -> RigidTransform:
    """The jaw with its hinge points (2, 3), left first, at the condyles, its edge at a height.

    Of the two turns about the condyles that do so, the one nearer to ``near_rad``.
    """
    across = condyles_mm[0] - condyles_mm[1]
    u = across / np.linalg.norm(across)
    v = np.array([0.0, 1.0, 0.0]) - u[1] * u
    v /= np.linalg.norm(v)
    axes = np.column_stack([u, v, np.cross(u, v)])
    middle, pivot = condyles_mm.mean(axis=0), hinges_mm.mean(axis=0)
    _, y, z = edge_mm - pivot
    radius, start = np.hypot(y, z), np.arctan2(z, y)
    # height = middle + radius (axes[2, 1] cos t + axes[2, 2] sin t), with t = start + angle
    a, b = axes[2, 1], axes[2, 2]
    half = np.arccos((height_mm - middle[2]) / (radius * np.hypot(a, b)))
    angles = np.arctan2(b, a) + np.array([half, -half]) - start
    off = (angles - near_rad + np.pi) % (2.0 * np.pi) - np.pi
    turn = axes @ _about_x(near_rad + float(off[np.argmin(np.abs(off))]))
    return RigidTransform(Frame.MANDIBLE, Frame.SKULL, turn, middle - turn @ pivot)


def mandible_to_skull(person: Person, gap_mm: float, model: JawModel = "hinge") -> RigidTransform:
    """Where the lower jaw stands with the incisors opened by ``gap_mm``.

    ``gap_mm`` is the straight way of the lower incisor edge from the closed jaw [mm]. "hinge"
    turns about the condyles up to 17.2 mm, then the condyles slide down and forward as well;
    "free" turns about a point 32.4 mm below them all the way.

    Raises
    ------
    GapOutOfRange
        If ``gap_mm`` is not within 0 to 45.
    """
    _check_gap(gap_mm)
    marks = starter_landmarks(person)
    hinge = marks["hinge-left"] * np.array([0.0, 1.0, 1.0])
    edge = marks["lower-incisor-edge"]
    if model == "free":
        pivot = hinge + np.array([0.0, FREE_CENTRE_BEHIND_MM, -FREE_CENTRE_BELOW_MM])
        return _turn(_angle_of_chord(gap_mm, edge - pivot), pivot, np.zeros(3))
    if gap_mm <= HINGE_LIMIT_MM:
        return _turn(_angle_of_chord(gap_mm, edge - hinge), hinge, np.zeros(3))
    slide = condyle_slide(gap_mm)

    def miss(angle_rad: float) -> float:
        moved = _about_x(angle_rad) @ (edge - hinge) + hinge + slide
        return float(np.linalg.norm(moved - edge)) - gap_mm

    start = _angle_of_chord(HINGE_LIMIT_MM, edge - hinge)
    angle = float(brentq(miss, 0.8 * start, np.radians(60.0), xtol=1e-13))
    return _turn(angle, hinge, slide)


def gap_at(person: Person, gap_mm: float, point_mm: ArrayLike, model: JawModel = "hinge") -> float:
    """How far a point of the closed lower jaw, (3,) [mm], has gone down [mm]; errors as above."""
    point = np.asarray(point_mm, float)
    moved = mandible_to_skull(person, gap_mm, model)
    return float(point[2] - (moved.rotation @ point + moved.translation_mm)[2])


def condyle_slide(gap_mm: float) -> Array:
    """How far the condyles have slid [mm], (3,), at an opening beyond the pure hinge movement."""
    return _ways(0.0, opening_path_mm(gap_mm))


def opening_path_mm(gap_mm: float) -> float:
    """Length of the condyles' way along the eminence at an opening ("hinge" model) [mm]."""
    beyond = (gap_mm - HINGE_LIMIT_MM) / (GAP_RANGE_MM[1] - HINGE_LIMIT_MM)
    if beyond <= 0.0:
        return 0.0
    # starts softly and never turns back
    return LONGEST_PATH_MM * beyond * beyond * (1.5 - 0.5 * beyond)


def _ways(from_mm: float, path_mm: float) -> Array:
    """The step (3,) of a condyle that goes on by ``path_mm`` along the eminence [mm]."""
    steps, down, forward = _eminence()
    ends = np.array([from_mm, from_mm + path_mm])
    f, d = np.interp(ends, steps, forward), np.interp(ends, steps, down)
    return np.array([0.0, f[0] - f[1], d[0] - d[1]])


@lru_cache(maxsize=1)
def _eminence() -> tuple[Array, Array, Array]:
    """Way along the eminence, and how far down and forward it has led [mm]."""
    steps = np.linspace(0.0, LONGEST_PATH_MM, 291)
    left = (LONGEST_PATH_MM - steps) / (LONGEST_PATH_MM - PATH_STRAIGHT_MM)
    slope = np.radians(PATH_SLOPE_DEG) * np.clip(left, 0.0, 1.0)
    between = (slope[1:] + slope[:-1]) / 2
    width = np.diff(steps)
    down = np.r_[0.0, np.cumsum(np.sin(between) * width)]
    forward = np.r_[0.0, np.cumsum(np.cos(between) * width)]
    return steps, down, forward


def _angle_of_chord(chord_mm: float, arm_mm: Array) -> float:
    """Angle [rad] that moves the end of an arm (x, y, z), turned about x, by ``chord_mm``."""
    return 2.0 * float(np.arcsin(chord_mm / (2.0 * np.hypot(arm_mm[1], arm_mm[2]))))


def _about_x(angle_rad: float) -> Array:
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


def _turn(angle_rad: float, pivot_mm: Array, slide_mm: Array) -> RigidTransform:
    turn = _about_x(angle_rad)
    return RigidTransform(Frame.MANDIBLE, Frame.SKULL, turn, pivot_mm + slide_mm - turn @ pivot_mm)
