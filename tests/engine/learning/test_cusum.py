"""Charts of successes and failures.

Test values: a training reference's tables, computed once in plain Python from the formulas of
Rutherford (classic) and Biau et al. (learning chart); "own" where no paper prints them. Published
beside them: 532 cases with 82 to 96 % success signalled at case 79 (Biau 2008), 10/20 % charts with
4 of 6 trainees competent after a median of 25 (Clin Teach 2010).
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.learning.cusum import (
    first_crossing,
    first_signal,
    held_sums,
    learning_rule,
    line_rule,
    line_sums,
    maintenance_rule,
    shortest_run,
    signal_probability,
)
from trainer.errors import NotValid


def results(text: str) -> list[bool]:
    """Successes from a row of S and F."""
    return [letter == "S" for letter in text.replace(" ", "")]


@pytest.mark.parametrize(
    ("acceptable", "unacceptable", "step", "line", "run"),
    [
        (0.02, 0.10, 0.0503, 1.2966, 26),
        (0.04, 0.08, 0.0578, 2.9865, 52),
        (0.05, 0.10, 0.0724, 2.9406, 41),
        (0.05, 0.15, 0.0919, 1.8161, 20),
        (0.10, 0.20, 0.1452, 2.7095, 19),
        (0.15, 0.30, 0.2188, 2.4763, 12),
        (0.20, 0.40, 0.2933, 2.2402, 8),
    ],
)
def test_classic_rules(acceptable, unacceptable, step, line, run):
    """Step, lines and shortest run of the classic chart, alpha = beta = 0.10 (own table)."""
    rule = line_rule(acceptable, unacceptable, 0.10, 0.10)
    assert (round(rule.step, 4), round(rule.lower, 4), round(rule.upper, 4)) == (step, line, line)
    assert shortest_run(rule) == run
    sums = line_sums(rule, [True] * run)
    assert first_crossing(rule, sums) == (run, True)
    assert first_crossing(rule, sums[:-1]) is None


def test_classic_chart_of_one_learner():
    """The classic 10/20 % chart of a learner crosses the lower line at attempt 40 (C1, own)."""
    rule = line_rule(0.10, 0.20, 0.10, 0.10)
    sums = line_sums(rule, results("SSFSSSFSSSSSSF") + [True] * 26)
    told = {1: -0.1452, 2: -0.2905, 3: 0.5643, 7: 0.9833, 14: 0.9666, 39: -2.6645, 40: -2.8098}
    assert {n: round(float(sums[n - 1]), 4) for n in told} == told
    assert first_crossing(rule, sums) == (40, True)


def test_classic_chart_shows_an_unacceptable_rate():
    """Four failures in a row cross the upper line of the 10/20 % chart at the fourth."""
    rule = line_rule(0.10, 0.20, 0.10, 0.10)
    assert first_crossing(rule, line_sums(rule, [False] * 6)) == (4, False)


def test_learning_chart_of_one_learner():
    """The learning chart's steps and sums for a row of results (C2, own)."""
    rule = learning_rule(0.25, 0.10, 2.5)
    assert (round(rule.success, 6), round(rule.failure, 6)) == (0.182322, -0.916291)
    sums = held_sums(rule, results("FSSFSSSSSSSSS"))
    assert np.round(sums, 4).tolist() == [
        *(0.0, 0.1823, 0.3646, 0.0, 0.1823, 0.3646, 0.5470, 0.7293, 0.9116, 1.0939),
        *(1.2763, 1.4586, 1.6409),
    ]
    assert first_signal(rule, sums) is None


# p_in, p_ad, h, shortest run, still inadequate by 20, 30, 60; adequate by 20, 30, 60 (own,
# computed state by state).
SIGNALS = [
    (0.25, 0.10, 1.25, 7, (0.531, 0.713, 0.934), (0.935, 0.988, 1.000)),
    (0.25, 0.10, 2.00, 11, (0.154, 0.269, 0.531), (0.667, 0.870, 0.992)),
    (0.25, 0.10, 2.50, 14, (0.053, 0.116, 0.290), (0.474, 0.717, 0.969)),
    (0.20, 0.05, 2.00, 12, (0.179, 0.317, 0.600), (0.757, 0.946, 0.999)),
    (0.20, 0.05, 2.50, 15, (0.070, 0.151, 0.354), (0.579, 0.843, 0.993)),
    (0.30, 0.10, 2.50, 10, (0.122, 0.215, 0.437), (0.739, 0.921, 0.998)),
]


@pytest.mark.parametrize(("bad", "good", "limit", "run", "as_bad", "as_good"), SIGNALS)
def test_chances_of_a_learning_signal(bad, good, limit, run, as_bad, as_good):
    """How likely the learning chart signals, for the inadequate and the adequate (own table)."""
    rule = learning_rule(bad, good, limit)
    assert shortest_run(rule) == run
    for rate, told in ((bad, as_bad), (good, as_good)):
        found = signal_probability(rule, rate, 60)
        assert tuple(np.round(found[[19, 29, 59]], 3)) == told


def test_chances_of_a_maintenance_alarm():
    """The 5/15 % maintenance chart: false alarms and detection within 50 cases (own values)."""
    rule = maintenance_rule(0.05, 0.15, 3.0)
    assert (round(rule.success, 4), round(rule.failure, 4)) == (-0.1112, 1.0986)
    found = [round(float(signal_probability(rule, p, 50)[-1]), 3) for p in (0.05, 0.15, 0.30)]
    assert found == [0.072, 0.788, 0.999]


@given(
    st.sampled_from(
        [
            learning_rule(0.3, 0.1, 1.0),
            learning_rule(0.25, 0.1, 1.25),
            maintenance_rule(0.05, 0.15, 1.9),
        ]
    ),
    st.floats(0.0, 1.0),
    st.integers(1, 10),
)
def test_chance_is_the_sum_over_all_rows_of_results(rule, rate, attempts):
    """The exact chance equals that of all 2^n rows of results added up one by one."""
    total = 0.0
    for row in itertools.product([True, False], repeat=attempts):
        if first_signal(rule, held_sums(rule, row)) is not None:
            failures = row.count(False)
            total += rate**failures * (1.0 - rate) ** (attempts - failures)
    assert signal_probability(rule, rate, attempts)[-1] == pytest.approx(total, abs=1e-12)


@given(st.lists(st.booleans(), min_size=1, max_size=80))
def test_a_held_chart_never_falls_below_zero(row):
    """Sums are never below zero, and one more success never lowers the learning chart."""
    rule = learning_rule(0.25, 0.10, 2.5)
    sums = held_sums(rule, row)
    assert (sums >= 0.0).all()
    for i, success in enumerate(row):
        if not success:
            better = [*row[:i], True, *row[i + 1 :]]
            assert (held_sums(rule, better) >= sums - 1e-12).all()


@pytest.mark.parametrize(("low", "high"), [(0.2, 0.2), (0.3, 0.1), (0.0, 0.1), (0.1, 1.0)])
def test_rates_that_make_no_chart_are_refused(low, high):
    """Rates must lie between 0 and 1 and differ the right way round."""
    for make in (maintenance_rule, lambda a, b, h: learning_rule(b, a, h)):
        with pytest.raises(NotValid, match="lower rate < higher rate"):
            make(low, high, 2.0)
    with pytest.raises(NotValid, match="lower rate"):
        line_rule(low, high, 0.1, 0.1)


def test_error_probabilities_are_checked():
    """An error probability of one half or more makes no classic chart."""
    with pytest.raises(NotValid, match=r"0\.5"):
        line_rule(0.1, 0.2, 0.5, 0.1)
