"""The face from the side: where the midline landmarks of a person stand.

Starting from the mean of the sex, the plan is laid down in this order:

1. The skull's base and brow grow with the braincase; head length moves the brow a little.
2. The chin stands where two circles meet: face height about the nasion, jaw length about the
   condyle. So both lengths come out as asked, and how far forward the chin stands follows.
3. The upper jaw stands before or behind, so that the angle A-N-B is the one of the profile.
4. Nasal spine, teeth and palate keep their places between these; the angle of the jaw lies half
   on the way that the chin has gone.

All points are (forward, up) [mm] in the skull frame.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.growth import AGES, Part, cant_more_deg, grown
from trainer.anatomy.people.spreads import deviation_mm, of_sex
from trainer.models.subject import Person, Profile

Array = NDArray[np.float64]
Points = dict[str, Array]

# B, the hollow above the chin, from pogonion: where the built mean jaws have it.
B_FROM_POGONION = np.array([-2.4, 6.0])
# Shares of the whole braincase's growth: the face's part of the base grows longer than the rest.
# S-N at 6 is 0.87 to 0.90 of the adult's (from memory: Riolo atlas).
BROW_PACE, NASION_PACE = 1.35, 1.5
# How much of a longer head lies before the ear: common sense, no source.
BROW_SHARE = 0.25
# Growing jaws: A stands farther before B, by these angles at 6, 9, 12, 15, 18 years. ANB falls
# from 4 to 5 in small children to 2 (from memory: Riolo atlas).
ANB_MORE_DEG = (2.0, 1.5, 1.3, 0.8, 0.0)
# Profiles: A-N-B against Class I [deg]. The mean heads are built with 3.0 (published 2 (3), from
# memory: Steiner 1953): this makes Class II about 7 and Class III about -2 (typical: from memory).
PROFILE_ANB_DEG = {Profile.CLASS_I: 0.0, Profile.CLASS_II: 4.0, Profile.CLASS_III: -5.0}
# The lower jaw is shorter or longer by so much of that; the upper jaw gives the small rest.
PROFILE_JAW_MM = {Profile.CLASS_I: 0.0, Profile.CLASS_II: -4.0, Profile.CLASS_III: 5.0}
# Lower incisor edge behind the upper one: 2.5 in Class I (starter set), 6-8 in Class II, -1 to -3
# in Class III (typical: from memory). Teeth lean to make up for a part of what the jaws lack.
PROFILE_OVERJET_MORE_MM = {Profile.CLASS_I: 0.0, Profile.CLASS_II: 4.5, Profile.CLASS_III: -4.5}
# The chin goes so far from its usual place without loss; farther away a long or short jaw gives
# way softly, up to the second figure. Such a pair of sizes is hardly ever met: the two measures go
# together (`people.py`). Limits: common sense, no source.
CHIN_FREE_MM, CHIN_FARTHEST_MM = 15.0, 20.0
# How much of a longer face lies below the nasal spine, man and woman: the regression on N-Me that
# the deviations of N-ANS, ANS-Me and N-Me ask for, 3.2, 3.8, 6 and 2.4, 3.3, 5 mm (from memory:
# Burstone COGS 1978, Riolo / Bolton).
LOWER_FACE_SHARE = (0.56, 0.60)
# How much of the chin's turn about the condyle the angle of the jaw takes part in.
ANGLE_FOLLOWS = 0.4


def facial_plan(person: Person, mean: Mapping[str, Array]) -> Points:
    """Midline and side-view points of a person from the adult means of the sex, all (2,) [mm]."""
    m = {name: np.asarray(point, float) for name, point in mean.items()}
    m["b-point"] = m["pogonion"] + B_FROM_POGONION
    braincase, height = grown(person, Part.NEUROCRANIUM), grown(person, Part.FACE_HEIGHT)
    found = _base(person, m, braincase)
    found |= _joint(person, m, braincase)
    found |= _chin(person, m, found)
    found |= _upper_jaw(person, m, found)
    found |= _angle(person, m, found)
    middle = (m["menton"] + m["gonion"]) / 2
    here = (found["menton"] + found["gonion"]) / 2
    found["hyoid"] = here + (m["hyoid"] - middle) * height
    return {name: found[name] for name in m}


def _base(person: Person, m: Points, k: float) -> Points:
    """Braincase, eyes and Frankfort horizontal."""
    more = deviation_mm(person, "head_length") * k
    higher = deviation_mm(person, "head_height") * k
    ahead = np.array([BROW_SHARE * more, 0.0])
    sella = m["sella"] * k
    nasion_f = m["nasion"][0] * (1 - NASION_PACE * (1 - k)) + ahead[0]
    rise = (m["nasion"] - m["sella"])[1] / (m["nasion"] - m["sella"])[0]
    # SN to Frankfort horizontal does not change with age (longitudinal, 223 children)
    nasion_u = sella[1] + rise * (nasion_f - ahead[0] - sella[0])
    nasion = np.array([nasion_f, nasion_u])
    orbit = (grown(person, Part.ORBITS) + k) / 2
    glabella = m["glabella-skin"] * [1 - BROW_PACE * (1 - k), k] + ahead
    return {
        "porion": m["porion"],
        "tympanic-cavity": m["tympanic-cavity"],
        "sella": sella,
        "basion": m["basion"] * k,
        "nasion": nasion,
        "orbitale": np.array([nasion[0] + (m["orbitale"] - m["nasion"])[0] * orbit, 0.0]),
        "globe": np.array(
            [nasion[0] + (m["globe"] - m["nasion"])[0] * orbit, m["globe"][1] * orbit]
        ),
        "glabella-skin": glabella,
        "vertex-skin": m["vertex-skin"] * k + [0.0, higher],
    }


def _joint(person: Person, m: Points, k: float) -> Points:
    """Condyle and hinge: their place before and below the porion changes with age only."""
    pace = (k + grown(person, Part.JAW_WIDTH)) / 2
    condylion = m["condylion"] * pace
    ramus = grown(person, Part.RAMUS)
    return {
        "condylion": condylion,
        "hinge": condylion + (m["hinge"] - m["condylion"]) * pace,
        "articulare": condylion + (m["articulare"] - m["condylion"]) * ramus,
    }


def _lengths_mm(person: Person, m: Points, profile: bool, sizes: bool) -> tuple[float, float]:
    """Face height and jaw length from the side, with or without what sets the person apart."""
    high = float(np.linalg.norm(m["nasion"] - m["menton"]))
    long = float(np.linalg.norm(m["condylion"] - m["gnathion"]))
    if sizes:
        high += deviation_mm(person, "face_height")
        long += deviation_mm(person, "jaw_length")
    if profile:
        long += PROFILE_JAW_MM[person.profile]
    return high * grown(person, Part.FACE_HEIGHT), long * grown(person, Part.JAW_LENGTH)


def _chin(person: Person, m: Points, found: Points) -> Points:
    """Menton, gnathion, pogonion and B."""
    nasion, condylion = found["nasion"], found["condylion"]
    size = grown(person, Part.FACE_HEIGHT)
    to_gnathion = (m["gnathion"] - m["menton"]) * size

    def meet(high: float, long: float) -> float:
        """Forward place of the menton at these lengths; nan if they cannot meet."""
        return _meeting(nasion, high, condylion - to_gnathion, long)

    usual = meet(*_lengths_mm(person, m, profile=False, sizes=False))
    high, long = _lengths_mm(person, m, profile=True, sizes=True)
    asked = meet(high, long)
    if not np.isfinite(asked):  # the jaw is far too short or long for the face
        nearest = float(np.linalg.norm(condylion - to_gnathion - nasion))
        asked = usual + (np.inf if long > high + nearest else -np.inf)
    forward = usual + _softly(asked - usual)
    menton = np.array([forward, nasion[1] - np.sqrt(high**2 - (forward - nasion[0]) ** 2)])
    pogonion = menton + (m["pogonion"] - m["menton"]) * size
    return {
        "menton": menton,
        "gnathion": menton + to_gnathion,
        "pogonion": pogonion,
        "b-point": pogonion + B_FROM_POGONION * size,
    }


def _meeting(one: Array, radius: float, other: Array, reach: float) -> float:
    """How far forward two circles meet in front of the line between their centres."""
    way = other - one
    apart = float(np.linalg.norm(way))
    along = (apart**2 + radius**2 - reach**2) / (2 * apart)
    aside2 = radius**2 - along**2
    if aside2 < 0.0:
        return float("nan")
    unit = way / apart
    # the lower of the two meetings
    side = np.array([unit[1], -unit[0]])
    side = side if side[1] < 0 else -side
    return float((one + along * unit + np.sqrt(aside2) * side)[0])


def _softly(way_mm: float) -> float:
    """The way itself within `CHIN_FREE_MM`, beyond that ever less, up to `CHIN_FARTHEST_MM`."""
    beyond = abs(way_mm) - CHIN_FREE_MM
    if beyond <= 0.0:
        return way_mm
    room = CHIN_FARTHEST_MM - CHIN_FREE_MM
    return float(np.copysign(CHIN_FREE_MM + room * np.tanh(beyond / room), way_mm))


def _from_vertical(points: Points, name: str) -> float:
    """Angle of nasion to a point behind the vertical [rad]."""
    back, down = points["nasion"] - points[name]
    return float(np.arctan2(back, down))


def _upper_jaw(person: Person, m: Points, found: Points) -> Points:
    """Spines, A, teeth."""
    nasion, condylion = found["nasion"], found["condylion"]
    whole = (m["nasion"] - m["menton"])[1]
    part = (m["anterior-nasal-spine"] - m["menton"])[1]
    usual = whole * grown(person, Part.FACE_HEIGHT)
    more = (nasion - found["menton"])[1] / usual - 1.0
    lower = 1.0 + of_sex(LOWER_FACE_SHARE, person) * more * whole / part
    lower *= grown(person, Part.LOWER_FACE)
    spine_u = found["menton"][1] + (m["anterior-nasal-spine"] - m["menton"])[1] * lower
    a_u = spine_u + (m["a-point"] - m["anterior-nasal-spine"])[1] * lower
    anb = _from_vertical(m, "b-point") - _from_vertical(m, "a-point")
    anb += np.radians(PROFILE_ANB_DEG[person.profile] + _growing_anb_deg(person))
    behind = _from_vertical(found, "b-point") - anb
    a = np.array([nasion[0] - np.tan(behind) * (nasion[1] - a_u), a_u])
    stretch = (a - condylion)[0] / (m["a-point"] - m["condylion"])[0]
    mid = grown(person, Part.MIDFACE)

    def beside_a(name: str) -> Array:
        off = m[name] - m["a-point"]
        return a + off * [mid, lower]

    spine = beside_a("anterior-nasal-spine")
    rear = m["posterior-nasal-spine"]
    rear_f = condylion[0] + (rear - m["condylion"])[0] * stretch
    rear_u = spine_u + (rear - m["anterior-nasal-spine"])[1] * mid
    # teeth do not grow: what lies between their edges keeps its length
    upper = np.array([a[0], a_u]) + (m["upper-incisor-edge"] - m["a-point"]) * [1.0, lower]
    over = m["lower-incisor-edge"] - m["upper-incisor-edge"]
    edge = upper + over - [PROFILE_OVERJET_MORE_MM[person.profile], 0.0]
    return {
        "anterior-nasal-spine": spine,
        "posterior-nasal-spine": np.array([rear_f, rear_u]),
        "a-point": a,
        "upper-incisor-edge": upper,
        "lower-incisor-edge": edge,
        "upper-first-molar-cusp": _molar(person, m, upper + over / 2),
    }


def _molar(person: Person, m: Points, front: Array) -> Array:
    """The first molar's cusp on the occlusal plane, which starts between the incisors' edges."""
    middle = (m["upper-incisor-edge"] + m["lower-incisor-edge"]) / 2
    off = middle - m["upper-first-molar-cusp"]
    cant = np.arctan2(-off[1], off[0]) + np.radians(cant_more_deg(person))
    return front + off[0] * np.array([-1.0, np.tan(cant)])


def _growing_anb_deg(person: Person) -> float:
    return 0.0 if person.adult else float(np.interp(person.age_years, AGES, ANB_MORE_DEG))


def _angle(person: Person, m: Points, found: Points) -> Points:
    """The angle of the jaw: its ramus grows with face and jaw and turns a little with the chin."""
    height, length = grown(person, Part.FACE_HEIGHT), grown(person, Part.JAW_LENGTH)
    tall = np.linalg.norm(found["nasion"] - found["menton"])
    tall /= np.linalg.norm(m["nasion"] - m["menton"]) * height
    way, mean_way = found["gnathion"] - found["condylion"], m["gnathion"] - m["condylion"]
    long = np.linalg.norm(way) / np.linalg.norm(mean_way) / length
    ramus = (m["gonion"] - m["condylion"]) * grown(person, Part.RAMUS) * (tall + long) / 2
    turn = ANGLE_FOLLOWS * (np.arctan2(way[1], way[0]) - np.arctan2(mean_way[1], mean_way[0]))
    c, s = np.cos(turn), np.sin(turn)
    return {"gonion": found["condylion"] + np.array([[c, -s], [s, c]]) @ ramus}
