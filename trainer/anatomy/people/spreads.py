"""How much people differ: standard deviations of the measures in `Sizes`, adults.

Computed from ANSUR II (US Army 2012; 4082 men, 1986 women) unless said: the project's anatomy
reference, sections 1.1 and 2.2. In children the same shares of the mean hold: the circumference's
coefficient of variation is 0.029 at 6 years and 0.028 in men (UK90, ANSUR II).
"""

from __future__ import annotations

from trainer.models.subject import Person, Sex

# Measure: man, woman [mm].
SPREAD_MM: dict[str, tuple[float, float]] = {
    "head_breadth": (5.5, 5.2),
    "head_length": (7.0, 7.4),
    "head_height": (6.2, 6.5),  # tragion to vertex
    "face_width": (6.2, 5.6),  # bizygomatic, skin
    "face_height": (6.7, 6.1),  # menton to sellion, skin; bone N-Me 6 / 5 from memory
    "jaw_length": (6.0, 5.0),  # Co-Gn, from memory: McNamara 1984 less enlargement
    "neck_girth": (25.8, 19.2),
}
# Neck length from the skull's base to the shoulders: common practice, no source.
NECK_LENGTH_SPREAD_MM = 9.0
# Mean girth of the neck, ANSUR II [mm].
NECK_GIRTH_MEAN_MM = (397.6, 329.8)


def of_sex(pair: tuple[float, float], person: Person) -> float:
    """The man's or the woman's figure of a pair."""
    return pair[0] if person.sex is Sex.MALE else pair[1]


def deviation_mm(person: Person, measure: str) -> float:
    """How far a measure of this person lies from the adult mean of the sex [mm].

    In children the deviation still has to be scaled with the part's growth.
    """
    return float(getattr(person.sizes, measure)) * of_sex(SPREAD_MM[measure], person)
