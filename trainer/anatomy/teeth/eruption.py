"""When teeth come: which stand in the mouth at an age, how far roots have grown.

Ages of emergence follow the project's reference table (Nelson & Ash, Wheeler's Dental Anatomy,
appendix B and flash cards; chronology table of paediatric emergency medicine; ranges in years
beside each row). Within each range the place is chosen so that what stands in the mouth at 6, 9
and 12 is what the same reference lists; that choice has no source of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.anatomy.teeth.tooth_tables import FIRST_PRIMARY
from trainer.models.subject import Person, Sex

JAWS = ("upper", "lower")
# Years, places 1 to 8 from the midline.
EMERGENCE: dict[str, tuple[float, ...]] = {
    "upper": (7.3, 8.2, 11.5, 10.4, 11.2, 5.9, 12.2, 19.0),  # 7-8 8-9 11-12 10-11 10-12 6-7 12-13
    "lower": (6.5, 7.5, 9.9, 10.6, 12.0, 5.9, 11.8, 19.0),  # 6-7 7-8 9-10 10-12 11-12 6-7 11-13
}
# Girls are some months ahead (same reference).
LATER_BOYS, EARLIER_GIRLS = 0.1, 0.3
# From emergence through the gum to the bite: about a year (from memory).
TO_THE_BITE_YEARS = 1.0
# Without a primary tooth in the way a molar already rises before: from memory, no figure read.
RISING_YEARS = 1.5
# Roots finish about 3 years after emergence (confirmed for first molars: 9 to 10 years); two thirds
# are formed at emergence, and they begin about 3.5 years before (both from memory).
FINISHED_AFTER_YEARS, SHARE_AT_EMERGENCE, BEGUN_BEFORE_YEARS = 3.0, 0.67, 3.5
SHARE_STEP = 0.05  # root shares are rounded to this, so that models can be shared
# Third-molar crowns are seen from about 10 years on (from memory: they calcify from 7 to 10).
THIRD_MOLAR_CROWN_YEARS = 10


@dataclass(frozen=True, slots=True)
class Place:
    """A tooth of one half jaw at an age.

    ``place`` counts as in `tooth_tables.kind_of`. ``risen`` runs from 0 (in its bed in the bone)
    to 1 (in the bite); ``erupted`` says whether it shows in the mouth.
    """

    place: int
    root_share: float
    risen: float
    erupted: bool


def emergence_years(sex: Sex, jaw: str, place: int) -> float:
    """Age at which a permanent tooth comes through the gum."""
    shift = LATER_BOYS if sex is Sex.MALE else -EARLIER_GIRLS
    return EMERGENCE[jaw][place - 1] + shift


def root_share(sex: Sex, age_years: float, jaw: str, place: int) -> float:
    """The part of a permanent tooth's roots that is formed at an age, 0 to 1."""
    past = age_years - emergence_years(sex, jaw, place)
    before = SHARE_AT_EMERGENCE * (1.0 + past / BEGUN_BEFORE_YEARS)
    after = SHARE_AT_EMERGENCE + (1.0 - SHARE_AT_EMERGENCE) * past / FINISHED_AFTER_YEARS
    share = float(np.clip(before if past < 0 else after, 0.0, 1.0))
    return round(share / SHARE_STEP) * SHARE_STEP


def _permanent(sex: Sex, age_years: int, jaw: str, place: int) -> Place:
    past = age_years - emergence_years(sex, jaw, place)
    erupted = past >= 0.0
    if place >= 6:  # comes up behind the arch, with nothing above it
        rise = (past + RISING_YEARS) / (RISING_YEARS + TO_THE_BITE_YEARS)
    else:  # takes over where its forerunner falls out
        rise = 0.5 + 0.5 * past / TO_THE_BITE_YEARS if erupted else 0.0
    share = root_share(sex, age_years, jaw, place)
    return Place(place, share, float(np.clip(rise, 0.0, 1.0)), erupted)


def places(person: Person, jaw: str) -> tuple[Place, ...]:
    """All teeth of one half jaw at the person's age, permanent ones first, as if none were lost.

    An adult has the eight permanent ones, in the bite with finished roots.
    """
    if person.adult:
        return tuple(Place(n, 1.0, 1.0, True) for n in range(1, 9))
    age = person.age_years
    last = 8 if age >= THIRD_MOLAR_CROWN_YEARS else 7
    found = [_permanent(person.sex, age, jaw, n) for n in range(1, last + 1)]
    waiting = [p.place for p in found if p.place <= 5 and not p.erupted]
    primary = [Place(n + FIRST_PRIMARY - 1, 1.0, 1.0, True) for n in waiting]
    return tuple(found + primary)


def row(teeth: tuple[Place, ...]) -> tuple[int, ...]:
    """The places in their order along the arch, from the midline; germs under primary teeth out."""
    standing = [p.place for p in teeth if p.erupted or p.place in (6, 7, 8)]
    return tuple(sorted(standing, key=lambda n: n % (FIRST_PRIMARY - 1)))
