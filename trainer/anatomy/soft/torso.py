"""Neck base, shoulders, upper chest and back, from a person's posture.

Made of rings one below the other, each an egg-shaped section (see `skin_base`); the topmost lies
inside the head's own neck, the lowest is cut flat. The torso hangs on the cut of the head's neck,
which knows the person's neck length, girth and lean (`anchors`). It has a frame of its own: it goes
with the person's steps and stays upright when the head turns; with the head neutral and the teeth
together that frame is the skull's.

Sources. Acromion below the ear: stature less tragion-vertex less acromial height, 1756 - 131 - 1441
and 1629 - 126 - 1335 mm; breadth over the acromia 416 (19) and 365 (18), over the deltoids 510 (27)
and 450 (27): from memory, ANSUR II 2012, save tragion-vertex (computed, there). Breadth of children
over adults: from memory, Snyder et al. 1977 (UM-HSRI-77-17), to about 5 %. All depths, and what
posture does beside that, are the project's own sculpting and working values.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from trainer.anatomy.people.anchors import LEAN_SHARE
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.soft.skin_base import CUT_UP_MM, NECK_ROWS
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.subject import ADULT_AGE, Person, Sex

Array = NDArray[np.float64]

PART_ID = "torso"
# Man, woman [mm]; sources above. The neck's cut stands 190 and 184 below the ear.
ACROMION_OVER_CUT_MM = {Sex.MALE: 190.0 - 184.0, Sex.FEMALE: 184.0 - 168.0}
BIACROMIAL_MM, BIACROMIAL_SD_MM = {Sex.MALE: 416.0, Sex.FEMALE: 365.0}, 18.5
BIDELTOID_MM, BIDELTOID_SD_MM = {Sex.MALE: 510.0, Sex.FEMALE: 450.0}, 27.0
# Breadth as a share of the adult's: age, boys, girls.
BREADTH_GROWTH = np.array(
    [[6, 0.63, 0.69], [9, 0.71, 0.79], [12, 0.81, 0.90], [15, 0.94, 0.98], [ADULT_AGE, 1.0, 1.0]]
)
# Working values: how far the shoulders of a back that is rounded by a degree stand above their
# place, and how far it bulges.
UP_MM_PER_DEG, BULGE_MM_PER_DEG = 0.4, 0.5
# Height of the bulge against the acromion, and its half height [mm].
BULGE_DOWN_MM, BULGE_REACH_MM = 25.0, 60.0
# How far the shoulders rise from acromion to neck, man and woman [mm].
SLOPE_MM = {Sex.MALE: 38.0, Sex.FEMALE: 30.0}
# Rings and corners of a ring, at rest and while something moves.
FINE, COARSE = (26, 56), (13, 28)
INSIDE = 3  # rows of rings that lie within the head's neck
SECTION_POWER = 2.2  # 2 is an ellipse, more is squarer
# How far the neck base stands out around the stump of the head's neck [mm].
COLLAR_MM = 8.0
# The neck bends at least this far below the chin [mm].
UNDER_CHIN_MM = 6.0


@dataclass(frozen=True, slots=True)
class _Neck:
    """The head's own neck just above its cut: half breadth, front and back (y), height [mm]."""

    half_mm: float
    front_mm: float
    back_mm: float
    cut_mm: float


def torso_part(person: Person) -> tuple[DisplayPart, DisplayPart]:
    """The torso for the screen, at rest (2 912 triangles) and while something moves (728)."""
    rings = _rings(person, _neck(person))
    fine, coarse = (_part(*_loft(rings, *size)) for size in (FINE, COARSE))
    return fine, coarse


@dataclass(frozen=True, slots=True)
class NeckBend:
    """Heights in the skull frame between which the head's neck passes from head to torso [mm].

    Above ``high_mm`` the skin goes with the head, below ``low_mm`` with the torso.
    """

    high_mm: float
    low_mm: float

    def torso_share(self, up_mm: Array) -> Array:
        """How far skin at these heights, teeth together, goes with the torso: 0 to 1."""
        t = np.clip((self.high_mm - up_mm) / (self.high_mm - self.low_mm), 0.0, 1.0)
        return np.asarray(t * t * (3.0 - 2.0 * t))


def neck_bend(torso: DisplayPart, skin: DisplayPart, chin_contact_mm: Array) -> NeckBend:
    """Where the neck of a head bends that stands on a torso.

    The neck's cut stays where the torso hides it; what lies above the torso bends most.
    """
    low = float(skin.vertices_mm[:, 2].min()) + COLLAR_MM
    high = 2.0 * float(torso.vertices_mm[:, 2].max()) - low
    return NeckBend(min(high, float(chin_contact_mm[2]) - UNDER_CHIN_MM), low)


def _part(vertices_mm: Array, faces: NDArray[np.int32]) -> DisplayPart:
    return DisplayPart(PART_ID, Tissue.SKIN, Frame.TORSO, vertices_mm.astype(np.float32), faces)


def _growth(person: Person) -> float:
    """Breadth of the shoulders as a share of an adult's of the same sex."""
    column = 1 if person.sex is Sex.MALE else 2
    return float(np.interp(person.age_years, BREADTH_GROWTH[:, 0], BREADTH_GROWTH[:, column]))


def _neck(person: Person) -> _Neck:
    front, back, half = NECK_ROWS[round(CUT_UP_MM)]
    rim = np.array([[half, -(front + back) / 2, 0], [0, -front, 0], [0, -back, 0]], float)
    side, ahead, behind = head_warp(person).to_subject(rim + [0.0, 0.0, CUT_UP_MM])
    return _Neck(float(side[0]), float(ahead[1]), float(behind[1]), float(side[2]))


def _rings(person: Person, neck: _Neck) -> Array:
    """Rows, top first: height, half breadth, front, middle and back (y) of a ring [mm]."""
    grown, posture = _growth(person), person.posture
    wide = posture.shoulder_breadth
    # a child's neck and trunk are nearer the adult's in height than in breadth
    tall = (1.0 + grown) / 2.0
    acromion = neck.cut_mm + ACROMION_OVER_CUT_MM[person.sex] * tall
    acromion += UP_MM_PER_DEG * posture.kyphosis_deg * grown
    bony = (BIACROMIAL_MM[person.sex] + BIACROMIAL_SD_MM * wide) / 2.0 * grown
    broad = (BIDELTOID_MM[person.sex] + BIDELTOID_SD_MM * wide) / 2.0 * grown
    half, front, back = neck.half_mm, neck.front_mm, neck.back_mm
    middle = (front + back) / 2.0
    span = bony - half  # from the neck's side to the acromion
    top = acromion + SLOPE_MM[person.sex] * tall
    rise = top - acromion
    deep = grown
    rows = [
        (top, 0.25 * half, middle - 0.20 * half, middle, middle + 0.35 * half),
        (top - 0.04 * rise, 0.45 * half, middle - 0.35 * half, middle, middle + 0.60 * half),
        (top - 0.14 * rise, 0.78 * half, front + 28.0, middle, back - 16.0),
        (top - 0.32 * rise, half + 0.03 * span, front + 20.0, middle, back - 2.0),
        (top - 0.52 * rise, half + 0.15 * span, front + 12.0, middle + 1, back + 5.0),
        (top - 0.70 * rise, half + 0.36 * span, front + 4.0, middle + 2, back + 10.0),
        (top - 0.86 * rise, half + 0.66 * span, front - 4.0, middle + 2, back + 13.0),
        (acromion, bony - 8.0 * deep, front - COLLAR_MM - 2.0, middle + 2, back + 15.0),
        (acromion - 10 * deep, bony + 9.0 * deep, front - 14.0, middle + 1, back + 18.0),
        (acromion - 26 * deep, 0.45 * bony + 0.55 * broad, front - 22.0, middle, back + 22.0),
        (acromion - 50 * deep, broad - 2.0 * deep, front - 36.0, middle - 4, back + 27.0),
        (acromion - 75 * deep, broad, front - 48.0, middle - 8, back + 30.0),
        (acromion - 110 * deep, broad - 3.0 * deep, front - 60.0, middle - 12, back + 30.0),
        (acromion - 150 * deep, broad - 10.0 * deep, front - 66.0, middle - 14, back + 27.0),
    ]
    rings = np.array(rows)
    # the topmost lie inside the neck, which on a rounded back leans: above its cut it is ahead
    lean = np.tan(np.radians(LEAN_SHARE * posture.kyphosis_deg))
    rings[:INSIDE, 4] -= lean * (rings[:INSIDE, 0] - neck.cut_mm)
    off = (rings[:, 0] - acromion + BULGE_DOWN_MM) / BULGE_REACH_MM
    bulge = BULGE_MM_PER_DEG * posture.kyphosis_deg * grown * np.exp(-0.5 * off * off)
    rings[:, 4] += bulge * (rings[:, 0] < top - 0.2 * rise)
    return rings


def _loft(rings: Array, levels: int, around: int) -> tuple[Array, NDArray[np.int32]]:
    """A closed surface over the rings: corners (n, 3) [mm] and triangles (m, 3), outwards."""
    # evenly by the way along the profile at the side, so that the flat shoulders get rings too
    way = np.r_[0.0, np.cumsum(np.hypot(np.diff(rings[:, 0]), np.diff(rings[:, 1])))]
    at = np.linspace(0.0, way[-1], levels)
    z, half, front, middle, back = PchipInterpolator(way, rings)(at).T
    turn = np.arange(around) * 2.0 * np.pi / around
    # exact mirror images left and right
    c, s = np.cos(turn), np.sin(turn)
    s = (s - s[-np.arange(around) % around]) / 2.0
    c = (c + c[-np.arange(around) % around]) / 2.0
    p = 2.0 / SECTION_POWER
    x = np.outer(half, np.sign(s) * np.abs(s) ** p)
    ahead = np.where(c > 0, (middle - front)[:, None], (back - middle)[:, None])
    y = middle[:, None] - ahead * np.sign(c) * np.abs(c) ** p
    rows = np.stack([x, y, np.broadcast_to(z[:, None], x.shape)], axis=-1).reshape(-1, 3)
    ends = np.array([[0.0, middle[0], z[0]], [0.0, middle[-1], z[-1]]])
    index = np.arange(levels * around).reshape(levels, around)
    nxt = np.roll(index, -1, axis=1)
    a, b, d, e = index[:-1], nxt[:-1], index[1:], nxt[1:]
    sides = np.concatenate([np.stack(t, axis=-1).reshape(-1, 3) for t in ((a, d, b), (b, d, e))])
    roof, floor = levels * around, levels * around + 1
    caps = [np.column_stack([index[0], nxt[0], np.full(around, roof)]),
            np.column_stack([nxt[-1], index[-1], np.full(around, floor)])]  # fmt: skip
    faces = np.concatenate([sides, *caps]).astype(np.int32)
    return np.concatenate([rows, ends]), faces
