"""What each pixel counts: every line once."""

from __future__ import annotations

import math

import numpy as np
import pytest
from helpers.balls import reference_scan
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import TrainerError
from trainer.physics.fdk.weights import offset_weights, parker_weights, redundancy_weights

HALF_FANS = st.floats(0.02, 0.6)


@given(HALF_FANS, st.floats(-1.0, 1.0), st.floats(0.0, 1.0))
def test_both_meetings_of_a_line_count_once_together(
    half_fan: float, fan_share: float, turned_share: float
) -> None:
    """Check 14: w(b, g) + w(b + pi + 2 g, -g) = 1 to 1e-9 (Parker 1982)."""
    fan = fan_share * half_fan
    # the second meeting lies on the arc for b up to 2 (half fan - g)
    turned = turned_share * 2.0 * (half_fan - fan)
    both = parker_weights(turned, fan, half_fan) + parker_weights(
        turned + math.pi + 2.0 * fan, -fan, half_fan
    )
    assert both == pytest.approx(1.0, abs=1e-9)


@given(HALF_FANS, st.floats(-0.999, 0.999))
def test_lines_met_once_count_in_full(half_fan: float, fan_share: float) -> None:
    """Between the ramps the weight is 1, and no weight leaves 0 to 1."""
    fan = fan_share * half_fan
    low, high = 2.0 * (half_fan - fan), math.pi - 2.0 * fan
    assert parker_weights(np.linspace(low, high, 9), fan, half_fan) == pytest.approx(1.0)
    all_of_them = parker_weights(np.linspace(0.0, math.pi + 2.0 * half_fan, 50), fan, half_fan)
    assert (all_of_them >= 0.0).all() and (all_of_them <= 1.0 + 1e-12).all()


@given(st.floats(1.0, 100.0), st.floats(0.0, 1.5))
def test_a_detector_aside_counts_its_overlap_once(overlap: float, share: float) -> None:
    """w(u) + w(-u) = 1, from 0 on the short side to 1 on the long one."""
    both = offset_weights([share * overlap, -share * overlap], overlap, 500.0)
    assert both.sum() == pytest.approx(1.0, abs=1e-12)
    assert offset_weights([-overlap, overlap], overlap, 500.0) == pytest.approx([0.0, 1.0])


def test_each_kind_of_scan_has_its_weights() -> None:
    """A whole turn counts half, a detector aside 0 to 1, a short arc as Parker says."""
    whole = reference_scan()
    assert (redundancy_weights(whole, whole.across_mm) == 0.5).all()
    for side in (1.0, -1.0):
        aside = reference_scan(columns=100, aside_mm=side * 66.5)
        weights = redundancy_weights(aside, aside.across_mm)[0]
        long_end = -1 if side > 0 else 0
        assert weights[long_end] == 1.0 and weights[-1 - long_end] < 1e-9
    short = reference_scan(arc_rad=math.pi + 2.0 * whole.half_fan_rad)
    weights = redundancy_weights(short, short.across_mm)
    # over the whole arc every line of a parallel bundle counts once: pi in angle
    assert weights.sum(axis=0) * short.step_rad == pytest.approx(math.pi, rel=2e-3)


def test_a_detector_aside_needs_a_whole_turn() -> None:
    """Half a turn with a detector aside leaves lines out, and is refused."""
    scan = reference_scan(columns=100, aside_mm=66.5, arc_rad=4.0)
    with pytest.raises(TrainerError, match="whole turn"):
        redundancy_weights(scan, scan.across_mm)
