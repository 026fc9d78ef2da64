"""Drawn people follow the tables, and the named ones are of many kinds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.people.people import (
    MEASURES,
    correlations,
    draw_person,
    draw_sizes,
    example_people,
    implied_correlation,
)
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.soft.skin import skin
from trainer.models.subject import FARTHEST_SIZE, Jaw, Person, Profile, Sex

DRAWN = 8000
# A normal deviate kept within 2.5 varies by 0.955 and has its 95th percentile at 1.60.
KEPT_SD, KEPT_P95 = 0.955, 1.60


@pytest.fixture(scope="module")
def drawn() -> np.ndarray:
    """Sizes (n, 9) of many people, in the order of `MEASURES`."""
    chance = np.random.default_rng(11)
    people = [draw_sizes(chance) for _ in range(DRAWN)]
    return np.array([[getattr(sizes, name) for name in MEASURES] for sizes in people])


def between(one: str, other: str) -> float:
    """The correlation that is drawn with."""
    return float(correlations()[MEASURES.index(one), MEASURES.index(other)])


def test_correlations_are_possible() -> None:
    """The matrix is symmetric, 1 along the diagonal and positive definite."""
    matrix = correlations()
    np.testing.assert_array_equal(matrix, matrix.T)
    np.testing.assert_array_equal(np.diag(matrix), 1.0)
    assert np.linalg.eigvalsh(matrix).min() > 0.2


def test_implied_correlation_of_known_sums() -> None:
    """It is found again from samples whose correlation is known."""
    chance = np.random.default_rng(1)
    u = chance.standard_normal(200_000)
    v = 0.4 * u + np.sqrt(1 - 0.16) * chance.standard_normal(200_000)
    found = implied_correlation(float((2 * u + 3 * v).std()), 2.0, 3.0)
    assert found == pytest.approx(0.4, abs=0.02)
    assert implied_correlation(5.0, 3.0, 4.0) == 0.0


def test_face_heights_add_up() -> None:
    """N-ANS and ANS-Me go together by 0.47 in men and 0.53 in women, as N-Me's deviation says."""
    # from memory: Burstone COGS 1978; Riolo / Bolton less enlargement
    assert implied_correlation(6.0, 3.2, 3.8) == pytest.approx(0.47, abs=0.01)
    assert implied_correlation(5.0, 2.4, 3.3) == pytest.approx(0.53, abs=0.01)


def test_head_girth_of_the_drawn(drawn: np.ndarray) -> None:
    """Girths of drawn men vary by ANSUR II's 16.0 mm, less what the limits cut off."""
    # an ellipse through breadth and length, enlarged to ANSUR II's 574.4 mm
    breadth = 154.3 + 5.5 * drawn[:, MEASURES.index("head_breadth")]
    length = 199.5 + 7.0 * drawn[:, MEASURES.index("head_length")]
    p, q = breadth / 2, length / 2
    girth = np.pi * (3 * (p + q) - np.sqrt((3 * p + q) * (p + 3 * q)))
    girth *= 574.4 / girth.mean()
    assert girth.std() == pytest.approx(16.0 * KEPT_SD, rel=0.03)


def test_how_far_forward_chins_stand(drawn: np.ndarray) -> None:
    """The chins of drawn men vary by 3 to 4 degrees forward and back, as SNB and facial angle."""
    # SNB 80 (3), from memory: Steiner 1953; facial angle 82-95 in 20 people: Downs 1948
    jaw = 6.0 * drawn[:, MEASURES.index("jaw_length")]
    face = 6.0 * drawn[:, MEASURES.index("face_height")]
    forward = (jaw - 0.76 * face) / 0.71
    assert 3.0 * KEPT_SD * 0.95 < np.degrees(np.arctan(forward.std() / 117.0)) < 4.0


def test_drawn_people_spread_as_asked(drawn: np.ndarray) -> None:
    """Means are 0, deviations and 5th and 95th percentiles those of a normal kept within 2.5."""
    np.testing.assert_allclose(drawn.mean(axis=0), 0.0, atol=0.04)
    np.testing.assert_allclose(drawn.std(axis=0), KEPT_SD, atol=0.03)
    low, high = np.percentile(drawn, [5, 95], axis=0)
    np.testing.assert_allclose(low, -KEPT_P95, atol=0.08)
    np.testing.assert_allclose(high, KEPT_P95, atol=0.08)
    assert np.abs(drawn).max() <= FARTHEST_SIZE


def test_drawn_people_go_together_as_asked(drawn: np.ndarray) -> None:
    """Every pair of measures is drawn with the correlation that was derived, to 0.05."""
    np.testing.assert_allclose(np.corrcoef(drawn.T), correlations(), atol=0.05)


def test_derived_correlations() -> None:
    """What belongs together goes together: all tied pairs lie between 0.15 and 0.75."""
    assert 0.15 < between("head_length", "head_breadth") < 0.4
    assert 0.4 < between("face_width", "jaw_length") < 0.65
    assert 0.6 < between("jaw_length", "face_height") < 0.75
    assert between("tooth_size", "head_length") == 0.0  # teeth do not follow the head
    # no other tie: the product along the chain
    assert between("face_width", "face_height") == pytest.approx(
        between("face_width", "jaw_length") * between("jaw_length", "face_height")
    )


@given(st.integers(0, 2**32 - 1), st.sampled_from(Sex), st.integers(6, 100))
def test_a_seed_is_a_person(seed: int, sex: Sex, age: int) -> None:
    """The same seed gives the same person, of the sex and age that were asked for."""
    person = draw_person(seed, sex, age)
    assert person == draw_person(np.random.default_rng(seed), sex, age)
    assert (person.sex, person.age_years) == (sex, age)


def test_seeds_differ() -> None:
    """A hundred seeds are a hundred people, and a generator goes on to the next."""
    assert len({draw_person(seed, Sex.FEMALE) for seed in range(100)}) == 100
    chance = np.random.default_rng(0)
    assert draw_person(chance, Sex.MALE) != draw_person(chance, Sex.MALE)


def test_examples_are_of_many_kinds() -> None:
    """The named people are all different and hold every age band, profile and kind of mouth."""
    people = example_people()
    assert len(people) >= 8
    assert len(set(people.values())) == len(people)
    found: list[Person] = list(people.values())
    assert {person.sex for person in found} == set(Sex)
    assert {6, 9, 12, 15} <= {person.age_years for person in found}
    assert {person.profile for person in found} == set(Profile)
    assert any(len(person.mouth.missing) == 32 for person in found)
    assert any(person.mouth.brackets == (Jaw.LOWER, Jaw.UPPER) for person in found)
    assert any(person.mouth.repairs for person in found)
    assert any(person.worn for person in found)
    assert any(person.posture.kyphosis_deg > 30 for person in found)
    assert any(
        person.posture.neck_length < -1.5 and person.posture.shoulder_breadth > 1.5
        for person in found
    )


def test_upper_jaws_of_the_drawn() -> None:
    """SNA of drawn men varies by about 3 degrees, though nothing but lengths was drawn."""
    # SNA 82 (3), from memory: Steiner 1953
    chance, angles = np.random.default_rng(3), []
    for _ in range(400):
        m = starter_landmarks(draw_person(chance, Sex.MALE))
        one, other = (m["sella"] - m["nasion"])[1:], (m["a-point"] - m["nasion"])[1:]
        cosine = one @ other / np.linalg.norm(one) / np.linalg.norm(other)
        angles.append(np.degrees(np.arccos(cosine)))
    assert np.std(angles) == pytest.approx(3.0, abs=0.6)
    assert np.mean(angles) == pytest.approx(82.0, abs=3.0)


def test_jaws_of_the_drawn_have_their_length() -> None:
    """Less than one drawn man in a hundred has a jaw that had to give way to his face."""
    chance, gave_way = np.random.default_rng(4), 0
    usual = starter_landmarks(Person())
    length = np.linalg.norm((usual["condylion-left"] - usual["gnathion"])[1:])
    for _ in range(2000):
        person = draw_person(chance, Sex.MALE)
        m = starter_landmarks(person)
        found = np.linalg.norm((m["condylion-left"] - m["gnathion"])[1:])
        gave_way += abs(found - length - 6.0 * person.sizes.jaw_length) > 0.05
    assert gave_way < 20


@pytest.mark.parametrize("name", example_people())
def test_eyes_stay_under_the_lids(name: str) -> None:
    """Eyeballs of their own size, 24 mm in adults, lie under the skin of every named person."""
    person = example_people()[name]
    ways = np.random.default_rng(5).normal(size=(400, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    around = 12.0 * grown(person, Part.EYEBALL) * ways
    eye = head_warp(person).to_mean_man(starter_landmarks(person)["globe-left"] + around)
    assert skin()(eye).max() < -0.1
