"""Chance that repeats."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.engine.chance import Chance


def test_the_stream_is_that_of_pcg64():
    """Numbers are the top 53 bits of PCG64's words, as NumPy's own generator makes them.

    Known values: NumPy's `Generator(PCG64(SeedSequence([7, 1]))).random()`.
    """
    chance = Chance(7, 1)
    own = [chance.uniform() for _ in range(5)]
    theirs = np.random.Generator(np.random.PCG64(np.random.SeedSequence([7, 1]))).random(5)
    assert own == theirs.tolist()


def test_seed_and_purpose_name_a_stream():
    """The same seed and purpose give the same numbers, another purpose others."""
    assert Chance(3, 1, 2).uniform() == Chance(3, 1, 2).uniform()
    assert Chance(3, 1, 2).uniform() != Chance(3, 1, 3).uniform()


def test_counts_are_poisson():
    """Mean and share of zeros of 20 000 counts are those of a Poisson number, within 4 sigma."""
    chance, mean, n = Chance(1), 1.5, 20_000
    counts = [chance.count(mean) for _ in range(n)]
    assert sum(counts) / n == pytest.approx(mean, abs=4.0 * math.sqrt(mean / n))
    zero = math.exp(-mean)
    assert counts.count(0) / n == pytest.approx(zero, abs=4.0 * math.sqrt(zero * (1 - zero) / n))


def test_pareto_falls_as_its_exponent_says():
    """Of 20 000 numbers the share above x is (least / x) ** exponent, within 4 sigma."""
    chance, n = Chance(2), 20_000
    sizes = [chance.pareto(0.5, 2.0, 25.0) for _ in range(n)]
    assert min(sizes) >= 0.5
    assert max(sizes) <= 25.0
    for x in (1.0, 3.0, 10.0):
        p = (0.5 / x) ** 2.0
        share = sum(s > x for s in sizes) / n
        assert share == pytest.approx(p, abs=4.0 * math.sqrt(p * (1 - p) / n))


def test_picks_follow_their_weights():
    """Of 20 000 picks each place comes as often as its weight says, within 4 sigma."""
    chance, n, weights = Chance(3), 20_000, (1.0, 2.0, 0.0, 5.0)
    picks = [chance.pick(weights) for _ in range(n)]
    for i, weight in enumerate(weights):
        p = weight / sum(weights)
        assert picks.count(i) / n == pytest.approx(p, abs=4.0 * math.sqrt(p * (1 - p) / n) + 1e-9)
