"""How the lower jaw moves against the skull when the mouth opens.

Two models, because the sources disagree on the first millimetres: a guided jaw turns about the
axis through both condyles ("hinge"), a jaw opened freely turns about a point well below it
("free"). Both keep the midsagittal plane, so the condyles keep their distance.

Opening is a turn about +x: what lies in front of the axis goes down, and the chin goes back.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from trainer.anatomy.landmarks import starter_landmarks
from trainer.errors import TrainerError
from trainer.models.frames import Frame, RigidTransform
from trainer.models.subject import Person

Array = NDArray[np.float64]
JawModel = Literal["hinge", "free"]

GAP_RANGE_MM = (0.0, 45.0)
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


class GapOutOfRange(TrainerError, ValueError):
    """A mouth opening that the jaw cannot have."""


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
    low, high = GAP_RANGE_MM
    if not low <= gap_mm <= high:
        raise GapOutOfRange(f"mouth opening {gap_mm} mm: {low:g} to {high:g}")
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
    beyond = (gap_mm - HINGE_LIMIT_MM) / (GAP_RANGE_MM[1] - HINGE_LIMIT_MM)
    if beyond <= 0.0:
        return np.zeros(3)
    # starts softly and never turns back
    path_mm = LONGEST_PATH_MM * beyond * beyond * (1.5 - 0.5 * beyond)
    steps, down, forward = _eminence()
    return np.array([0.0, -np.interp(path_mm, steps, forward), -np.interp(path_mm, steps, down)])


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
