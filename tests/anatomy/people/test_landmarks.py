"""The starter landmarks against published lengths and angles, and those of anyone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from tests.strategies import people
from trainer.anatomy.people.facial_plan import B_FROM_POGONION, facial_plan
from trainer.anatomy.people.landmarks import ON_MANDIBLE, STARTER, chin_contact, starter_landmarks
from trainer.models.subject import (
    MEAN_MAN,
    MEAN_WOMAN,
    MEANS,
    Person,
    Posture,
    Profile,
    Sex,
    Sizes,
    Worn,
)

MAN, WOMAN = starter_landmarks(MEAN_MAN), starter_landmarks(MEAN_WOMAN)
BOTH = pytest.mark.parametrize("person", MEANS)


def marks(person: Person) -> dict[str, np.ndarray]:
    """Landmarks with paired ones also in the midline, as a side view shows them."""
    found = dict(MAN if person is MEAN_MAN else WOMAN)
    for name in STARTER:
        if name not in found:
            found[name] = (found[f"{name}-left"] + found[f"{name}-right"]) / 2
    return found


def side_angle(at: np.ndarray, one: np.ndarray, other: np.ndarray) -> float:
    """Angle one-at-other [deg], seen from the side."""
    a, b = (one - at)[1:], (other - at)[1:]
    return float(np.degrees(np.arccos(a @ b / (np.linalg.norm(a) * np.linalg.norm(b)))))


def to_frankfort(front: np.ndarray, rear: np.ndarray) -> float:
    """Angle of a line to Frankfort horizontal [deg], seen from the side; front end low +."""
    d = front - rear
    return float(np.degrees(np.arctan2(-d[2], -d[1])))


# Published targets with one published SD or the stated range as tolerance [mm]: man, woman, SD.
LENGTHS = {
    # from memory: Riolo atlas 1974 less enlargement
    ("sella", "nasion"): (73.0, 69.0, 3.0),
    # from memory: Burstone COGS 1978
    ("nasion", "anterior-nasal-spine"): (54.7, 50.0, 3.2),
    ("anterior-nasal-spine", "menton"): (68.6, 61.3, 3.8),
    # from memory: Riolo / Bolton less enlargement; ANSUR II menton-sellion 122.6 / 113.1 agrees
    ("nasion", "menton"): (122.0, 112.0, 5.0),
    # from memory: COGS 1978 for the ramus; McNamara 1984 / 1.08 for the jaw's length
    ("articulare", "gonion"): (52.0, 46.8, 4.2),
    # palate length 48.5 (4.7), confirmed: Varalakshmi et al., IJRMS 2017; 52 / 49 from memory
    ("anterior-nasal-spine", "posterior-nasal-spine"): (52.0, 49.0, 4.7),
    # from memory: McNamara 1984 / 1.08, SD 6
    ("condylion", "gnathion"): (124.0, 111.0, 6.0),
    ("condylion", "a-point"): (92.0, 84.0, 5.0),
}


@BOTH
@pytest.mark.parametrize("pair", LENGTHS)
def test_side_view_lengths(person, pair):
    """Face lengths lie within one standard deviation of the published means."""
    m = marks(person)
    man, woman, sd = LENGTHS[pair]
    length = float(np.linalg.norm((m[pair[0]] - m[pair[1]])[1:]))
    assert length == pytest.approx(man if person is MEAN_MAN else woman, abs=sd)


@BOTH
def test_angles_of_the_face(person):
    """Saddle, gonial and facial angle, SN, Y axis, jaw and occlusal plane are as published."""
    m = marks(person)
    # SN to Frankfort 6.7 (3.1), confirmed: Nepalese study (n = 238); front end high
    assert -to_frankfort(m["nasion"], m["sella"]) == pytest.approx(6.7, abs=3.1)
    # saddle N-S-Ar 123 (5), from memory: Bjork / Jarabak
    assert side_angle(m["sella"], m["nasion"], m["articulare"]) == pytest.approx(123, abs=5)
    # gonial angle 124.8, confirmed: Head & Face Medicine 2020; check 13 allows 122-125 (7)
    assert side_angle(m["gonion"], m["articulare"], m["menton"]) == pytest.approx(123.5, abs=7)
    # facial angle 87.8 (82-95), confirmed: Downs 1948; check 11 allows 3.5
    facial = side_angle(m["pogonion"], m["nasion"], m["pogonion"] + [0.0, -10.0, 0.0])
    assert facial == pytest.approx(87.8, abs=3.5)
    # FMA 25 (5), from memory: Tweed / Downs
    assert to_frankfort(m["menton"], m["gonion"]) == pytest.approx(25, abs=5)
    # Y axis 59.4 (53-66), from memory: Downs 1948
    assert 53 <= to_frankfort(m["gnathion"], m["sella"]) <= 66
    # SNA 82 (3), from memory: Steiner 1953
    assert side_angle(m["nasion"], m["sella"], m["a-point"]) == pytest.approx(82, abs=3)
    # occlusal plane to Frankfort 8 (4), front end low: Downs +9.3, Iwate 7.73 (confirmed)
    edges = (m["upper-incisor-edge"] + m["lower-incisor-edge"]) / 2
    assert to_frankfort(edges, m["upper-first-molar-cusp"]) == pytest.approx(8, abs=4)
    # N-S-Ba 130 (5), from memory: cranial-base literature
    assert side_angle(m["sella"], m["nasion"], m["basion"]) == pytest.approx(130, abs=6)


@BOTH
def test_bonwill_triangle(person):
    """Condyles and lower incisors stand 96 to 110 apart, nearly equilateral (check 15)."""
    # confirmed: Nikolopoulou et al. 2019 (19 mandibles); range 96-110
    found = MAN if person is MEAN_MAN else WOMAN
    base = float(np.linalg.norm(found["hinge-left"] - found["hinge-right"]))
    side = float(np.linalg.norm(found["hinge-left"] - found["lower-incisor-edge"]))
    assert 96 <= side <= 110
    assert side / base == pytest.approx(1.0, abs=0.08)


@BOTH
def test_balkwill_angle(person):
    """The Bonwill plane rises 18 to 28 degrees from the occlusal plane (check 16)."""
    # confirmed: Christensen, quoting Balkwill 26 (22-30), Kohler 21-22, Hart 20, Bergstrom 18
    m = marks(person)
    bonwill = to_frankfort(m["lower-incisor-edge"], m["hinge"])
    edges = (m["upper-incisor-edge"] + m["lower-incisor-edge"]) / 2
    occlusal = to_frankfort(edges, m["upper-first-molar-cusp"])
    assert 18 <= bonwill - occlusal <= 28


@BOTH
def test_hinge_lies_before_and_below_the_porion(person):
    """The hinge axis stands 11 (3) in front of and 4.5 (3) below the porion (check 18)."""
    # CT measured for the project reference (n = 1); arbitrary-axis rules from memory
    hinge = (MAN if person is MEAN_MAN else WOMAN)["hinge-left"]
    assert -hinge[1] == pytest.approx(11, abs=3)
    assert -hinge[2] == pytest.approx(4.5, abs=3)


@BOTH
def test_frankfort_horizontal_is_level(person):
    """Porions and orbitales lie at z = 0 and the porions' midpoint is the origin (check 8)."""
    m = MAN if person is MEAN_MAN else WOMAN
    for name in ("porion-left", "porion-right", "orbitale-left", "orbitale-right"):
        assert m[name][2] == 0.0
    np.testing.assert_array_equal(m["porion-left"] + m["porion-right"], 0.0)
    assert m["orbitale-left"][0] > 0 > m["orbitale-right"][0]


@BOTH
def test_chin_contact_is_skin_below_the_chin(person):
    """The chin rests 7.5 mm of soft tissue below the menton (from memory: Stephan 2008)."""
    menton = (MAN if person is MEAN_MAN else WOMAN)["menton"]
    np.testing.assert_allclose(menton - chin_contact(person), [0, 0, 7.5])


def test_jaw_landmarks_are_landmarks():
    """Every landmark said to move with the jaw exists."""
    assert set(STARTER) >= ON_MANDIBLE


def side_mm(person: Person, one: str, other: str) -> float:
    """Distance of two landmarks of a person (left ones of pairs), seen from the side."""
    m = starter_landmarks(person)
    a, b = (m.get(name, m.get(f"{name}-left")) for name in (one, other))
    return float(np.linalg.norm((a - b)[1:]))


@BOTH
def test_the_mean_heads_are_the_starter_set(person):
    """Sizes of nought leave the starter set as it is."""
    column = 0 if person is MEAN_MAN else 1
    for name, row in STARTER.items():
        found = starter_landmarks(person)
        point = found.get(name, found.get(f"{name}-left"))
        half = row[2][column]
        np.testing.assert_allclose(point, [half, -row[column][0], row[column][1]], atol=1e-9)


# Adults, man and woman: N-Me by ANSUR II's menton-sellion; Co-Gn from memory: McNamara / 1.08.
@BOTH
@pytest.mark.parametrize("deviations", [-1.645, 1.645])
@pytest.mark.parametrize(
    ("measure", "ends", "spread_mm"),
    [
        ("face_height", ("nasion", "menton"), (6.7, 6.1)),
        ("jaw_length", ("condylion", "gnathion"), (6.0, 5.0)),
    ],
)
def test_face_height_and_jaw_length_come_out_as_asked(person, deviations, measure, ends, spread_mm):
    """The 5th and 95th percentile of either length are met to 0.01 mm, the other one stays."""
    other = replace(person, sizes=Sizes(**{measure: deviations}))
    lengths = {("nasion", "menton"), ("condylion", "gnathion")}
    asked = deviations * spread_mm[MEANS.index(person)]
    for pair in lengths:
        change = side_mm(other, *pair) - side_mm(person, *pair)
        assert change == pytest.approx(asked if pair == ends else 0.0, abs=0.01)


@BOTH
def test_nasal_spine_takes_its_share_of_a_long_face(person):
    """N-ANS takes the share of a longer face that the deviations of its parts ask for."""
    # from memory: Burstone COGS 1978 and Riolo / Bolton: 3.2, 3.8, 6 (men); 2.4, 3.3, 5 (women)
    upper, lower, whole = ((3.2, 3.8, 6.0), (2.4, 3.3, 5.0))[MEANS.index(person)]
    share = (whole**2 + upper**2 - lower**2) / 2 / whole**2  # of a regression on the whole
    long = starter_landmarks(replace(person, sizes=Sizes(face_height=1.0)))
    usual = starter_landmarks(person)
    down = {n: (usual[n] - long[n])[2] for n in ("anterior-nasal-spine", "menton")}
    assert down["anterior-nasal-spine"] / down["menton"] == pytest.approx(share, abs=0.005)


def anb_deg(person: Person) -> float:
    """A-N-B with B in the hollow above the chin."""
    column = 0 if person.sex is Sex.MALE else 1
    mean = {name: np.array(row[column], float) for name, row in STARTER.items()}
    plan = facial_plan(person, mean)
    nasion, a = plan["nasion"], plan["a-point"]
    scale = np.linalg.norm(plan["menton"] - plan["pogonion"])
    scale /= np.linalg.norm(mean["menton"] - mean["pogonion"])
    b = plan["pogonion"] + B_FROM_POGONION * scale
    angle = [np.degrees(np.arctan2(*(nasion - point))) for point in (a, b)]
    return float(angle[1] - angle[0])


@BOTH
def test_profiles(person):
    """ANB is 4 degrees more in Class II, 5 less in Class III; overjet 6 to 8 and -1 to -3 mm."""
    # With the 3.0 of the built mean heads (published 2 (3): Steiner 1953) this makes 7 and -2:
    # typical values, from memory.
    for profile, anb, overjet in (
        (Profile.CLASS_II, 4.0, (6.0, 8.0)),
        (Profile.CLASS_III, -5.0, (-3.0, -1.0)),
    ):
        other = replace(person, profile=profile)
        assert anb_deg(other) - anb_deg(person) == pytest.approx(anb, abs=0.05)
        m, mean = starter_landmarks(other), starter_landmarks(person)
        ahead = m["lower-incisor-edge"][1] - m["upper-incisor-edge"][1]
        assert overjet[0] <= ahead <= overjet[1]
        # the lower jaw does most of it, the upper one a little
        chin = abs((m["pogonion"] - mean["pogonion"])[1])
        assert abs((m["a-point"] - mean["a-point"])[1]) < 0.3 * chin
        assert side_mm(other, "nasion", "menton") == pytest.approx(
            side_mm(person, "nasion", "menton"), abs=0.01
        )


@settings(max_examples=60, deadline=None)
@given(people(with_gaps=False))
def test_anyone_has_a_level_frankfort_plane_and_a_hinge_in_place(person):
    """Po and Or lie at z = 0, sides mirror, and the hinge stands where checks 8 and 18 ask."""
    m = starter_landmarks(person)
    for name in ("porion", "orbitale", "hinge", "condylion", "gonion"):
        left, right = m[f"{name}-left"], m[f"{name}-right"]
        np.testing.assert_array_equal(left * [-1, 1, 1], right)
        assert left[0] > 0
    for name in ("porion", "orbitale"):
        assert m[f"{name}-left"][2] == 0.0
    np.testing.assert_allclose(m["porion-left"][1], 0.0)
    assert -m["hinge-left"][1] == pytest.approx(11, abs=3)
    assert -m["hinge-left"][2] == pytest.approx(4.5, abs=3)


@settings(max_examples=60, deadline=None)
@given(people(with_gaps=False))
def test_anyone_has_a_face_in_order(person):
    """From brow to chin and from condyle to chin the landmarks of anyone follow one another."""
    m = starter_landmarks(person)
    order = ["nasion", "anterior-nasal-spine", "a-point", "lower-incisor-edge", "pogonion",
             "gnathion", "menton"]  # fmt: skip
    heights = [m[name][2] for name in order]
    assert heights == sorted(heights, reverse=True)
    assert m["upper-first-molar-cusp-left"][1] > m["upper-incisor-edge"][1] + 20.0
    assert m["posterior-nasal-spine"][1] > m["anterior-nasal-spine"][1] + 30.0
    assert m["gonion-left"][1] > m["menton"][1] + 30.0
    assert m["gonion-left"][2] < m["condylion-left"][2] - 30.0


def test_only_head_measures_move_landmarks():
    """Crowns, roots, neck, adult age and what is worn leave the landmarks alone."""
    other = Person(
        age_years=70,
        sizes=Sizes(tooth_size=2.0, root_length=-2.0, neck_girth=2.0),
        posture=Posture(1.0, -2.0, 30.0),
        worn=(Worn.EARRINGS,),
    )
    found = starter_landmarks(other)
    for name, point in starter_landmarks(MEAN_MAN).items():
        np.testing.assert_array_equal(found[name], point)
