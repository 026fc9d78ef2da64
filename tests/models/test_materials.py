"""Materials refuse what no material is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import TrainerError
from trainer.models.materials import Material, normalised


@given(st.dictionaries(st.sampled_from(["H", "C", "O", "Ca"]), st.floats(0.01, 50.0), min_size=1))
def test_normalised_fractions_add_up_to_one(parts: dict[str, float]) -> None:
    """Normalised parts add up to 1, keep their ratios and make a material."""
    shares = normalised(parts)
    assert math.fsum(shares.values()) == pytest.approx(1.0, abs=1e-12)
    first = next(iter(parts))
    for symbol in parts:
        assert shares[symbol] * parts[first] == pytest.approx(shares[first] * parts[symbol])
    assert Material("made up", 1.0, shares).mass_fractions == shares


@pytest.mark.parametrize("total", [0.981, 1.0, 1.019])
def test_rounded_sums_are_accepted(total: float) -> None:
    """A sum within 0.02 of 1, as rounded tables have it, is accepted."""
    assert Material("rounded", 1.0, {"H": 0.5, "O": total - 0.5}).name == "rounded"


@pytest.mark.parametrize("total", [0.979, 1.021, math.nan])
def test_other_sums_are_refused(total: float) -> None:
    """A sum further off is refused, and the message names the material."""
    with pytest.raises(TrainerError, match="odd"):
        Material("odd", 1.0, {"H": 0.5, "O": total - 0.5})


@pytest.mark.parametrize("density", [0.0, -1.0, math.nan, math.inf])
def test_density_must_be_above_zero(density: float) -> None:
    """A density that no matter has is refused."""
    with pytest.raises(TrainerError, match="density"):
        Material("odd", density, {"H": 1.0})


def test_a_negative_fraction_is_refused() -> None:
    """A fraction below zero is refused even when the sum is right; the element is named."""
    with pytest.raises(TrainerError, match=r"O is -0\.1"):
        Material("odd", 1.0, {"H": 1.1 - 0.085, "O": -0.1, "C": 0.085})
