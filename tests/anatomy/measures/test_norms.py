"""The table of norms: complete, sourced, and read the right way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.anatomy.measures.measures import MEASURES
from trainer.anatomy.measures.norms import NORMS, Mark, Norm, figure
from trainer.anatomy.teeth.tooth_tables import SIZES
from trainer.models.subject import Sex

numbers = st.floats(-1e6, 1e6)
spreads = st.floats(1e-3, 1e3)


def test_every_measure_has_its_norm_and_every_norm_its_measure() -> None:
    """Measures and norms have the same ids, each once."""
    ids = [measure.id for measure in MEASURES]
    assert len(ids) == len(set(ids))
    assert set(ids) == set(NORMS)


def test_a_norm_is_a_figure_with_a_source() -> None:
    """Every norm names its source and gives a mean or a range; spreads are positive."""
    for key, norm in NORMS.items():
        assert len(norm.source) > 5, key
        assert norm.mean is not None or norm.low is not None, key
        for sex in Sex:
            low, high = figure(norm.low, sex), figure(norm.high, sex)
            mean, sd = figure(norm.mean, sex), figure(norm.sd, sex)
            if sd is not None:
                assert sd > 0 and mean is not None, key
            if low is not None and high is not None:
                assert low <= high, key
                assert mean is None or low <= mean <= high, key


def test_one_head_gives_no_deviation() -> None:
    """What was measured on one person has no standard deviation."""
    one = [key for key, norm in NORMS.items() if norm.mark is Mark.ONE_CT]
    assert one and all(NORMS[key].sd is None for key in one)


@given(numbers, numbers, spreads, spreads, st.floats(-9.0, 9.0))
def test_deviations_count_from_the_mean_of_the_sex(
    man: float, woman: float, man_sd: float, woman_sd: float, off: float
) -> None:
    """A value ``off`` deviations above a sex's mean counts ``off``, and holds up to two."""
    norm = Norm("a book", Mark.MEMORY, (man, woman), (man_sd, woman_sd))
    for sex, mean, sd in ((Sex.MALE, man, man_sd), (Sex.FEMALE, woman, woman_sd)):
        value = mean + off * sd
        counted = norm.deviations(value, sex)
        assert counted == pytest.approx(off, abs=1e-6)
        if abs(abs(off) - 2.0) > 1e-5:
            assert norm.holds(value, sex) is (abs(off) < 2.0)


@pytest.mark.parametrize(
    ("value", "held"), [(1.99, False), (2.0, True), (4.0, True), (4.004, True), (4.01, False)]
)
def test_a_range_holds_its_ends(value: float, held: bool) -> None:
    """Both ends belong to a range, to the hundredth that is shown; a range beats a deviation."""
    norm = Norm("a book", Mark.MEMORY, mean=3.0, sd=0.1, low=2.0, high=4.0)
    assert norm.holds(value, Sex.MALE) is held


def test_without_spread_nothing_is_judged() -> None:
    """A mean alone gives neither deviations nor a judgement; a lower end alone judges."""
    bare = Norm("a book", Mark.MEMORY, mean=3.0)
    assert bare.deviations(9.0, Sex.MALE) is None
    assert bare.holds(9.0, Sex.MALE) is None
    least = Norm("a book", Mark.MEMORY, low=(2.0, 1.0))
    assert [least.holds(1.5, sex) for sex in (Sex.MALE, Sex.FEMALE)] == [False, True]


@pytest.mark.parametrize(
    ("key", "man", "woman"),
    [
        # ANSUR II, US Army 2012
        ("head-breadth", 154.3, 147.8),
        ("head-length", 199.5, 189.8),
        ("bizygomatic-skin", 142.6, 133.8),
        # Tecco et al., BMC Med. Imaging 2010
        ("condyle-volume", 691.0, 670.0),
        # Peruvian CBCT study (Odontos)
        ("m2-to-canal", 4.0, 2.9),
    ],
)
def test_figures_of_each_sex(key: str, man: float, woman: float) -> None:
    """Published means stand under the sex they belong to."""
    assert (figure(NORMS[key].mean, Sex.MALE), figure(NORMS[key].mean, Sex.FEMALE)) == (man, woman)


@pytest.mark.parametrize(("places", "key"), [(6, "bolton-overall"), (3, "bolton-front")])
def test_the_tooth_table_agrees_with_bolton(places: int, key: str) -> None:
    """The table's own widths give Bolton's ratios within one published deviation."""
    # Bolton: 91.3 (1.9) and 77.2 (1.65) %, from memory
    lower, upper = (
        sum(SIZES[jaw, n].md_mm for n in range(1, places + 1)) for jaw in ("lower", "upper")
    )
    off = NORMS[key].deviations(lower / upper, Sex.MALE)
    assert off is not None and abs(off) <= 1.0
