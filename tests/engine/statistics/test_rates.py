"""Rates and their intervals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.statistics.rates import clean_bound, failure_bound, wilson
from trainer.errors import NotValid


@pytest.mark.parametrize(
    ("n", "percent"), [(10, 25.9), (20, 13.9), (25, 11.3), (30, 9.5), (59, 5.0)]
)
def test_what_a_clean_log_leaves_possible(n, percent):
    """The upper bound 1 - 0.05^(1/n) for clean logs of usual length (own table)."""
    assert round(100.0 * clean_bound(n), 1) == percent


def test_a_clean_log_of_25_does_not_show_less_than_five_percent():
    """59 clean cases are the fewest that show a rate under 5 %."""
    assert clean_bound(25) > clean_bound(58) > 0.05 > clean_bound(59)


def test_clean_bound_needs_a_case():
    """No case, no bound."""
    with pytest.raises(NotValid, match="1 or more"):
        clean_bound(0)


@given(st.integers(0, 200), st.integers(0, 200))
def test_wilson_is_its_formula(count, more):
    """The interval solves (p - k/n)^2 = z^2 p (1 - p) / n (Wilson 1927), z = 1.959964."""
    n = count + more
    found = wilson(count, n)
    if n == 0:
        assert math.isnan(found.rate) and (found.low, found.high) == (0.0, 1.0)
        return
    z = 1.959963984540054
    for end in (found.low, found.high):
        assert (end - count / n) ** 2 == pytest.approx(z * z * end * (1.0 - end) / n, abs=1e-9)
    assert found.low <= found.rate + 1e-12 and found.rate <= found.high + 1e-12


@pytest.mark.parametrize(("count", "n"), [(-1, 5), (6, 5)])
def test_counts_outside_are_refused(count, n):
    """A count below 0 or above n is refused."""
    with pytest.raises(NotValid, match="count"):
        wilson(count, n)


@given(st.integers(0, 60), st.integers(1, 60))
def test_the_bound_is_where_so_few_failures_get_unlikely(failures, more):
    """At the bound, that few failures or fewer come with a chance of 5 % (the binomial's sum)."""
    n = failures + more
    rate = failure_bound(failures, n)
    chance = sum(math.comb(n, k) * rate**k * (1.0 - rate) ** (n - k) for k in range(failures + 1))
    assert chance == pytest.approx(0.05, abs=1e-6)


def test_the_bound_of_nothing_but_failures():
    """Where all failed, every rate is possible; more failures than cases are refused."""
    assert failure_bound(4, 4) == 1.0
    with pytest.raises(NotValid, match="0 to 3"):
        failure_bound(4, 3)
