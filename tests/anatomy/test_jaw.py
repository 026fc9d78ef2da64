"""Tests of the opening of the jaw against published ranges and the geometry of the hinge."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.anatomy.jaw import (
    LONGEST_PATH_MM,
    GapOutOfRange,
    JawModel,
    condyle_slide,
    gap_at,
    mandible_to_skull,
)
from trainer.anatomy.landmarks import starter_landmarks
from trainer.errors import TrainerError
from trainer.geometry.transforms import apply
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, MEANS, Person

sexes = st.sampled_from(MEANS)
models: st.SearchStrategy[JawModel] = st.sampled_from(["hinge", "free"])
gaps_mm = st.floats(0.0, 45.0)


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
