"""People: drawn by chance within what the tables say, and a set of named examples.

The tables give means and deviations but no correlations between measures. Some follow from them
all the same: where one tabled quantity is nearly a weighted sum of two others, its deviation says
how far the two go together. With

    q = a u + b v,   sd(q)^2 = (a sd(u))^2 + (b sd(v))^2 + 2 r (a sd(u)) (b sd(v)),

r follows from the three deviations. Pairs that no table ties are left as independent as the tied
ones allow (the matrix of greatest entropy: Dempster, Covariance selection, Biometrics 1972, from
memory). Here the tied pairs form a chain, and then every other correlation is the product along it.
"""

from __future__ import annotations

from dataclasses import fields
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.models.subject import (
    FARTHEST_SIZE,
    PLAIN_ADULT_AGE,
    Jaw,
    Mouth,
    Person,
    Posture,
    Profile,
    Repair,
    Repaired,
    Sex,
    Sizes,
    Worn,
)

Array = NDArray[np.float64]

MEASURES = tuple(field.name for field in fields(Sizes))
DECIMALS = 3  # of drawn sizes


def implied_correlation(whole_sd: float, one_sd: float, other_sd: float) -> float:
    """Correlation of two addends (weighted deviations given) whose sum has ``whole_sd``."""
    return (whole_sd**2 - one_sd**2 - other_sd**2) / (2.0 * one_sd * other_sd)


def _breadth_and_length() -> float:
    """From the head's girth: 574.4 (16.0), breadth 154.3 (5.5), length 199.5 (7.0); ANSUR II, men.

    The girth is an ellipse's of these axes, enlarged to the tabled one (574.4 over 558.4). Women's
    girth is measured over hair and says nothing (reference, section 1.1).
    """
    a, b, step = 199.5 / 2, 154.3 / 2, 1e-4

    def round_mm(p: float, q: float) -> float:
        # Ramanujan's first formula for an ellipse
        return float(np.pi * (3 * (p + q) - np.sqrt((3 * p + q) * (p + 3 * q))))

    more = 574.4 / round_mm(a, b)
    by_length = more * (round_mm(a + step / 2, b) - round_mm(a, b)) / step
    by_breadth = more * (round_mm(a, b + step / 2) - round_mm(a, b)) / step
    return implied_correlation(16.0, by_breadth * 5.5, by_length * 7.0)


def _face_height_and_jaw_length() -> float:
    """From how far forward the chin stands: SNB varies by 3 degrees (from memory: Steiner 1953).

    Gnathion lies (77, 90) in front of and below condylion and 117 below nasion (starter set). A
    longer jaw at the same face height, or a shorter face at the same jaw, moves it forward:
    0.65 forward = jaw length - 0.76 face height - 0.06 forward (lever arms of the two circles), and
    3 degrees at 117 are 6.1. Co-Gn varies by 6, N-Me by 6 (from memory: McNamara, Riolo).
    """
    forward = 117.0 * np.tan(np.radians(3.0)) * (0.65 + 0.06)
    # a difference: the second addend counts negative
    return -implied_correlation(float(forward), 6.0, 0.76 * 6.0)


def _face_width_and_jaw_length() -> float:
    """From the tape over the chin from tragion to tragion: 331.7 (14.0); ANSUR II, men.

    Straight from tragion to chin are 71 sideways and 126 along the face's side, 145 in all; the
    tape is 1.15 times as long. Breadth at the tragi varies by 6, 3 on a side (from memory: ANSUR
    1988), the jaw's length by 6. Women's tape (14.2) would ask for more than the jaw's 5 allows.
    """
    stretch = 331.7 / 2 / 145.0
    one_side = 14.0 / 2 / stretch
    return implied_correlation(one_side, 71 / 145 * 3.0, 126 / 145 * 6.0)


# Head and cheekbone breadth: from memory of adult body-measure surveys, order of magnitude.
HEAD_AND_FACE_BREADTH = 0.5


@lru_cache(maxsize=1)
def _chain() -> tuple[tuple[str, str, float], ...]:
    return (
        ("head_length", "head_breadth", _breadth_and_length()),
        ("head_breadth", "face_width", HEAD_AND_FACE_BREADTH),
        ("face_width", "jaw_length", _face_width_and_jaw_length()),
        ("jaw_length", "face_height", _face_height_and_jaw_length()),
    )


def correlations() -> Array:
    """Correlations of the measures of `Sizes`, in their order; (9, 9), positive definite.

    Head height, crowns, roots and neck stand alone: no table ties them to anything.
    """
    found = np.eye(len(MEASURES))
    names = [_chain()[0][0], *(other for _, other, _ in _chain())]
    for first in range(len(names)):
        product = 1.0
        for second in range(first + 1, len(names)):
            product *= _chain()[second - 1][2]
            i, j = MEASURES.index(names[first]), MEASURES.index(names[second])
            found[i, j] = found[j, i] = product
    return found


def draw_sizes(chance: np.random.Generator) -> Sizes:
    """Sizes of a person taken by chance; those beyond 2.5 deviations are drawn again."""
    root = np.linalg.cholesky(correlations())
    while True:
        drawn = np.round(root @ chance.standard_normal(len(MEASURES)), DECIMALS)
        if np.abs(drawn).max() <= FARTHEST_SIZE:
            return Sizes(*(float(z) for z in drawn))


def draw_person(
    seed: int | np.random.Generator, sex: Sex, age_years: int = PLAIN_ADULT_AGE
) -> Person:
    """A person of that sex and age with sizes drawn by chance; the same for the same seed."""
    chance = seed if isinstance(seed, np.random.Generator) else np.random.default_rng(seed)
    return Person(sex, age_years, draw_sizes(chance))


_ALL_TEETH = tuple(10 * quadrant + n for quadrant in (1, 2, 3, 4) for n in range(1, 9))


def example_people() -> dict[str, Person]:
    """People of many kinds by name, all invented: for pictures and tests."""
    man, woman = Sex.MALE, Sex.FEMALE
    small = Sizes(-1.6, -1.6, -1.2, -1.6, -1.6, -1.5, -0.8, -0.8, -1.4)
    large = Sizes(1.4, 1.6, 1.2, 1.6, 1.5, 1.6, 0.8, 0.8, 1.6)
    return {
        "mean man": Person(man),
        "mean woman": Person(woman),
        "small woman": Person(woman, sizes=small),
        "large man": Person(man, sizes=large),
        "girl of 6": Person(woman, 6),
        "boy of 9": Person(man, 9),
        "girl of 12": Person(woman, 12),
        "boy of 15 with brackets": Person(man, 15, mouth=Mouth(brackets=(Jaw.LOWER, Jaw.UPPER))),
        "old man without teeth": Person(
            man,
            78,
            Sizes(face_height=-0.8),
            mouth=Mouth(missing=_ALL_TEETH, lost_ridge_upper=0.6, lost_ridge_lower=0.8),
            posture=Posture(kyphosis_deg=20.0),
        ),
        "woman with small chin": Person(woman, profile=Profile.CLASS_II),
        "man with large chin": Person(man, profile=Profile.CLASS_III),
        "man with short neck": Person(
            man,
            sizes=Sizes(neck_girth=1.8, face_width=0.8),
            posture=Posture(shoulder_breadth=2.0, neck_length=-2.0),
        ),
        "old woman with round back": Person(
            woman, 80, posture=Posture(neck_length=-0.8, kyphosis_deg=35.0)
        ),
        "man with repairs": Person(
            man,
            mouth=Mouth(
                missing=(46,),
                repairs=(
                    Repaired(16, Repair.AMALGAM_FILLING),
                    Repaired(26, Repair.GOLD_CROWN),
                    Repaired(36, Repair.ROOT_FILLING),
                    Repaired(46, Repair.IMPLANT),
                ),
            ),
        ),
        "woman with worn things": Person(
            woman, worn=tuple(sorted((Worn.EARRINGS, Worn.NECKLACE, Worn.SPECTACLES)))
        ),
    }
