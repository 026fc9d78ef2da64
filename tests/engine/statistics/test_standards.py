"""Pass marks: judges' estimates and borderline regression."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.engine.statistics.standards import SPACED_RATINGS, angoff, borderline_regression
from trainer.errors import NotValid

RATINGS = [1, 1, 2, 2, 2, 3, 3, 3, 3, 4, 4, 5]
SCORES = [9, 11, 13, 14, 12, 16, 17, 15, 18, 19, 20, 23]  # of 24


def test_angoff_of_four_judges():
    """Cut, spread, error and item means of four judges and five items (A1, own)."""
    cut = angoff(
        [
            [0.90, 0.70, 0.60, 0.80, 0.50],
            [0.95, 0.65, 0.55, 0.85, 0.60],
            [0.85, 0.75, 0.50, 0.80, 0.45],
            [0.90, 0.60, 0.65, 0.75, 0.55],
        ]
    )
    assert np.round(cut.judge_cuts, 2).tolist() == [3.50, 3.60, 3.35, 3.45]
    assert (round(cut.cut, 3), round(cut.percent, 1)) == (3.475, 69.5)
    assert (round(cut.spread, 6), round(cut.error, 6)) == (0.104083, 0.052042)
    assert np.round(cut.item_means, 3).tolist() == [0.900, 0.675, 0.575, 0.800, 0.525]
    assert "4 judges" in cut.warnings[0]


def test_fifteen_judges_need_no_warning():
    """A panel of 15 carries no warning; 14 do (Shulruf et al., BMC Med Educ 2016)."""
    assert angoff(np.full((15, 3), 0.8)).warnings == ()
    assert len(angoff(np.full((14, 3), 0.8)).warnings) == 1


@pytest.mark.parametrize(
    "estimates", [[[0.5, 0.5]], [0.5, 0.5], [[0.5], [1.2]], [[0.5], [math.nan]], [[], []]]
)
def test_estimates_that_are_no_panel_are_refused(estimates):
    """One judge, numbers outside 0 to 1 and gaps are refused."""
    with pytest.raises(NotValid, match="panel"):
        angoff(estimates)


def test_borderline_regression():
    """Line, cut and errors of twelve rated attempts (B1, own).

    R2 is 133563 / 141115 in exact fractions, .946483 (the reference prints .946484, rounded up).
    """
    cut = borderline_regression(RATINGS, SCORES)
    assert (round(cut.slope, 6), round(cut.intercept, 6)) == (3.246154, 6.656410)
    assert (round(cut.r2, 6), round(cut.residual, 6)) == (0.946483, 0.983974)
    assert cut.r2 == pytest.approx(133563 / 141115, rel=1e-12)
    assert (round(cut.cut, 6), round(cut.error, 6)) == (13.148718, 0.337933)
    assert round(100.0 * cut.cut / 24.0, 1) == 54.8
    assert cut.group_mean == 13.0
    assert cut.warnings[0].startswith("Provisional: 12 attempts, 30 or more")
    assert len(cut.warnings) == 1


def test_borderline_regression_with_spaced_ratings():
    """Ratings spaced as examiners saw them raise the cut (B2, own; BMC Med Educ 2022)."""
    spaced = [SPACED_RATINGS[r] for r in RATINGS]
    cut = borderline_regression(spaced, SCORES, SPACED_RATINGS[2])
    assert (round(cut.slope, 6), round(cut.intercept, 6)) == (13.085131, 9.335183)
    assert round(cut.cut, 6) == 13.653277
    assert cut.cut > borderline_regression(RATINGS, SCORES).cut


def test_error_of_the_cut_is_that_of_repeated_samples():
    """The cut's standard error equals the scatter of cuts over 4000 drawn samples, within 4 %."""
    rng = np.random.Generator(np.random.PCG64(2))
    x = np.repeat(RATINGS, 3).astype(float)
    away = x - x.mean()
    line = 6.0 + 3.2 * x
    drawn = line + rng.normal(0.0, 1.0, (4000, len(x)))
    slopes = drawn @ away / (away @ away)
    cuts = drawn.mean(axis=1) + slopes * (2.0 - x.mean())
    errors = [borderline_regression(x, row).error for row in drawn[:100]]
    assert float(np.sqrt(np.mean(np.square(errors)))) == pytest.approx(cuts.std(), rel=0.04)


def test_scattered_scores_send_the_instructor_to_the_case():
    """With 30 attempts and an R2 below one half the warning points at the case."""
    ratings = [1, 2, 3] * 10
    scores = [10 + 8 * (i % 4) + r for i, r in enumerate(ratings)]
    cut = borderline_regression(ratings, scores)
    assert cut.r2 < 0.5
    assert [w for w in cut.warnings if "look at the case, not at the trainees" in w] == list(
        cut.warnings
    )


def test_falling_scores_and_far_ratings_are_told():
    """A falling line and a borderline outside the ratings each have their warning."""
    warnings = " ".join(borderline_regression([3, 4, 5, 5], [20, 18, 15, 16]).warnings)
    assert "do not rise with the ratings" in warnings
    assert "drawn out to it" in warnings
    assert math.isnan(borderline_regression([3, 4, 5], [1, 2, 3.5]).group_mean)


@pytest.mark.parametrize(
    ("ratings", "scores"), [([1, 2], [3, 4]), ([2, 2, 2], [1, 2, 3]), ([1, 2, 3], [1])]
)
def test_ratings_that_make_no_line_are_refused(ratings, scores):
    """Too few attempts, equal ratings and lists of two lengths are refused."""
    with pytest.raises(NotValid, match="borderline"):
        borderline_regression(ratings, scores)
