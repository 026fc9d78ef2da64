"""Mouths and people that carry much, and how far their things run into each other."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.anatomy.things.thing import Thing
from trainer.models.subject import Jaw, Mouth, Person, Repair, Repaired, Sex, Worn

JAWS = (Jaw.UPPER, Jaw.LOWER)
REPAIRED = Mouth(
    missing=(25, 36),
    repairs=tuple(
        Repaired(fdi, repair)
        for fdi, repair in (
            (16, Repair.AMALGAM_FILLING),
            (15, Repair.COMPOSITE_FILLING),
            (21, Repair.COMPOSITE_FILLING),
            (26, Repair.CERAMIC_CROWN),
            (37, Repair.GOLD_CROWN),
            (11, Repair.CERAMIC_CROWN),
            (11, Repair.ROOT_FILLING),
            (36, Repair.IMPLANT),
            (25, Repair.IMPLANT),
        )
    ),
)
BRACED = Mouth(brackets=JAWS)
PARTIAL = Mouth(missing=(14, 15, 16, 24, 26, 35, 36, 37, 45, 46), dentures=JAWS)
TOOTHLESS = Mouth(ALL_TEETH, (), 0.3, 0.3, (), JAWS)
ALL_WORN = tuple(sorted(Worn))
PEOPLE = {
    "repaired": Person(mouth=REPAIRED),
    "braced": Person(Sex.FEMALE, 15, mouth=BRACED),
    "partial": Person(Sex.FEMALE, mouth=PARTIAL),
    "toothless": Person(mouth=TOOTHLESS),
    "dressed": Person(worn=ALL_WORN),
}


def deepest_overlap_mm(things: Sequence[Thing], count: int = 3000) -> float:
    """How deep two things share a point at most, by points strewn over where their boxes meet."""
    rng, deepest = np.random.default_rng(11), 0.0
    for a, b in itertools.combinations(things, 2):
        low = np.maximum(a.shape.lower_mm, b.shape.lower_mm)
        high = np.minimum(a.shape.upper_mm, b.shape.upper_mm)
        if (low < high).all():
            points = rng.uniform(low, high, (count, 3))
            shared = np.maximum(a.shape(points), b.shape(points)).min()
            deepest = max(deepest, -float(shared))
    return deepest
