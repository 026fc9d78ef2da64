"""The probability of holding everything, against closed forms and a published table."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.proofs import bead_case, bead_head, bead_unit
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from trainer.engine.proof.best import best_setup
from trainer.engine.proof.limits import limits_of, ordered_setup
from trainer.engine.proof.play import free_play
from trainer.engine.proof.scatter import SPREADS, WITHOUT_SCOUTS, normal_numbers
from trainer.engine.proof.success import (
    Difficulty,
    Success,
    difficulty_of,
    is_near_a_bound,
    success,
    wilson,
)
from trainer.engine.proof.target import outline, target_of

DRAWS = 4000
NO_SCATTER = dict.fromkeys(SPREADS, 0.0)


@pytest.mark.parametrize(
    ("held", "draws", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_interval_is_the_published_one(held, draws, low, high):
    """Wilson's interval of four shares as in Newcombe, Stat. Med. 17:857, 1998, table I.

    The table's figures are from memory; scipy's own interval agrees.
    """
    found = wilson(held, draws)
    assert found == pytest.approx((low, high), abs=0.0001)
    peer = stats.binomtest(held, draws).proportion_ci(0.95, method="wilson")
    assert found == pytest.approx((peer.low, peer.high), abs=1e-9)


@given(st.integers(1, 5000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_an_interval_holds_its_share(numbers):
    """Any share lies in its interval, which lies from 0 to 1."""
    low, high = wilson(*numbers)
    share = numbers[0] / numbers[1]
    assert 0.0 <= low <= share + 1e-12 and share - 1e-12 <= high <= 1.0


@pytest.fixture(scope="session")
def molar(bench, heads):
    """The third molar's target, best setup and limits."""
    case, unit = bench("lower-third-molar")
    target = outline(target_of(case, heads[case.subject.person.shape], unit))
    limits = limits_of(case, unit)
    return target, best_setup(case, target, ordered_setup(case, limits), limits).setup, limits


@pytest.mark.parametrize(
    ("spread", "control"),
    [("height_mm", "chin_height_mm"), ("sideways_mm", "sideways_mm"), ("forward_mm", "forward_mm")],
)
def test_one_shift_alone_has_the_probability_of_its_play(spread, control, molar):
    """With one spread only, the share is the normal distribution's over the control's free play."""
    target, setup, limits = molar
    play = next(p for p in free_play(target, setup, limits) if p.key == control)
    scatter = WITHOUT_SCOUTS.with_values(**{**NO_SCATTER, spread: 5.0})
    found = success([target], [setup], scatter, normal_numbers(DRAWS, 1))
    now = getattr(setup, control)
    normal = stats.norm(0.0, 5.0)
    want = normal.cdf(play.high - now) - normal.cdf(play.low - now)
    # the standard error of 4000 draws is 0.008: four of them
    assert 0.2 < want < 0.95
    assert found.probability == pytest.approx(want, abs=4.0 * found.standard_error)


def test_scatter_across_a_round_field_has_the_rayleigh_distribution():
    """Equal shifts sideways and forward hold a bead with 1 - exp(-T^2 / 2 s^2), T its play."""
    unit = bead_unit((40.0, 40.0))
    case, head = bead_case(unit, 2.0), bead_head(20.0, 20.0)
    target, limits = target_of(case, head, unit), limits_of(case, unit)
    setup = best_setup(case, target, ordered_setup(case, limits), limits).setup
    across = {**NO_SCATTER, "sideways_mm": 6.0, "forward_mm": 6.0}
    scatter = WITHOUT_SCOUTS.with_values(**across)
    found = success([target], [setup], scatter, normal_numbers(DRAWS, 2))
    want = 1.0 - np.exp(-(8.0**2) / (2.0 * 6.0**2))
    assert found.probability == pytest.approx(want, abs=4.0 * found.standard_error)


@given(factor=st.floats(0.0, 1.0))
def test_less_shift_never_loses_what_more_shift_holds(factor, molar):
    """Smaller shifts hold at least as many of the same draws: a field is convex."""
    target, setup, _ = molar
    shifts = {**NO_SCATTER, "sideways_mm": 4.0, "forward_mm": 4.0, "height_mm": 4.0}
    normal = normal_numbers(100, 3)
    wide = success([target], [setup], WITHOUT_SCOUTS.with_values(**shifts), normal)
    less = {key: factor * value for key, value in shifts.items()}
    tight = success([target], [setup], WITHOUT_SCOUTS.with_values(**less), normal)
    assert tight.held >= wide.held


def test_what_is_lost_is_told_structure_by_structure(bench, heads, molar):
    """None is lost more often than all together, and one of n at least as often as 1/n of it."""
    case, unit = bench("lower-third-molar")
    target = target_of(case, heads[case.subject.person.shape], unit)
    _, setup, _ = molar
    found = success([target], [setup], WITHOUT_SCOUTS, normal_numbers(500, 1))
    lost = dict(found.lost)
    assert set(lost) == {r.structure for r in case.required}
    failed = 1.0 - found.probability
    assert failed / len(lost) <= max(lost.values()) <= failed


def test_two_runs_are_held_together_only_when_each_is(bench, heads):
    """The share of both joints in a field each is no more than that of either."""
    case, unit = bench("both-joints")
    head, limits = heads[case.subject.person.shape], limits_of(case, unit)
    meant = ordered_setup(case, limits)
    normal = normal_numbers(400, 1)
    wild = WITHOUT_SCOUTS.with_values(height_mm=20.0)
    targets, setups = [], []
    for side in ("left", "right"):
        names = [f"condyle-{side}", f"fossa-{side}"]
        targets.append(target_of(case, head, unit, names))
        setups.append(best_setup(case, targets[-1], meant, limits).setup)
    alone = [success([t], [s], wild, normal) for t, s in zip(targets, setups, strict=True)]
    both = success(targets, setups, wild, normal)
    assert 0 < both.held <= min(a.held for a in alone)
    assert [name for name, _ in both.lost] == [n for t in targets for n in t.names]


@pytest.mark.parametrize(
    ("probability", "want"),
    [
        (1.0, Difficulty.EASY),
        (0.9, Difficulty.EASY),
        (0.8999, Difficulty.MEDIUM),
        (0.667, Difficulty.MEDIUM),
        (0.666, Difficulty.HARD),
        (0.334, Difficulty.HARD),
        (0.333, Difficulty.VERY_HARD),
        (0.0, Difficulty.VERY_HARD),
    ],
)
def test_the_class_follows_from_the_probability(probability, want):
    """Each bound belongs to the easier class."""
    assert difficulty_of(probability) is want


def test_a_share_near_a_bound_is_marked():
    """89 of 100 could be easy or medium; 890 of 1000 with a tighter interval still; 8900 not."""
    assert is_near_a_bound(Success(WITHOUT_SCOUTS, 100, 89))
    assert is_near_a_bound(Success(WITHOUT_SCOUTS, 1000, 890))
    assert not is_near_a_bound(Success(WITHOUT_SCOUTS, 10_000, 8900))
