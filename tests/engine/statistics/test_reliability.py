"""Reliability: alpha, intraclass correlations, persons by raters, error of measurement."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from trainer.engine.statistics.reliability import (
    alpha,
    alpha_of_variances,
    error_of_measurement,
    intraclass,
    length_needed,
    lengthened,
    mean_squares,
    standardised_alpha,
    variances,
)
from trainer.errors import NotValid

# Shrout & Fleiss, Psychol Bull 1979;86:420, table 2 (data from memory).
FOUR_JUDGES = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]


def test_alpha_of_a_worked_example():
    """R1: variances and alpha of three items and four people (data: worked web example)."""
    found = alpha(np.array([[4, 3, 5, 2], [5, 4, 5, 3], [4, 3, 5, 2]]).T)
    assert np.round(found.item_variances, 4).tolist() == [1.6667, 0.9167, 1.6667]
    assert (found.total_variance, round(found.alpha, 6)) == (12.25, 0.979592)
    assert found.error_of_score == pytest.approx(3.5 * math.sqrt(1.0 - 0.979592), abs=1e-5)
    assert found.warnings == ("4 people, 30 or more are wanted: the figure is provisional.",)


def test_standardised_alpha():
    """R2: seven items with a mean correlation of .268849 (UCL reliability output)."""
    assert round(standardised_alpha(7, 0.268849), 6) == 0.720197


def test_intraclass_correlations():
    """R3: the six of Shrout & Fleiss 1979, who print .17 .29 .71 .44 .62 .91."""
    found = intraclass(FOUR_JUDGES)
    values = (found.one_1, found.one_2, found.one_3, found.mean_1, found.mean_2, found.mean_3)
    assert tuple(round(v, 2) for v in values) == (0.17, 0.29, 0.71, 0.44, 0.62, 0.91)
    assert tuple(round(v, 4) for v in values[:5]) == (0.1657, 0.2898, 0.7148, 0.4428, 0.6201)
    assert round(found.mean_3, 6) == 0.909316


def test_persons_by_raters():
    """R4: mean squares, variance parts and both coefficients for 1, 4 and 10 raters (own)."""
    m = mean_squares(FOUR_JUDGES)
    assert tuple(round(v, 6) for v in (m.person, m.rater, m.rest)) == (
        11.241667,
        32.486111,
        1.019444,
    )
    parts = variances(FOUR_JUDGES)
    assert tuple(round(v, 6) for v in (parts.person, parts.rater, parts.rest)) == (
        2.555556,
        5.244444,
        1.019444,
    )
    told = {1: (0.714841, 0.289764), 4: (0.909316, 0.620051), 10: (0.961639, 0.803143)}
    found = {n: (round(parts.relative(n), 6), round(parts.absolute(n), 6)) for n in told}
    assert found == told


def test_alpha_of_right_and_wrong():
    """R5: six people and five items marked 0 or 1 (KR-20 with sample variances; own)."""
    rows = ["11101", "11000", "11111", "10000", "11100", "11110"]
    found = alpha([[int(mark) for mark in row] for row in rows])
    assert round(found.alpha, 6) == 0.692308


def test_alpha_of_the_trap():
    """R6: six items, 43.4 of 52.4: a web page prints "around 0.85", the formula gives .206."""
    assert round(alpha_of_variances(6, 43.4, 52.4), 6) == 0.206107


def test_spearman_brown():
    """S1: reliability .66 doubled, and the lengths needed for .80 and .90 (own)."""
    assert round(lengthened(0.66, 2.0), 6) == 0.795181
    assert round(length_needed(0.66, 0.80), 6) == 2.060606
    assert round(length_needed(0.66, 0.90), 6) == 4.636364


def test_error_of_measurement():
    """SD 10: alpha .66 leaves 5.83 marks, .80 leaves 4.47 (own); below 0 the whole spread."""
    assert round(error_of_measurement(10.0, 0.66), 2) == 5.83
    assert round(error_of_measurement(10.0, 0.80), 2) == 4.47
    assert error_of_measurement(10.0, -0.5) == 10.0


tables = hnp.arrays(
    np.float64, st.tuples(st.integers(2, 8), st.integers(2, 6)), elements=st.integers(0, 20)
)


@given(tables)
def test_alpha_is_the_third_intraclass_correlation_of_the_mean(table):
    """Alpha and ICC(3,k) are identical (R psych documentation)."""
    if np.ptp(table.sum(axis=1)) == 0.0:
        with pytest.raises(NotValid, match="same"):
            alpha(table)
        return
    assert alpha(table).alpha == pytest.approx(intraclass(table).mean_3, rel=1e-9, abs=1e-9)


@given(st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_the_length_needed_gives_what_was_wanted(reliability, wanted):
    """A test made as long as needed has the reliability wanted."""
    factor = length_needed(reliability, wanted)
    assert lengthened(reliability, factor) == pytest.approx(wanted, abs=1e-12)


def test_drawn_variances_are_found():
    """Variance parts of 400 people by 30 raters are those they were drawn with, within 4 sigma."""
    rng = np.random.Generator(np.random.PCG64(3))
    people, raters = 400, 30
    table = (
        rng.normal(0.0, 2.0, (people, 1))
        + rng.normal(0.0, 1.0, (1, raters))
        + rng.normal(0.0, 3.0, (people, raters))
    )
    parts = variances(table)
    assert parts.person == pytest.approx(4.0, abs=4.0 * 4.3 * math.sqrt(2.0 / people))
    assert parts.rater == pytest.approx(1.0, abs=4.0 * 1.03 * math.sqrt(2.0 / raters))
    assert parts.rest == pytest.approx(9.0, rel=4.0 * math.sqrt(2.0 / (people * raters)))
    assert parts.warnings == ()


def test_people_who_do_not_differ_cannot_be_told_apart():
    """A table whose persons vary less than chance gives no coefficients but words."""
    with pytest.raises(NotValid, match="nothing can be told apart"):
        variances([[1, 2], [2, 1]])
    with pytest.raises(NotValid, match="same mean"):
        intraclass([[1, 2], [2, 1]])


@pytest.mark.parametrize("table", [[[1, 2]], [[1], [2]], [1, 2], [[1, math.nan], [2, 3]]])
def test_tables_with_gaps_or_too_few_are_refused(table):
    """One person, one item, a row and a gap are refused."""
    with pytest.raises(NotValid, match="with no gap"):
        alpha(table)
