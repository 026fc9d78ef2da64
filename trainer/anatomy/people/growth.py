"""How far each part of a head has grown at an age: shares of the adult of the same sex.

Rows, where not said otherwise: the project's anatomy reference, section 5.1 ("linear factors
relative to adult"), at 6, 9, 12 and 15 years; 18 is adult. Between the ages straight lines.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from trainer.models.subject import Person, Sex

AGES = (6, 9, 12, 15, 18)


class Part(StrEnum):
    """What grows at a pace of its own."""

    NEUROCRANIUM = "neurocranium"
    ORBITS = "orbits"
    FACE_WIDTH = "face-width"
    MIDFACE = "midface"
    FACE_HEIGHT = "face-height"
    LOWER_FACE = "lower-face"
    JAW_LENGTH = "jaw-length"
    RAMUS = "ramus"
    JAW_WIDTH = "jaw-width"
    NOSE = "nose"
    NECK_GIRTH = "neck-girth"
    EYEBALL = "eyeball"


# Shares at the ages of `AGES` without the last, boys and girls.
SHARES: dict[Part, tuple[tuple[float, ...], tuple[float, ...]]] = {
    # all axes; computed: UK90 head circumference
    Part.NEUROCRANIUM: ((0.93, 0.95, 0.96, 0.98), (0.94, 0.96, 0.98, 0.99)),
    # derived from distances between the pupils
    Part.ORBITS: ((0.83, 0.87, 0.92, 0.97), (0.85, 0.89, 0.95, 0.99)),
    # across the cheekbones; from memory: Farkas
    Part.FACE_WIDTH: ((0.83, 0.87, 0.91, 0.96), (0.86, 0.90, 0.95, 0.98)),
    # condylion to A; from memory: McNamara
    Part.MIDFACE: ((0.82, 0.87, 0.92, 0.97), (0.86, 0.91, 0.97, 1.0)),
    # nasion to menton; from memory: Bolton / Riolo
    Part.FACE_HEIGHT: ((0.79, 0.85, 0.90, 0.96), (0.83, 0.89, 0.95, 0.98)),
    # front nasal spine to menton; from memory: McNamara
    Part.LOWER_FACE: ((0.80, 0.84, 0.87, 0.94), (0.86, 0.91, 0.94, 0.98)),
    # condylion to gnathion; from memory: McNamara
    Part.JAW_LENGTH: ((0.75, 0.81, 0.87, 0.94), (0.81, 0.88, 0.95, 0.99)),
    # from memory, plus or minus 0.04
    Part.RAMUS: ((0.70, 0.77, 0.84, 0.93), (0.76, 0.83, 0.91, 0.97)),
    # across condyles and angles; from memory
    Part.JAW_WIDTH: ((0.84, 0.88, 0.92, 0.97), (0.87, 0.91, 0.95, 0.98)),
    # how far the nose stands out; from memory: Farkas 1994
    Part.NOSE: ((0.78, 0.84, 0.90, 0.97), (0.81, 0.87, 0.95, 0.99)),
    # from memory, rounded: Snyder et al., UM-HSRI-77-17, 1977 (about 265 mm at 6 years)
    Part.NECK_GIRTH: ((0.67, 0.72, 0.79, 0.91), (0.80, 0.86, 0.92, 0.97)),
    # 22.5 mm across at 6, 24 in adults; from memory
    Part.EYEBALL: ((0.938, 0.96, 0.98, 1.0), (0.938, 0.96, 0.98, 1.0)),
}
# Steepening of the occlusal plane over the adult's [deg]: it stands at 15.9, 12.3 and 7.7 with
# primary, mixed and permanent teeth (Iwate Dental Journal study, reference section 2.1), taken
# for 6, 9 and 15 years; at 12, the last primary tooth going, halfway between the last two.
CANT_MORE_DEG = (8.2, 4.6, 2.3, 0.0, 0.0)


def grown(person: Person, part: Part) -> float:
    """Size of a part over the adult's of the same sex; 1 for adults."""
    if person.adult:
        return 1.0
    row = SHARES[part][0 if person.sex is Sex.MALE else 1]
    return float(np.interp(person.age_years, AGES, (*row, 1.0)))


def cant_more_deg(person: Person) -> float:
    """How much steeper than the adult's the occlusal plane stands [deg]."""
    return 0.0 if person.adult else float(np.interp(person.age_years, AGES, CANT_MORE_DEG))
