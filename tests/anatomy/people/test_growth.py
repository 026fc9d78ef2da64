"""Growing heads against the tables: factors at four ages, head girth, flattening of the bite.

Factors: the project's anatomy reference, section 5.1 (linear factors relative to adult of the same
sex), whose own sources stand beside the rows. Memory rows are kept to 0.016; check 25 allows 0.04.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.skins import skin_measures
from trainer.anatomy.people.growth import AGES, Part, cant_more_deg, grown
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Person, Sex

SEXES = (Sex.MALE, Sex.FEMALE)
# Row: boys at 6, 9, 12, 15; girls.
BETWEEN = {
    # from memory: McNamara normative tables
    ("condylion", "a-point"): ((0.82, 0.87, 0.92, 0.97), (0.86, 0.91, 0.97, 1.0)),
    # from memory: Bolton / Riolo
    ("nasion", "menton"): ((0.79, 0.85, 0.90, 0.96), (0.83, 0.89, 0.95, 0.98)),
    # from memory: McNamara
    ("anterior-nasal-spine", "menton"): ((0.80, 0.84, 0.87, 0.94), (0.86, 0.91, 0.94, 0.98)),
    # from memory: McNamara
    ("condylion", "gnathion"): ((0.75, 0.81, 0.87, 0.94), (0.81, 0.88, 0.95, 0.99)),
    # ramus height, from memory; plus or minus 0.04
    ("condylion", "gonion"): ((0.70, 0.77, 0.84, 0.93), (0.76, 0.83, 0.91, 0.97)),
    ("articulare", "gonion"): ((0.70, 0.77, 0.84, 0.93), (0.76, 0.83, 0.91, 0.97)),
}
ACROSS = {
    # jaw width (condyles, angles), from memory
    "condylion": ((0.84, 0.88, 0.92, 0.97), (0.87, 0.91, 0.95, 0.98)),
    "gonion": ((0.84, 0.88, 0.92, 0.97), (0.87, 0.91, 0.95, 0.98)),
    # orbits, eye spacing, derived from interpupillary rows
    "globe": ((0.83, 0.87, 0.92, 0.97), (0.85, 0.89, 0.95, 0.99)),
    "orbitale": ((0.83, 0.87, 0.92, 0.97), (0.85, 0.89, 0.95, 0.99)),
}
ON_SKIN = {
    # neurocranium, all axes, computed: UK90
    "head_breadth": ((0.93, 0.95, 0.96, 0.98), (0.94, 0.96, 0.98, 0.99)),
    "head_length": ((0.93, 0.95, 0.96, 0.98), (0.94, 0.96, 0.98, 0.99)),
    "head_height": ((0.93, 0.95, 0.96, 0.98), (0.94, 0.96, 0.98, 0.99)),
    # face width, from memory: Farkas
    "face_width": ((0.83, 0.87, 0.91, 0.96), (0.86, 0.90, 0.95, 0.98)),
}
# Head girth over that at 18 (boys) and 17 (girls), computed: UK90 (section 1.2).
GIRTH = ((0.929, 0.946, 0.963, 0.982), (0.940, 0.962, 0.979, 0.993))
# Head breadth and length [mm], from memory: Snyder et al. 1977 and Farkas (section 1.3).
SIZES_MM = {
    "head_breadth": ((141, 144, 147, 150), (137, 140, 143, 146), 5.0),
    "head_length": ((181, 185, 189, 194), (175, 179, 183, 187), 6.0),
    # bizygomatic, from memory / derived
    "face_width": ((118, 124, 130, 137), (115, 120, 126, 131), 5.0),
}
EVERY = [(sex, column) for sex in SEXES for column in range(4)]
CASES = pytest.mark.parametrize(("sex", "column"), EVERY)


def length_mm(person: Person, one: str, other: str) -> float:
    """Distance of two landmarks (left ones of pairs), seen from the side."""
    m = starter_landmarks(person)
    a, b = (m.get(name, m.get(f"{name}-left")) for name in (one, other))
    return float(np.linalg.norm((a - b)[1:]))


def fall_deg(person: Person, front: str, rear: str) -> float:
    """Slope of the line of two landmarks to the Frankfort horizontal, front end low +."""
    m = starter_landmarks(person)
    d = m.get(front, m.get(f"{front}-left")) - m.get(rear, m.get(f"{rear}-left"))
    return float(np.degrees(np.arctan2(-d[2], -d[1])))


@CASES
@pytest.mark.parametrize("row", BETWEEN)
def test_lengths_of_the_face(sex: Sex, column: int, row: tuple[str, str]) -> None:
    """Lengths of face and jaw at 6, 9, 12 and 15 are the tabled shares of the adult's."""
    share = length_mm(Person(sex, AGES[column]), *row) / length_mm(Person(sex), *row)
    assert share == pytest.approx(BETWEEN[row][SEXES.index(sex)][column], abs=0.016)


@CASES
@pytest.mark.parametrize("row", ACROSS)
def test_breadths_of_the_bones(sex: Sex, column: int, row: str) -> None:
    """Breadths of jaw and orbits at the four ages are the tabled shares exactly."""
    child, adult = starter_landmarks(Person(sex, AGES[column])), starter_landmarks(Person(sex))
    share = child[f"{row}-left"][0] / adult[f"{row}-left"][0]
    assert share == pytest.approx(ACROSS[row][SEXES.index(sex)][column], abs=1e-9)


@CASES
@pytest.mark.parametrize("row", ON_SKIN)
def test_breadths_and_lengths_on_the_skin(sex: Sex, column: int, row: str) -> None:
    """Head and face breadth, head length and height on the built skin are the tabled shares."""
    share = skin_measures(Person(sex, AGES[column]))[row] / skin_measures(Person(sex))[row]
    assert share == pytest.approx(ON_SKIN[row][SEXES.index(sex)][column], abs=0.012)


@CASES
def test_head_girth(sex: Sex, column: int) -> None:
    """The head's girth over the adult's is UK90's at each age, to the 0.02 of check 25."""
    child, adult = Person(sex, AGES[column]), Person(sex)
    share = skin_measures(child)["head_girth"] / skin_measures(adult)["head_girth"]
    assert share == pytest.approx(GIRTH[SEXES.index(sex)][column], abs=0.02)


@CASES
@pytest.mark.parametrize("row", SIZES_MM)
def test_child_sizes(sex: Sex, column: int, row: str) -> None:
    """Head breadth and length and face width of children lie within the tables' own doubt."""
    boys, girls, doubt = SIZES_MM[row]
    expected = (boys, girls)[SEXES.index(sex)][column]
    assert skin_measures(Person(sex, AGES[column]))[row] == pytest.approx(expected, abs=doubt)


@pytest.mark.parametrize(("sex", "jaw"), [(Sex.MALE, 0.81), (Sex.FEMALE, 0.88)])
def test_nine_years_old(sex: Sex, jaw: float) -> None:
    """At 9 the jaw's length over the adult's is 0.81 (boys) and 0.88 (girls) (check 25)."""
    # from memory: McNamara tables; check 25 allows 0.04
    child = length_mm(Person(sex, 9), "condylion", "gnathion")
    assert child / length_mm(Person(sex), "condylion", "gnathion") == pytest.approx(jaw, abs=0.002)


@pytest.mark.parametrize("age", range(6, 18))
@pytest.mark.parametrize("sex", SEXES)
def test_sn_keeps_its_angle(sex: Sex, age: int) -> None:
    """SN stands to the Frankfort horizontal at every age as in the adult, to 0.1 degrees."""
    # constant within a person: PubMed 24001109, longitudinal, 223 children of 6 to 14 years
    assert fall_deg(Person(sex, age), "nasion", "sella") == pytest.approx(
        fall_deg(Person(sex), "nasion", "sella"), abs=0.1
    )


def occlusal_cant_deg(person: Person) -> float:
    """Slope of the bisected occlusal plane to the Frankfort horizontal."""
    m = starter_landmarks(person)
    front = (m["upper-incisor-edge"] + m["lower-incisor-edge"]) / 2
    d = front - m["upper-first-molar-cusp-left"]
    return float(np.degrees(np.arctan2(-d[2], -d[1])))


@pytest.mark.parametrize("sex", SEXES)
def test_the_bite_flattens(sex: Sex) -> None:
    """The occlusal plane falls by 15.9, 12.3 and 7.7 degrees at 6, 9 and 15, to 0.5."""
    # deciduous / mixed / permanent, confirmed: Iwate Dental Journal study
    for age, expected in ((6, 15.9), (9, 12.3), (15, 7.7)):
        assert occlusal_cant_deg(Person(sex, age)) == pytest.approx(expected, abs=0.5)
    steps = [occlusal_cant_deg(Person(sex, age)) for age in range(6, 19)]
    assert steps == sorted(steps, reverse=True)


@pytest.mark.parametrize("sex", SEXES)
def test_growing_never_turns_back(sex: Sex) -> None:
    """No part is smaller a year later, adults are 1, and the jaw catches up with the braincase."""
    for part in Part:
        shares = [grown(Person(sex, age), part) for age in range(6, 30)]
        assert shares == sorted(shares)
        assert shares[-1] == 1.0
        assert shares[12] == 1.0
    child = Person(sex, 6)
    assert grown(child, Part.RAMUS) < grown(child, Part.JAW_LENGTH)
    assert grown(child, Part.JAW_LENGTH) < grown(child, Part.NEUROCRANIUM)


@pytest.mark.parametrize("mean", [MEAN_MAN, MEAN_WOMAN])
def test_adults_do_not_change(mean: Person) -> None:
    """From 18 on age moves no landmark."""
    usual = starter_landmarks(mean)
    for age in (18, 25, 100):
        found = starter_landmarks(Person(mean.sex, age))
        assert all(np.array_equal(found[name], usual[name]) for name in usual)
        assert cant_more_deg(Person(mean.sex, age)) == 0.0


@pytest.mark.parametrize("sex", SEXES)
def test_eyeballs_are_nearly_grown(sex: Sex) -> None:
    """The eyeball is 22.5 mm across at 6 and 24 in adults (from memory), to 0.1."""
    assert 24.0 * grown(Person(sex, 6), Part.EYEBALL) == pytest.approx(22.5, abs=0.1)
    assert grown(Person(sex), Part.EYEBALL) == 1.0
