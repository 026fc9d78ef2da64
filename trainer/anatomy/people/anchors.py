"""Points beside the landmarks that lead the map from the mean man to a person.

Landmarks say nothing of the vault, of the cheeks' breadth or of the neck. Each group below is given
where it lies in the mean man, with a rule that says where it lies in a person. All points
(x, y, z) [mm] in the skull frame; of paired ones the left.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.facial_plan import BROW_SHARE
from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.people.landmarks import chin_contact, starter_landmarks
from trainer.anatomy.people.spreads import (
    NECK_GIRTH_MEAN_MM,
    NECK_LENGTH_SPREAD_MM,
    deviation_mm,
    of_sex,
)
from trainer.models.subject import Person, Sex

Array = NDArray[np.float64]

# --- vault -------------------------------------------------------------------------------------

# Rough head size of the mean man; x = 0 is the midline.
VAULT = np.array(
    [
        [0, -93, 70],
        [0, 95, 30],
        [0, 85, 85],
        [72, 10, 55],
        [62, 60, 42],
        [62, -10, 100],
        [45, 60, -10],
    ],
    float,
)
# Ratio woman over man of head breadth, length and height above the ear (ANSUR II 2012:
# 147.8/154.3, 189.8/199.5, 126.5/131.1).
VAULT_WOMAN = np.array([0.958, 0.951, 0.965])
# Growth of the braincase behind the ear, over its whole growth: what the brow lags behind.
BACK_PACE = 0.65
# Where the skin is widest, rearmost and highest in the mean man [mm].
HALF_BREADTH_MM, BACK_MM, TOP_MM = 77.2, 99.6, 130.0
FRONT_MM = 100.0  # glabella
# A broader head is broader above the face only: from this height on, wholly at the second.
BROAD_FROM_MM, BROAD_AT_MM = 8.0, 38.0
# Between its anchors the spline gives a little less than asked: found by measuring built skins.
BREADTH_GAIN, CHEEK_GAIN, GIRTH_GAIN = 1.07, 0.97, (1.30, 1.23)

# --- mouth -------------------------------------------------------------------------------------

# From the upper incisors' edge to the lower ones', mean man and woman: the starter set.
EDGES_APART = {Sex.MALE: np.array([0.0, 2.5, 2.0]), Sex.FEMALE: np.array([0.0, 2.5, 1.5])}
# The red of the lower lip, from the lower incisors' edge; it goes this far with edges that stand
# behind or before their usual place: common sense, no source.
LOWER_LIP_FROM_EDGE = np.array([0.0, -11.0, -7.0])
LIP_SHARE = 0.7

# --- nose --------------------------------------------------------------------------------------

# Tip of the nose from the front nasal spine, mean man; women's is smaller by a twelfth (from
# memory: Farkas 1994).
NOSE_FROM_SPINE = np.array([0.0, -26.0, 7.0])
NOSE_WOMAN = 0.92

# --- cheeks ------------------------------------------------------------------------------------

# Skin over the cheekbone where the face is widest, and the temple above it.
CHEEK = np.array([[71.5, -25.0, 7.0], [69.3, -40.0, -12.0], [70.0, -26.0, 30.0]])
CHEEK_WOMAN = np.array([0.938, 0.935, 0.93])  # bizygomatic 133.8/142.6, ANSUR II; orbitale 70/75
TEMPLE_SHARE = 0.5  # of either measure's change

# --- neck --------------------------------------------------------------------------------------

NECK = np.array([[62, 15, -150], [0, -40, -150], [0, 84, -150], [0, 15, -190]], float)
NECK_MIDDLE = np.array([0.0, 15.0, 0.0])
# Ratio of neck girths woman over man (ANSUR II 2012: 329.8/397.6); heights as the face's.
NECK_WOMAN = np.array([0.83, 0.83, 0.965])
# The neck begins here [mm] and is this long to its cut.
NECK_TOP_MM, NECK_LONG_MM = -25.0, 165.0
# A rounded back carries the neck forward: its lower end then leans by this share of the rounding.
# Common sense, no source.
LEAN_SHARE = 0.5


def anchors(person: Person) -> Array:
    """Landmarks and anchors (m, 3) of a person, in the same order for everyone [mm]."""
    rows = [
        _landmarks(person),
        _both(_vault(person)),
        _both(_cheek(person)),
        _both(_neck(person)),
    ]
    return np.vstack(rows)


def _landmarks(person: Person) -> Array:
    """The landmarks, the skin under the chin, the lower lip and the tip of the nose."""
    marks = starter_landmarks(person)
    upper, lower = marks["upper-incisor-edge"], marks["lower-incisor-edge"]
    usual = upper + EDGES_APART[person.sex]
    # teeth do not pass through the map, and edges that change places would fold it
    led = marks | {"lower-incisor-edge": usual}
    lip = usual + LOWER_LIP_FROM_EDGE + LIP_SHARE * (lower - usual)
    nose = NOSE_FROM_SPINE * (NOSE_WOMAN if person.sex is Sex.FEMALE else 1.0)
    nose = marks["anterior-nasal-spine"] + nose * grown(person, Part.NOSE)
    return np.array([*led.values(), chin_contact(person), lip, nose])


def _both(left: Array) -> Array:
    """The points and the mirror image of those off the midline."""
    return np.vstack([left, left[left[:, 0] > 0.0] * [-1.0, 1.0, 1.0]])


def _vault(person: Person) -> Array:
    k = grown(person, Part.NEUROCRANIUM)
    x, y, z = (VAULT * (VAULT_WOMAN if person.sex is Sex.FEMALE else 1.0)).T
    lift = np.clip((VAULT[:, 2] - BROAD_FROM_MM) / (BROAD_AT_MM - BROAD_FROM_MM), 0.0, 1.0)
    broader = deviation_mm(person, "head_breadth") * k / 2 * lift
    longer = deviation_mm(person, "head_length") * k
    behind = (1.0 - BROW_SHARE) * np.maximum(VAULT[:, 1], 0.0) / BACK_MM
    before = BROW_SHARE * np.minimum(VAULT[:, 1], 0.0) / FRONT_MM
    higher = deviation_mm(person, "head_height") * k
    back = np.where(y > 0.0, 1.0 - BACK_PACE * (1.0 - k), k)
    broader = broader * BREADTH_GAIN
    return np.stack(
        [
            x * k + broader * VAULT[:, 0] / HALF_BREADTH_MM,
            y * back + longer * (behind + before),
            z * k + higher * np.maximum(VAULT[:, 2], 0.0) / TOP_MM,
        ],
        axis=1,
    )


def _cheek(person: Person) -> Array:
    k, wide = grown(person, Part.NEUROCRANIUM), grown(person, Part.FACE_WIDTH)
    mid = (k + wide) / 2
    pace = np.array([[wide, mid, mid], [wide, mid, mid], [mid, mid, k]])
    points = CHEEK * (CHEEK_WOMAN if person.sex is Sex.FEMALE else 1.0) * pace
    broader = CHEEK_GAIN * deviation_mm(person, "face_width") / 2 * wide
    head = deviation_mm(person, "head_breadth") / 2 * k
    points[:, 0] += [broader, broader, TEMPLE_SHARE * (broader + head)]
    return points


def _neck(person: Person) -> Array:
    girth = grown(person, Part.NECK_GIRTH)
    thicker = deviation_mm(person, "neck_girth") / of_sex(NECK_GIRTH_MEAN_MM, person)
    girth *= 1.0 + of_sex(GIRTH_GAIN, person) * thicker
    long = grown(person, Part.FACE_HEIGHT)
    size = np.array([girth, girth, long])
    woman = NECK_WOMAN if person.sex is Sex.FEMALE else np.ones(3)
    middle = NECK_MIDDLE * grown(person, Part.NEUROCRANIUM)
    points = middle + (NECK - NECK_MIDDLE) * woman * size
    depth = (NECK_TOP_MM - NECK[:, 2]) / NECK_LONG_MM
    longer = person.posture.neck_length * NECK_LENGTH_SPREAD_MM * long
    lean = np.tan(np.radians(LEAN_SHARE * person.posture.kyphosis_deg))
    points[:, 2] -= longer * depth
    # the neck bends: it leans ever more on its way down
    points[:, 1] += lean * NECK_LONG_MM * long / 2 * depth**2
    return points
