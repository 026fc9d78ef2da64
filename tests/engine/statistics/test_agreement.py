"""Agreement of two raters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from trainer.engine.statistics.agreement import Weights, kappa, rating_table
from trainer.errors import NotValid

ORDINAL = [[8, 2, 0, 0], [1, 7, 3, 0], [0, 2, 9, 2], [0, 0, 1, 5]]


def test_kappa_of_the_classic_example():
    """K1: 50 proposals, two readers; the classic encyclopaedia example (cells from memory)."""
    found = kappa([[20, 5], [10, 15]])
    assert (found.observed, found.expected) == (pytest.approx(0.70), pytest.approx(0.50))
    assert (round(found.kappa, 6), round(found.error, 6)) == (0.4, 0.129615)
    assert found.pairs == 50
    assert found.warnings == ()


def test_kappa_of_a_worked_example():
    """K2: a worked web example prints .21."""
    found = kappa([[12, 2], [4, 2]])
    assert (round(found.observed, 2), round(found.expected, 2)) == (0.70, 0.62)
    assert round(found.kappa, 6) == 0.210526
    assert "20 pairs" in found.warnings[0]


def test_the_paradox_of_kappa_is_told():
    """K3: both tables agree in 90 %; the lopsided one has half the kappa, and is warned of."""
    even, lopsided = kappa([[47, 2], [8, 43]]), kappa([[85, 2], [8, 5]])
    assert (even.observed, lopsided.observed) == (pytest.approx(0.9), pytest.approx(0.9))
    assert (round(even.kappa, 6), round(lopsided.kappa, 6)) == (0.800399, 0.449945)
    assert even.warnings == ()
    assert "One grade makes up 90 % of all" in lopsided.warnings[0]


@pytest.mark.parametrize(
    ("weights", "value"),
    [(Weights.NONE, 0.626486), (Weights.LINEAR, 0.757709), (Weights.QUADRATIC, 0.868263)],
)
def test_weighted_kappa(weights, value):
    """K4: four ordered grades, plain and weighted (own)."""
    found = kappa(ORDINAL, weights)
    assert round(found.kappa, 6) == value
    assert math.isnan(found.error) == (weights is not Weights.NONE)


def test_quadratic_kappa_is_an_intraclass_correlation():
    """Quadratic kappa is 1 - mean square difference / (both variances + squared mean difference).

    Fleiss & Cohen, Educ Psychol Meas 1973;33:613, as an identity of population moments.
    """
    a, b = np.nonzero(np.ones((4, 4)))
    counts = np.asarray(ORDINAL).ravel()
    x, y = np.repeat(a, counts), np.repeat(b, counts)
    expected = 1.0 - ((x - y) ** 2).mean() / (x.var() + y.var() + (x.mean() - y.mean()) ** 2)
    assert kappa(ORDINAL, Weights.QUADRATIC).kappa == pytest.approx(expected, abs=1e-12)


@given(
    hnp.arrays(np.int64, (3, 3), elements=st.integers(0, 20)).filter(lambda t: t.sum() > 0),
    st.sampled_from(list(Weights)),
)
def test_kappa_has_its_bounds_and_symmetry(table, weights):
    """Kappa is at most 1, 1 on the diagonal only, and the same with the raters exchanged."""
    found, swapped = kappa(table, weights), kappa(table.T, weights)
    assert found.kappa == pytest.approx(swapped.kappa, abs=1e-12, nan_ok=True)
    if not math.isnan(found.kappa):
        assert found.kappa <= 1.0 + 1e-12
        all_agree = table.sum() == np.trace(table)
        assert (abs(found.kappa - 1.0) < 1e-9) == bool(all_agree)


def test_one_grade_throughout_gives_no_kappa():
    """Where both raters gave one grade only, kappa is not a number, and no warning of numpy."""
    assert math.isnan(kappa([[12, 0], [0, 0]]).kappa)


def test_table_of_two_lists():
    """Pairs of grades are counted in the grades' own order."""
    table = rating_table("AANN", "ANNN", "AN")
    assert table.tolist() == [[1, 1], [0, 2]]


@pytest.mark.parametrize(("first", "second"), [("AA", "A"), ("AX", "AA")])
def test_lists_that_do_not_fit_are_refused(first, second):
    """Two lengths and unknown grades are refused."""
    with pytest.raises(NotValid, match="agreement"):
        rating_table(first, second, "AN")


@pytest.mark.parametrize("table", [[[1, 2]], [[5]], [[0, 0], [0, 0]], [[1, -1], [0, 2]]])
def test_tables_that_are_none_are_refused(table):
    """Tables must be square with two grades or more, and hold counts."""
    with pytest.raises(NotValid, match="table"):
        kappa(table)
