"""The teeth in place: arches, contacts, bite and angles against published figures.

Widths and heights are measured on crown meshes (0.4 mm grid) or on root axes, not read from the
tables that placed the teeth. Numbers from the project's reference figures carry their source.
"""

import numpy as np
import pytest

from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.teeth.dentition import (
    MEAN_ROOT_MM,
    MEAN_WIDTH_MM,
    Tooth,
    dentition,
    occlusal_plane,
    stretch_of,
)
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, MEANS, Mouth, Person, Sex, Sizes

Teeth = dict[int, Tooth]
Points = dict[int, np.ndarray]
LEFT = [f for f in ALL_TEETH if f // 10 in (2, 3)]
NEIGHBOURS = [(f, f + 1) for f in LEFT if f % 10 < 8]


@pytest.fixture(scope="module")
def teeth() -> Teeth:
    """The man's teeth by number."""
    return {t.fdi: t for t in dentition(MEAN_MAN)}


@pytest.fixture(scope="module")
def crowns(teeth: Teeth) -> Points:
    """Surface points of the left crowns [mm]."""
    return {f: surface(teeth[f].crown, 0.4).vertices_mm for f in LEFT}


def _own(tooth: Tooth, points_mm: np.ndarray) -> np.ndarray:
    """The points in the tooth's coordinates, mesial positive."""
    sign = 1.0 if tooth.fdi // 10 in (1, 3) else -1.0
    return (points_mm - tooth.origin_mm) @ tooth.rotation * [sign, 1.0, 1.0]


def _tip(tooth: Tooth, points_mm: np.ndarray, mesial: bool | None = None) -> np.ndarray:
    """The most occlusal point of the buccal half, or of its mesial or distal quarter."""
    own = _own(tooth, points_mm)
    keep = own[:, 1] > 0 if tooth.fdi % 10 > 3 else np.ones(len(own), bool)
    if mesial is not None:
        keep &= own[:, 0] > 0.8 if mesial else (own[:, 0] < 0.4) & (own[:, 0] > -2.2)
    return points_mm[keep][np.argmax(own[keep, 2])]


def _edge(tooth: Tooth, points_mm: np.ndarray) -> np.ndarray:
    """The middle of an incisal edge."""
    own = _own(tooth, points_mm)
    return points_mm[own[:, 2] > own[:, 2].max() - 0.3].mean(axis=0)


def _in_plane(points_mm: np.ndarray, person: Person = MEAN_MAN) -> np.ndarray:
    """Left, back and up along the occlusal plane."""
    plane = occlusal_plane(person)
    return (points_mm - plane.origin_mm) @ plane.rotation


@pytest.mark.parametrize("person", MEANS)
def test_order_frames_and_rotations(person: Person) -> None:
    """32 teeth in FDI order, upper ones on the skull, lower ones on the mandible, axes proper."""
    found = dentition(person)
    assert tuple(t.fdi for t in found) == ALL_TEETH
    for t in found:
        assert t.frame is (Frame.SKULL if t.fdi < 30 else Frame.MANDIBLE)
        np.testing.assert_allclose(t.rotation @ t.rotation.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(t.rotation) == pytest.approx(1.0)


@pytest.mark.parametrize("person", MEANS)
def test_right_teeth_have_negative_x(person: Person) -> None:
    """Quadrants 1 and 4 are on the patient's right, which is negative x."""
    # ISO 3950; DICOM PS3.3 C.7.6.2.1.1
    for t in dentition(person):
        assert (t.origin_mm[0] < 0) == (t.fdi // 10 in (1, 4))


def test_right_is_the_mirror_of_left(teeth: Teeth) -> None:
    """Right teeth and their roots are the exact mirror images of the left ones."""
    rng = np.random.default_rng(7)
    mirror = np.array([-1.0, 1.0, 1.0])
    for right, left in [(10, 20), (40, 30)]:
        for n in range(1, 9):
            a, b = teeth[right + n], teeth[left + n]
            p = b.origin_mm + rng.uniform(-8.0, 8.0, (200, 3))
            np.testing.assert_allclose(a.solid(p * mirror), b.solid(p), atol=1e-9)
            for ra, rb in zip(a.roots, b.roots, strict=True):
                assert ra.name == rb.name
                np.testing.assert_allclose(ra.axis_mm * mirror, rb.axis_mm, atol=1e-9)


def test_both_sexes_have_the_same_arches(teeth: Teeth) -> None:
    """The woman's teeth are the man's, moved rigidly."""
    woman = {t.fdi: t for t in dentition(MEAN_WOMAN)}
    for f in ALL_TEETH:
        man_point = _in_plane(teeth[f].origin_mm, MEAN_MAN)
        np.testing.assert_allclose(_in_plane(woman[f].origin_mm, MEAN_WOMAN), man_point, atol=1e-9)


def test_incisal_edges_stand_at_the_landmarks(teeth: Teeth, crowns: Points) -> None:
    """From the side, both incisal edges lie within 0.7 mm of the starter landmarks."""
    marks = starter_landmarks(MEAN_MAN)
    for f, name in [(21, "upper-incisor-edge"), (31, "lower-incisor-edge")]:
        off = _edge(teeth[f], crowns[f]) - marks[name]
        assert np.hypot(off[1], off[2]) < 0.7


def test_overjet_and_overbite(teeth: Teeth, crowns: Points) -> None:
    """Overjet and overbite along the occlusal plane are 2.5 (SD 1) mm."""
    # from memory: orthodontic textbooks
    upper, lower = (_in_plane(_edge(teeth[f], crowns[f])) for f in (21, 31))
    assert lower[1] - upper[1] == pytest.approx(2.5, abs=1.0)
    assert lower[2] - upper[2] == pytest.approx(2.5, abs=1.0)


@pytest.mark.parametrize(
    ("fdi", "width_mm", "within_mm"),
    [
        # Class I arch-width study, n = 76 (abstract), canine cusp tips and first-molar cusps
        (23, 35.4, 2.5),
        (33, 26.9, 2.5),
        (26, 53.8, 3.5),
        (36, 51.7, 3.5),
    ],
)
def test_arch_widths(
    teeth: Teeth, crowns: Points, fdi: int, width_mm: float, within_mm: float
) -> None:
    """Widths between canine tips and between mesiobuccal first-molar cusps are as published."""
    tip = _tip(teeth[fdi], crowns[fdi], mesial=True if fdi % 10 == 6 else None)
    assert 2.0 * tip[0] == pytest.approx(width_mm, abs=within_mm)


@pytest.mark.parametrize(("fdi", "depth_mm", "sd_mm"), [(26, 31.6, 2.9), (36, 28.1, 2.6)])
def test_arch_depths(teeth: Teeth, crowns: Points, fdi: int, depth_mm: float, sd_mm: float) -> None:
    """From the incisal edges to the first molars' distal faces is as published, within 1 SD."""
    # Mina et al., Odontology 2017 (n = 54, 12 to 16 years). Which point of the molar was meant is
    # not stated where we read it; mean crown widths add up to 36 mm at the lower buccal groove, so
    # that 28 mm of depth there would need a straight row of teeth. Distal faces are assumed.
    own = _own(teeth[fdi], crowns[fdi])
    face = crowns[fdi][np.argmin(own[:, 0])]
    edge = _edge(teeth[fdi - 5], crowns[fdi - 5])
    assert _in_plane(face)[1] - _in_plane(edge)[1] == pytest.approx(depth_mm, abs=sd_mm)


@pytest.mark.parametrize("person", MEANS)
def test_occlusal_cant(person: Person) -> None:
    """The bite, molar cusps to incisal edges, runs 8 (SD 4) degrees down to the front."""
    # "8 plus/minus 4, adults": general dental reference page; Downs 9.3; 7.73: Iwate Dental Journal
    found = {t.fdi: t for t in dentition(person)}
    points = {f: surface(found[f].crown, 0.6).vertices_mm for f in (21, 31, 26, 36)}
    front = (_edge(found[21], points[21]) + _edge(found[31], points[31])) / 2
    back = (_tip(found[26], points[26], mesial=True) + _tip(found[36], points[36], mesial=True)) / 2
    cant = np.degrees(np.arctan2(back[2] - front[2], back[1] - front[1]))
    assert cant == pytest.approx(8.0, abs=4.0)


@pytest.mark.parametrize("person", MEANS)
def test_incisor_angles(person: Person) -> None:
    """Upper incisors stand 110 degrees to Frankfort, lower 91 to the mandibular plane (SD 5)."""
    # from memory: Steiner, Ricketts; Downs, Tweed. Long axis from apex to the middle of the edge.
    found, marks = {t.fdi: t for t in dentition(person)}, starter_landmarks(person)

    def axis(fdi: int) -> np.ndarray:
        tooth = found[fdi]
        way = _edge(tooth, surface(tooth.crown, 0.6).vertices_mm) - tooth.roots[0].axis_mm[-1]
        return np.array([-way[1], way[2]])  # forward, up

    f, u = axis(21)
    assert np.degrees(np.arctan2(f, -u)) + 90.0 == pytest.approx(110.0, abs=5.0)
    plane = marks["menton"] - (marks["gonion-left"] + marks["gonion-right"]) / 2
    plane = np.array([plane[1], -plane[2]])  # from menton back to gonion, forward and up
    way = axis(31)
    cosine = way @ plane / np.linalg.norm(way) / np.linalg.norm(plane)
    assert np.degrees(np.arccos(cosine)) == pytest.approx(91.0, abs=5.0)


@pytest.mark.parametrize(("front", "back"), NEIGHBOURS)
def test_neighbouring_crowns_touch(teeth: Teeth, crowns: Points, front: int, back: int) -> None:
    """Neighbouring crowns are within 0.3 mm of contact, neither apart nor overlapping."""
    gap = min(teeth[back].crown(crowns[front]).min(), teeth[front].crown(crowns[back]).min())
    assert abs(gap) < 0.3


def test_crowns_touch_in_the_midline(teeth: Teeth, crowns: Points) -> None:
    """The central incisors of both jaws meet in the midline within 0.3 mm."""
    for f in (21, 31):
        assert abs(2.0 * crowns[f][:, 0].min()) < 0.3


def test_upper_and_lower_crowns_meet(teeth: Teeth, crowns: Points) -> None:
    """Upper and lower crowns do not interpenetrate by 0.3 mm, and all upper back teeth touch."""
    for f in range(21, 29):
        near = [g for g in LEFT if g > 30 and abs(g % 10 - f % 10) <= 1]
        gaps = [min(teeth[g].crown(crowns[f]).min(), teeth[f].crown(crowns[g]).min()) for g in near]
        assert min(gaps) > -0.3, f
        if f > 23:
            assert min(gaps) < 0.3, f


def test_roots_keep_apart(teeth: Teeth) -> None:
    """Between the roots of neighbours there is room for bone and two ligaments, 0.5 mm or more."""
    # ligament space 0.15 to 0.38 mm each (from memory: periodontology textbooks)
    for front, back in NEIGHBOURS:
        v = surface(teeth[front].solid, 0.6).vertices_mm
        roots = v[_own(teeth[front], v)[:, 2] < -3.0]
        assert teeth[back].solid(roots).min() > 0.5, (front, back)


def test_curve_of_spee(teeth: Teeth, crowns: Points) -> None:
    """The lower buccal cusps dip 2.2 (0.8) mm below a line from the edges to the second molar."""
    # Marshall et al., AJO-DO 2008: 2.17 at 12.4 years, then nearly constant; from edge to the
    # second molar's distal cusp
    edge = _in_plane(_edge(teeth[31], crowns[31]))
    last = _in_plane(_tip(teeth[37], crowns[37], mesial=False))
    between = [_in_plane(_tip(teeth[f], crowns[f])) for f in (34, 35, 36)]
    slope = (last[2] - edge[2]) / (last[1] - edge[1])
    depth = max(edge[2] + slope * (b[1] - edge[1]) - b[2] for b in between)
    assert depth == pytest.approx(2.2, abs=0.8)


def test_class_one_molars(teeth: Teeth, crowns: Points) -> None:
    """The upper mesiobuccal first-molar cusp bites at the lower buccal groove, within 1.5 mm."""
    # Angle's Class I; 1.5 mm is a quarter of a premolar's width (common practice, no source)
    cusp = _in_plane(_tip(teeth[26], crowns[26], mesial=True))
    lower = [_in_plane(_tip(teeth[36], crowns[36], mesial=m)) for m in (True, False)]
    assert cusp[1] == pytest.approx((lower[0][1] + lower[1][1]) / 2, abs=1.5)


def test_upper_cusps_overlap_the_lower_cheekwards(teeth: Teeth, crowns: Points) -> None:
    """Behind the canines the upper buccal cusps stand 1 to 4.5 mm outside the lower ones."""
    # common anatomy of a normal bite, no source for the figures
    for n in (4, 5, 6, 7):
        upper, lower = _tip(teeth[20 + n], crowns[20 + n]), _tip(teeth[30 + n], crowns[30 + n])
        assert 1.0 < upper[0] - lower[0] < 4.5, n


def test_third_molars_fit(teeth: Teeth, crowns: Points) -> None:
    """Lower third molars end before the front of the ramus, upper ones before the palate's end."""
    # ramus width 31.3: Head & Face Medicine 2020 (150 rami); its rear border at articulare
    marks = starter_landmarks(MEAN_MAN)
    ramus_front = marks["articulare-left"][1] - 31.3
    assert crowns[38][:, 1].max() < ramus_front
    assert crowns[28][:, 1].max() < marks["posterior-nasal-spine"][1]


def test_apices_lie_in_the_jaws(teeth: Teeth) -> None:
    """Lower apices end above the jaw's lower border, upper ones below the palate's line."""
    # lower border: menton to gonion; palate: front to rear nasal spine
    marks = starter_landmarks(MEAN_MAN)
    front, rear = marks["anterior-nasal-spine"], marks["posterior-nasal-spine"]
    menton, gonion = marks["menton"], marks["gonion-left"]
    for t in teeth.values():
        for root in t.roots:
            apex = root.axis_mm[-1]
            if t.fdi < 30:
                along = (apex[1] - front[1]) / (rear[1] - front[1])
                assert apex[2] < front[2] + along * (rear[2] - front[2]) - 1.0, t.fdi
            else:
                share = (apex[1] - menton[1]) / (gonion[1] - menton[1])
                border = menton[2] + share * (gonion[2] - menton[2])
                assert apex[2] > border + 6.0, t.fdi


def test_spread_of_sizes() -> None:
    """One SD is 0.5 mm of mesiodistal width and 1.75 mm of root length in the mean tooth."""
    # 0.5 and 1.5 to 2: Ash & Nelson, from memory
    crown, root = stretch_of(Sizes(tooth_size=1.0, root_length=-1.0))
    assert (crown - 1.0) * MEAN_WIDTH_MM == pytest.approx(0.5)
    assert (root - 1.0) * MEAN_ROOT_MM == pytest.approx(-1.75)
    assert pytest.approx(7.9, abs=0.1) == MEAN_WIDTH_MM
    assert pytest.approx(13.5, abs=0.5) == MEAN_ROOT_MM


def test_stretched_teeth_follow_their_model() -> None:
    """A point of the standard model lies as deep in the stretched tooth as the rule says."""
    person = Person(sizes=Sizes(tooth_size=2.0, root_length=-2.0))
    rng = np.random.default_rng(4)
    for tooth in dentition(person):
        model, (crown, root) = tooth.model, tooth.stretch
        own = rng.uniform(model.solid.lower_mm, model.solid.upper_mm, (400, 3))
        moved = own * crown
        moved[:, 2] = np.where(own[:, 2] < 0.0, own[:, 2] * root, moved[:, 2])
        if tooth.fdi // 10 % 2 == 0:
            moved[:, 0] *= -1.0
        there = moved @ tooth.rotation.T + tooth.origin_mm
        np.testing.assert_array_equal(tooth.solid(there) < -1e-9, model.solid(own) < -1e-9)


def test_large_teeth_scale_the_arch() -> None:
    """With crowns larger by a factor the whole arch is larger by it, about the incisal point."""
    large = Person(sizes=Sizes(tooth_size=2.0))
    factor = stretch_of(large.sizes)[0]
    for a, b in zip(dentition(MEAN_MAN), dentition(large), strict=True):
        np.testing.assert_allclose(
            _in_plane(b.origin_mm), factor * _in_plane(a.origin_mm), atol=1e-9
        )


def test_age_posture_and_things_worn_change_no_tooth() -> None:
    """Grown people of the same sizes have the very same teeth."""
    assert dentition(Person(age_years=25))[5] is dentition(Person(age_years=80))[5]


def test_missing_teeth_do_not_exist() -> None:
    """A missing tooth is left out and the others stay."""
    person = Person(mouth=Mouth(missing=(18, 36)))
    assert tuple(t.fdi for t in dentition(person)) == tuple(
        f for f in ALL_TEETH if f not in (18, 36)
    )
    assert dentition(person)[0] is dentition(MEAN_MAN)[0]


@pytest.mark.parametrize("age", [6, 9, 12])
def test_a_mixed_dentition_is_all_there(age: int) -> None:
    """In a child every place but the third molar's has a tooth or a germ, and numbers ascend."""
    found = [t.fdi for t in dentition(Person(Sex.FEMALE, age))]
    assert found == sorted(found)
    assert {f for f in ALL_TEETH if f % 10 < 8} <= set(found)
