"""Learning curves: formulas, fits and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.engine.learning.curves import (
    CurveFit,
    NoFit,
    exponential,
    fit_exponential,
    fit_power,
    power,
)

NUMBERS = np.array([1, 2, 5, 10, 20, 50])


def test_exponential_values():
    """The exponential of level 60, change 240, rate 0.15 (L1, own)."""
    found = np.round(exponential(NUMBERS, 60.0, 240.0, 0.15), 2).tolist()
    assert found == [300.00, 266.57, 191.71, 122.22, 73.88, 60.15]


def test_power_values():
    """The power law of level 60, change 240, exponent 0.4 (L1, own)."""
    found = np.round(power(NUMBERS, 60.0, 240.0, 0.4), 2).tolist()
    assert found == [300.00, 241.89, 186.07, 155.55, 132.41, 110.19]


@pytest.mark.parametrize(
    ("curve", "fit", "rate"), [(exponential, fit_exponential, 0.15), (power, fit_power, 0.4)]
)
@pytest.mark.parametrize(("level", "change"), [(60.0, 240.0), (95.0, -40.0)])
def test_fit_finds_the_curve_it_was_made_from(curve, fit, rate, level, change):
    """A fit to points of a curve, falling or rising, gives its three numbers back."""
    found = fit(curve(np.arange(1.0, 41.0), level, change, rate))
    assert isinstance(found, CurveFit)
    assert (found.level, found.change, found.rate) == pytest.approx((level, change, rate), rel=1e-4)
    assert found.residual < 1e-3


def test_fit_of_scattered_points_is_within_its_error():
    """With scatter of 10 about the curve, the rate found lies within 3 of its standard errors."""
    rng = np.random.Generator(np.random.PCG64(5))
    values = exponential(np.arange(1.0, 41.0), 60.0, 240.0, 0.15) + rng.normal(0.0, 10.0, 40)
    found = fit_exponential(values)
    assert isinstance(found, CurveFit)
    assert abs(found.rate - 0.15) < 3.0 * found.rate_error
    assert found.residual == pytest.approx(10.0, rel=0.35)  # chi with 37 degrees, 3 sigma


def test_averaged_exponentials_look_like_a_power_law():
    """The mean of people with different rates fits a power law better, each of them does not.

    Heathcote, Brown & Mewhort, Psychon Bull Rev 2000.
    """
    number = np.arange(1.0, 61.0)
    people = [exponential(number, 60.0, 240.0, r) for r in (0.02, 0.05, 0.12, 0.3, 0.8)]
    mean = np.mean(people, axis=0)
    fits = fit_power(mean), fit_exponential(mean)
    assert all(isinstance(f, CurveFit) for f in fits)
    assert fits[0].residual < fits[1].residual
    alone = fit_exponential(people[2]), fit_power(people[2])
    assert alone[0].residual < alone[1].residual


def test_few_points_are_refused():
    """Seven attempts give no curve, and the reason says how many are needed."""
    found = fit_exponential([300, 250, 220, 200, 180, 170, 165])
    assert isinstance(found, NoFit)
    assert "7 attempts; a curve needs at least 8" in found.reason


@pytest.mark.parametrize(
    "values",
    [
        [90.0] * 12,
        [300.0 - 2.0 * i for i in range(12)],  # a straight line: no rate can be told
        [80, 95, 70, 99, 60, 90, 75, 97, 65, 92, 71, 96],  # scatter only
    ],
    ids=["level", "straight", "scatter"],
)
def test_no_curve_is_made_up(values):
    """Level, straight and scattered results give a reason and no curve."""
    found = fit_exponential(values)
    assert isinstance(found, NoFit)
    assert found.reason.endswith(".")
