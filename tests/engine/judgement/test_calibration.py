"""Predictions beside what came of them; the expected numbers are worked out by hand."""

from __future__ import annotations

import pytest
from helpers.appointments import CLEAN_RUN, act, doing, play, without
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.judgement.calibration import (
    Calibration,
    Compared,
    calibration,
    compare,
    compared,
)
from trainer.engine.judgement.score import score
from trainer.models import appointment_commands as do
from trainer.models.learning import Prediction

ASKED = ("a", "b", "c", "d")


def test_one_prediction_by_hand():
    """90 said, 72.5 reached: 17.5 too hopeful. b was cut unseen, d held though called cut."""
    said = Prediction(frozenset({"c", "d"}), 90, True)
    found = compared(said, 72.5, ASKED, frozenset({"a", "d"}), False)
    assert found == Compared(17.5, 2, 4, False)


def test_without_an_image_only_the_percent_is_compared():
    """Nothing was inside or cut, and nothing acceptable or not."""
    said = Prediction(frozenset(), 50, True)
    assert compared(said, 60.0, ASKED, frozenset(), None) == Compared(-10.0, 0, 0, None)


def test_a_series_by_hand():
    """Means over attempts for points, over structures for in and cut, over images for grades."""
    series = [Compared(20.0, 3, 4, True), Compared(-5.0, 1, 1, False), Compared(0.0, 0, 0, None)]
    found = calibration(series)
    assert found == Calibration(3, 5.0, 0.8, 0.5)


def test_no_predictions_show_nothing():
    """An empty series has no calibration, and one without images no shares."""
    assert calibration([]) is None
    assert calibration([Compared(1.0, 0, 0, None)]) == Calibration(1, 1.0, None, None)


@pytest.mark.parametrize(
    ("cut", "acceptable", "right", "grade"),
    [(frozenset(), True, 5, True), (frozenset({"tooth-48"}), False, 4, False)],
)
def test_a_prediction_beside_a_real_attempt(cut, acceptable, right, grade):
    """Of five structures that were all held, those called cut were wrongly called so."""
    found = compare(Prediction(cut, 80, acceptable), score(play(CLEAN_RUN)[0]))
    assert found == Compared(-20.0, right, 5, grade)


def test_what_is_cut_and_was_called_cut_is_right():
    """A chin rest too high: the structures that were not held, named before the reveal."""
    acts = without(CLEAN_RUN, doing(do.Adjust, values={"chin_height_mm": -28.0}))
    state = play([*acts, act(do.Predict, prediction=Prediction(frozenset(), 0, False))])[0]
    found = score(state)
    cut = frozenset(found.required) - found.held
    assert cut
    assert compare(Prediction(cut, 0, False), found).right == len(found.required)
    assert compare(Prediction(frozenset(), 0, False), found).right == len(found.held)


SETS = st.frozensets(st.sampled_from(ASKED))


@given(SETS, SETS, st.integers(0, 100), st.floats(0.0, 100.0), st.booleans(), st.booleans())
def test_a_right_prediction_is_right_and_its_contrary_wrong(cut, held, said, got, a, b):
    """Saying the contrary of every structure and grade turns every right into a wrong."""
    one = compared(Prediction(cut, said, a), got, ASKED, held, b)
    other = compared(Prediction(frozenset(ASKED) - cut, said, not a), got, ASKED, held, b)
    assert one.right + other.right == len(ASKED)
    assert one.acceptable_right is not other.acceptable_right
    assert one.off_points == other.off_points == pytest.approx(said - got, abs=0.051)
