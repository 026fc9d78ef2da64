"""Landmarks of a person, in the skull frame, teeth together.

The figures of the mean man and woman are the project's constructed starter set: chosen so that
published lengths and angles come out together (the tests name those publications). They are a seed
for the generator, not measurements of a person. Each row: forward, up for man; forward, up for
woman; half distance from the midline for man and woman [mm].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.facial_plan import facial_plan
from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.people.spreads import deviation_mm
from trainer.models.subject import Person, Sex

Array = NDArray[np.float64]

# name: ((forward, up) man, (forward, up) woman, (lateral man, lateral woman))
STARTER: dict[str, tuple[tuple[float, float], tuple[float, float], tuple[float, float]]] = {
    "porion": ((0, 0), (0, 0), (55, 52)),
    "orbitale": ((75, 0), (70, 0), (31, 30)),
    "globe": ((70, 17), (66, 16), (32, 31)),
    "sella": ((19, 18), (18, 17), (0, 0)),
    "nasion": ((92, 26), (86.5, 24.5), (0, 0)),
    "basion": ((-5, -19), (-5, -17), (0, 0)),
    "anterior-nasal-spine": ((95, -28), (89, -26), (0, 0)),
    "posterior-nasal-spine": ((43, -26), (40, -24), (0, 0)),
    "a-point": ((92, -33), (86.5, -30), (0, 0)),
    "upper-incisor-edge": ((94.5, -56), (89, -51), (0, 0)),
    "lower-incisor-edge": ((92, -54), (86.5, -49.5), (0, 0)),
    "upper-first-molar-cusp": ((63, -50.8), (59, -46.5), (27, 25.5)),
    "pogonion": ((87.6, -82), (82, -75), (0, 0)),
    "gnathion": ((86, -91), (81, -83), (0, 0)),
    "menton": ((80.5, -95.5), (76, -87.5), (0, 0)),
    "gonion": ((12, -62.5), (11, -57), (50, 46.5)),
    "articulare": ((5, -13), (4.7, -12), (51, 48)),
    "condylion": ((9, -1), (8.5, -1), (51, 48)),
    "hinge": ((11.5, -5), (11, -4.6), (51, 48)),
    "tympanic-cavity": ((1.5, -2), (1.5, -2), (33.5, 32)),
    "glabella-skin": ((100, 31), (94, 29), (0, 0)),
    "vertex-skin": ((10, 130), (9, 125), (0, 0)),
    "hyoid": ((40, -95), (37, -86), (0, 0)),
}
# Points that move with the lower jaw.
ON_MANDIBLE = frozenset(
    {
        "lower-incisor-edge",
        "pogonion",
        "gnathion",
        "menton",
        "gonion",
        "articulare",
        "condylion",
        "hinge",
    }
)
# Skin below the bony chin point: soft tissue at menton, from memory: Stephan & Simpson 2008.
CHIN_SOFT_TISSUE_MM = 7.5


# Half distances from the midline go with these parts in children; several: with their mean.
WIDTHS: dict[str, tuple[Part, ...]] = {
    "porion": (Part.NEUROCRANIUM, Part.JAW_WIDTH),
    "orbitale": (Part.ORBITS,),
    "globe": (Part.ORBITS,),
    "gonion": (Part.JAW_WIDTH,),
    "articulare": (Part.JAW_WIDTH,),
    "condylion": (Part.JAW_WIDTH,),
    "hinge": (Part.JAW_WIDTH,),
    "tympanic-cavity": (Part.NEUROCRANIUM,),
    # the row of teeth hardly grows any more
    "upper-first-molar-cusp": (Part.JAW_WIDTH, Part.EYEBALL),
}
# What a broad face is broader at, as shares of the cheekbones' breadth: common sense, no source.
WITH_FACE_WIDTH = {
    "porion": 0.4, "orbitale": 0.25, "globe": 0.15, "gonion": 0.5, "articulare": 0.4,
    "condylion": 0.4, "hinge": 0.4,
}  # fmt: skip


def starter_landmarks(person: Person) -> dict[str, Array]:
    """Landmarks [mm] of a person, skull frame; paired ones as ``name-left`` and ``name-right``.

    Of the mean man and woman they are the starter set itself.
    """
    man = person.sex is Sex.MALE
    mean = {name: np.array(row[0] if man else row[1], float) for name, row in STARTER.items()}
    plan = facial_plan(person, mean)
    broader = deviation_mm(person, "face_width") / 2 * grown(person, Part.FACE_WIDTH)
    found: dict[str, Array] = {}
    for name, (_, _, lateral) in STARTER.items():
        forward, up = plan[name]
        half = lateral[0] if man else lateral[1]
        if half == 0:
            found[name] = np.array([0.0, -forward, up])
        else:
            pace = sum(grown(person, part) for part in WIDTHS[name]) / len(WIDTHS[name])
            half = half * pace + WITH_FACE_WIDTH.get(name, 0.0) * broader
            found[f"{name}-left"] = np.array([half, -forward, up])
            found[f"{name}-right"] = np.array([-half, -forward, up])
    return found


def chin_contact(person: Person) -> Array:
    """The skin point under the chin that rests on the support, in the mandible frame [mm]."""
    return starter_landmarks(person)["menton"] - np.array([0.0, 0.0, CHIN_SOFT_TISSUE_MM])
