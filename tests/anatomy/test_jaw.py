"""The motion of the jaw against published ranges and the geometry of hinge and eminence."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import people

from trainer.anatomy.jaw import (
    LONGEST_PATH_MM,
    GapOutOfRange,
    JawModel,
    JawOutOfRange,
    JawPosition,
    condyle_slide,
    gap_at,
    jaw_to_skull,
    mandible_to_skull,
)
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.errors import TrainerError
from trainer.geometry.transforms import apply
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, MEANS, Person

sexes = st.sampled_from(MEANS)
models: st.SearchStrategy[JawModel] = st.sampled_from(["hinge", "free"])
gaps_mm = st.floats(0.0, 45.0)
# within these every combination is within the condyles' path, whatever the model
slid_positions = st.builds(
    JawPosition, st.floats(0.0, 12.0), st.floats(0.1, 5.0), st.floats(-4.0, 4.0), models
)


def turned_deg(person: Person, gap_mm: float, model: JawModel = "hinge") -> float:
    """How far the jaw has turned, opening positive [deg]."""
    r = mandible_to_skull(person, gap_mm, model).rotation
    return float(np.degrees(np.arctan2(r[2, 1], r[1, 1])))


@given(sexes, gaps_mm, models)
def test_the_gap_is_the_way_of_the_incisor_edge(
    person: Person, gap_mm: float, model: JawModel
) -> None:
    """The lower incisor edge moves by the gap that was asked for, in a straight line."""
    edge = starter_landmarks(person)["lower-incisor-edge"]
    way = np.linalg.norm(apply(mandible_to_skull(person, gap_mm, model), edge) - edge)
    assert way == pytest.approx(gap_mm, abs=1e-6)


@given(sexes, st.floats(1.0, 45.0), models)
def test_opening_leads_down_and_back(person: Person, gap_mm: float, model: JawModel) -> None:
    """The incisors go down and back when the mouth opens."""
    edge = starter_landmarks(person)["lower-incisor-edge"]
    moved = apply(mandible_to_skull(person, gap_mm, model), edge) - edge
    assert moved[2] < 0
    assert moved[1] > 0


@given(sexes, gaps_mm, models)
def test_condyles_keep_their_distance(person: Person, gap_mm: float, model: JawModel) -> None:
    """The condyles stay as far apart as they were, within 0.01 mm, and level."""
    marks = starter_landmarks(person)
    both = np.array([marks["hinge-left"], marks["hinge-right"]])
    left, right = apply(mandible_to_skull(person, gap_mm, model), both)
    apart = np.linalg.norm(both[0] - both[1])
    assert np.linalg.norm(left - right) == pytest.approx(apart, abs=0.01)
    assert left[2] == pytest.approx(right[2], abs=1e-9)


@pytest.mark.parametrize(("person", "expected"), [(MEAN_MAN, 6.1), (MEAN_WOMAN, 6.6)])
def test_ten_millimetres_about_the_hinge(person: Person, expected: float) -> None:
    """A hinge opening of 10 mm turns the jaw by 6.1-6.6 degrees, within 0.7 (geometry)."""
    assert turned_deg(person, 10.0) == pytest.approx(expected, abs=0.7)


@pytest.mark.parametrize("model", ["hinge", "free"])
@pytest.mark.parametrize("person", MEANS)
def test_wide_opening_turns_as_measured(person: Person, model: JawModel) -> None:
    """An opening of 44 mm turns the jaw by 32 (6) degrees.

    32.2 (6.0) at 44.3 mm: Kordass et al., Int. J. Comput. Dent. 2014, 259 people.
    """
    assert turned_deg(person, 44.0, model) == pytest.approx(32.0, abs=6.0)


@pytest.mark.parametrize("person", MEANS)
def test_wide_opening_slides_as_measured(person: Person) -> None:
    """At 44 mm the condyle has gone 14.5 (4.2) mm, down and forward.

    Kordass et al., Int. J. Comput. Dent. 2014.
    """
    hinge = starter_landmarks(person)["hinge-left"]
    slid = apply(mandible_to_skull(person, 44.0), hinge) - hinge
    assert np.linalg.norm(slid) == pytest.approx(14.5, abs=4.2)
    assert slid[1] < 0
    assert slid[2] < 0


@given(sexes, st.floats(0.0, 17.2))
def test_small_openings_are_pure_hinge(person: Person, gap_mm: float) -> None:
    """Up to 17.2 mm the condyles stay where they are (Woelfel et al. 2014)."""
    hinge = starter_landmarks(person)["hinge-left"]
    moved = apply(mandible_to_skull(person, gap_mm), hinge)
    np.testing.assert_allclose(moved, hinge, rtol=0, atol=1e-9)


def test_first_slide_follows_the_condylar_path() -> None:
    """The slide begins at 35-45 degrees to the Frankfort plane and never exceeds 14.5 mm.

    Slope from memory: articulator literature; length: Kordass et al. 2014.
    """
    early = condyle_slide(24.0)
    assert 35.0 <= np.degrees(np.arctan2(-early[2], -early[1])) <= 45.0
    assert np.linalg.norm(condyle_slide(45.0)) <= LONGEST_PATH_MM


def test_drop_of_the_condyle_is_the_eminence() -> None:
    """The whole path leads down by the eminence's height, 7 (1.5) mm (from memory)."""
    assert -condyle_slide(45.0)[2] == pytest.approx(7.0, abs=1.5)


@pytest.mark.parametrize("model", ["hinge", "free"])
@pytest.mark.parametrize("person", MEANS)
def test_opening_is_steady(person: Person, model: JawModel) -> None:
    """Angle and drop grow with the gap, without jumps, from a closed jaw at rest."""
    gaps = np.linspace(0.0, 45.0, 451)
    edge = starter_landmarks(person)["lower-incisor-edge"]
    angle = np.array([turned_deg(person, g, model) for g in gaps])
    drop = np.array([gap_at(person, g, edge, model) for g in gaps])
    assert angle[0] == 0.0
    assert drop[0] == 0.0
    assert np.all(np.diff(angle) > 0)
    assert np.all(np.diff(drop) > 0)
    # 0.1 mm of gap: never more than 0.15 degrees
    assert np.diff(angle).max() < 0.15
    for a, b in ((17.2, 17.2 + 1e-6), (0.0, 1e-6)):
        first, then = mandible_to_skull(person, a, model), mandible_to_skull(person, b, model)
        np.testing.assert_allclose(first.translation_mm, then.translation_mm, rtol=0, atol=1e-4)
        np.testing.assert_allclose(first.rotation, then.rotation, rtol=0, atol=1e-6)


@pytest.mark.parametrize("person", MEANS)
def test_free_opening_turns_about_a_low_centre(person: Person) -> None:
    """In the free model the point 32.4 below the condyle stays still.

    Mehl et al., Clin. Oral Investig. 2025; 0.2 behind.
    """
    centre = starter_landmarks(person)["hinge-left"] + np.array([0.0, 0.2, -32.4])
    moved = apply(mandible_to_skull(person, 9.5, "free"), centre)
    np.testing.assert_allclose(moved, centre, rtol=0, atol=1e-9)


@pytest.mark.parametrize("person", MEANS)
def test_molars_open_less_than_incisors(person: Person) -> None:
    """Nearer to the hinge the gap is smaller, in the ratio of the distances ahead of it."""
    marks = starter_landmarks(person)
    hinge, edge = marks["hinge-left"], marks["lower-incisor-edge"]
    molar = marks["upper-first-molar-cusp-left"]
    ratio = gap_at(person, 0.1, molar) / gap_at(person, 0.1, edge)
    assert ratio == pytest.approx((hinge[1] - molar[1]) / (hinge[1] - edge[1]), abs=1e-3)


def test_frames_are_named() -> None:
    """The transform leads from the mandible to the skull and is nothing when the jaw is shut."""
    shut = mandible_to_skull(MEAN_MAN, 0.0)
    assert (shut.source, shut.target) == (Frame.MANDIBLE, Frame.SKULL)
    np.testing.assert_allclose(shut.rotation, np.eye(3), rtol=0, atol=1e-12)
    np.testing.assert_allclose(shut.translation_mm, 0.0, rtol=0, atol=1e-12)


@pytest.mark.parametrize("gap_mm", [-0.1, 45.1, float("nan")])
def test_impossible_openings_are_refused(gap_mm: float) -> None:
    """An opening outside 0 to 45 mm is an error that names the range."""
    with pytest.raises(GapOutOfRange, match="0 to 45") as caught:
        mandible_to_skull(MEAN_MAN, gap_mm)
    assert isinstance(caught.value, TrainerError)
    assert isinstance(caught.value, ValueError)


def ways(person: Person, position: JawPosition) -> dict[str, np.ndarray]:
    """How far hinge points and incisor edge have gone from the opened jaw [mm]."""
    marks = starter_landmarks(person)
    opened = mandible_to_skull(person, position.gap_mm, position.model)
    moved = jaw_to_skull(person, position)
    names = ("hinge-left", "hinge-right", "lower-incisor-edge")
    return {n: apply(moved, marks[n]) - apply(opened, marks[n]) for n in names}


@given(sexes, gaps_mm, models)
def test_a_position_without_slide_is_the_opening(
    person: Person, gap_mm: float, model: JawModel
) -> None:
    """Without protrusion and shift the jaw stands where the opening puts it, exactly."""
    position = jaw_to_skull(person, JawPosition(gap_mm, model=model))
    opened = mandible_to_skull(person, gap_mm, model)
    np.testing.assert_array_equal(position.rotation, opened.rotation)
    np.testing.assert_array_equal(position.translation_mm, opened.translation_mm)


@given(people(), slid_positions)
def test_condyles_keep_their_distance_when_they_slide(
    person: Person, position: JawPosition
) -> None:
    """The condyles stay as far apart as they were, wherever the jaw goes, within 0.01 mm."""
    marks = starter_landmarks(person)
    both = np.array([marks["hinge-left"], marks["hinge-right"]])
    left, right = apply(jaw_to_skull(person, position), both)
    apart = np.linalg.norm(both[0] - both[1])
    assert np.linalg.norm(left - right) == pytest.approx(apart, abs=0.01)


@given(sexes, st.floats(0.0, 15.0), st.floats(0.1, 9.0))
def test_protrusion_leads_the_incisors_forward(person: Person, gap_mm: float, mm: float) -> None:
    """The incisor edge goes forward by what was asked, straight, at its height."""
    way = ways(person, JawPosition(gap_mm, mm))["lower-incisor-edge"]
    np.testing.assert_allclose(way, [0.0, -mm, 0.0], rtol=0, atol=1e-6)


@given(people(), slid_positions)
def test_a_shift_leads_the_incisors_aside(person: Person, position: JawPosition) -> None:
    """The incisor edge goes to the side by what was asked and keeps its height."""
    way = ways(person, position)["lower-incisor-edge"]
    assert way[0] == pytest.approx(position.lateral_mm, abs=1e-6)
    assert way[2] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("person", MEANS)
@pytest.mark.parametrize("position", [JawPosition(3.0, 8.0), JawPosition(3.0, 0.0, 9.3)], ids=str)
def test_the_mean_excursions_are_within_reach(person: Person, position: JawPosition) -> None:
    """Protrusion 8.0 mm and side excursion 9.2-9.4 mm need no more than the condyle's own path.

    Woelfel et al., J. Adv. Prosthodont. 2014; the condyles' longest path is 14.5 mm (Kordass 2014).
    """
    found = ways(person, position)
    for side in ("hinge-left", "hinge-right"):
        assert np.linalg.norm(found[side]) < LONGEST_PATH_MM
    assert max(np.linalg.norm(found[s]) for s in ("hinge-left", "hinge-right")) > 5.0


@given(sexes, st.floats(0.0, 15.0), st.floats(0.5, 6.0))
def test_the_drop_of_the_condyles_follows_the_eminence(
    person: Person, gap_mm: float, mm: float
) -> None:
    """In protrusion both condyles go down at 35-45 degrees to the Frankfort plane.

    Over the first 5-7 mm (from memory: articulator literature).
    """
    found = ways(person, JawPosition(gap_mm, mm))
    np.testing.assert_allclose(found["hinge-left"], found["hinge-right"], rtol=0, atol=1e-9)
    _, forward, up = found["hinge-left"]
    assert 35.0 <= np.degrees(np.arctan2(-up, -forward)) <= 45.0


@given(sexes, st.floats(1.0, 5.0), st.sampled_from([-1.0, 1.0]))
def test_the_balancing_condyle_goes_down_forward_and_inward(
    person: Person, mm: float, side: float
) -> None:
    """The condyle away from the shift slides at 35-45 degrees down and 7.5-15 degrees inward.

    The working condyle stays on its height and depth and moves out by at most 1.5 mm. All from
    memory: articulator literature (condylar path, Bennett angle, side shift).
    """
    found = ways(person, JawPosition(5.0, 0.0, side * mm))
    working, balancing = (
        ("hinge-left", "hinge-right") if side > 0 else ("hinge-right", "hinge-left")
    )
    across, back, up = found[balancing]
    assert 35.0 <= np.degrees(np.arctan2(-up, -back)) <= 45.0
    assert 7.5 <= np.degrees(np.arctan2(side * across, -back)) <= 15.0
    np.testing.assert_allclose(found[working][1:], 0.0, rtol=0, atol=1e-9)
    assert 0.0 < side * found[working][0] < 1.5


@pytest.mark.parametrize("person", MEANS)
def test_the_border_path_of_the_incisors_is_a_gothic_arch(person: Person) -> None:
    """Shifts to both sides draw a pointed arch of 120 (10) degrees (from memory)."""
    left, right = (
        ways(person, JawPosition(3.0, 0.0, mm))["lower-incisor-edge"] for mm in (9.3, -9.3)
    )
    cosine = left[:2] @ right[:2] / np.linalg.norm(left[:2]) / np.linalg.norm(right[:2])
    assert np.degrees(np.arccos(cosine)) == pytest.approx(120.0, abs=10.0)


@given(people(), slid_positions)
def test_left_and_right_are_mirror_images(person: Person, position: JawPosition) -> None:
    """A shift to the right is the shift to the left seen in a mirror."""
    other = JawPosition(
        position.gap_mm, position.protrusion_mm, -position.lateral_mm, position.model
    )
    flip = np.diag([-1.0, 1.0, 1.0])
    one, two = jaw_to_skull(person, position), jaw_to_skull(person, other)
    np.testing.assert_allclose(flip @ one.rotation @ flip, two.rotation, rtol=0, atol=1e-9)
    np.testing.assert_allclose(flip @ one.translation_mm, two.translation_mm, rtol=0, atol=1e-7)


@pytest.mark.parametrize("person", MEANS)
def test_protrusion_parts_the_back_teeth(person: Person) -> None:
    """In protrusion the molars come apart while the front teeth keep their gap (Christensen 1905).

    The condyles' drop tips the jaw; from memory: prosthodontic textbooks.
    """
    molar = starter_landmarks(person)["upper-first-molar-cusp-left"]
    opened = apply(mandible_to_skull(person, 3.0), molar)
    assert apply(jaw_to_skull(person, JawPosition(3.0, 6.0)), molar)[2] < opened[2] - 0.5


def test_slides_beyond_the_eminence_are_refused() -> None:
    """At a wide opening the condyles have little path left; the message says how much."""
    with pytest.raises(JawOutOfRange, match=r"condyles have 0\.0 mm of path left") as caught:
        jaw_to_skull(MEAN_MAN, JawPosition(45.0, 5.0))
    assert isinstance(caught.value, TrainerError)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((46.0, 0.0, 0.0), "mouth opening 46.0 mm: 0 to 45"),
        ((0.0, -1.0, 0.0), "protrusion -1.0 mm: 0 to 10"),
        ((0.0, 0.0, 10.5), "lateral shift 10.5 mm: -10 to 10"),
        ((0.0, 0.0, float("nan")), "lateral shift nan mm: -10 to 10"),
    ],
)
def test_impossible_positions_are_refused(values: tuple[float, ...], words: str) -> None:
    """A value out of its range is an error that names value and range."""
    with pytest.raises(JawOutOfRange, match=words):
        JawPosition(*values)
