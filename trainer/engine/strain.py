"""What a wrong height of the unit does to the person: neck, toes or knees.

All limits: common practice, no source; working values.
"""

from __future__ import annotations

from enum import StrEnum

# A chin that stands farther than this from the easy upright height strains the neck or the knees.
EASY_HEIGHT_MM = 30.0
# As far as neck and back can be stretched; beyond, the heels leave the floor.
STRETCH_MM = 60.0
# As far as the heels can be lifted.
TIPTOE_MM = 110.0
# As far as knees and back can be bent and held still for a scan.
STOOP_MM = 150.0


class Strain(StrEnum):
    """How the person stands, in words that end a sentence on the unit's height."""

    NONE = "the person stands at ease"
    STRETCHED = "the neck is stretched"
    TIPTOE = "the neck is stretched and the person stands on tiptoe"
    OUT_OF_REACH = "the person cannot reach the support"
    BENT = "the knees and back are bent"
    CROUCHED = "the knees are bent too far to hold still"


def strain_of(off_mm: float) -> Strain:
    """The strain of a chin that stands ``off_mm`` above (or, negative, below) its easy height."""
    if abs(off_mm) <= EASY_HEIGHT_MM:
        return Strain.NONE
    if off_mm > 0.0:
        if off_mm > TIPTOE_MM:
            return Strain.OUT_OF_REACH
        return Strain.TIPTOE if off_mm > STRETCH_MM else Strain.STRETCHED
    return Strain.CROUCHED if off_mm < -STOOP_MM else Strain.BENT
