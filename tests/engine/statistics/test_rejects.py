"""Rejects and published rates."""

from __future__ import annotations

import pytest
from helpers.attempts import attempt, supervised

from trainer.engine.statistics.rejects import (
    PUBLISHED,
    PUBLISHED_CAUSES,
    rejects,
    simulated_rejects,
    supervised_rejects,
)
from trainer.models.appointment_words import RetakeCause


@pytest.mark.parametrize(
    ("place", "count", "n", "percent", "low", "high"),
    [
        ("Hong Kong", 80, 1737, 4.6, 3.7, 5.7),
        ("Mainz", 82, 4986, 1.6, 1.3, 2.0),
        ("Denmark", 16, 248, 6.4, 4.0, 10.2),
        ("Italy", 41, 750, 5.4, 4.1, 7.3),
    ],
)
def test_published_rates_have_their_intervals(place, count, n, percent, low, high):
    """Published counts (abstracts) give the rates printed there, and own Wilson intervals.

    Printed with one decimal, cut off: 41 of 750 is 5.47 %, printed 5.4.
    """
    (found,) = [p for p in PUBLISHED if place in p.what]
    assert (found.count, found.n) == (count, n)
    assert int(1000.0 * found.rate.rate) / 10.0 == percent
    assert (round(100.0 * found.rate.low, 1), round(100.0 * found.rate.high, 1)) == (low, high)


def test_published_causes_add_up():
    """46, 22 and 12 of 80: 57.5, 27.5 and 15 % (Clin Oral Investig 2020; counts own)."""
    found = {c.cause: (c.count, round(100.0 * c.share.rate, 1)) for c in PUBLISHED_CAUSES}
    assert found == {
        RetakeCause.COVERAGE: (46, 57.5),
        RetakeCause.MOTION: (22, 27.5),
        RetakeCause.OTHER: (12, 15.0),
    }


def test_supervised_rejects_count_the_log():
    """Counts equal the log: N-grades by cause, a free text as "other", A-grades not at all."""
    log = [
        *(supervised(i) for i in range(95)),
        supervised(95, "N", "coverage"),
        supervised(96, "N", "coverage"),
        supervised(97, "N", "motion"),
        supervised(98, "N", "screen was dark"),
        supervised(99, "A", "coverage"),
    ]
    found = supervised_rejects(log)
    assert (found.rejected, found.images) == (4, 100)
    assert (found.rate.rate, found.warnings) == (0.04, ())
    counts = {c.cause: c.count for c in found.causes if c.count}
    assert counts == {RetakeCause.COVERAGE: 2, RetakeCause.MOTION: 1, RetakeCause.OTHER: 1}
    assert [c.cause for c in found.causes] == list(RetakeCause)
    assert found.causes[0].share.rate == 0.5
    assert found.causes[0].share.low < 0.2


def test_simulated_rejects_take_the_first_cause():
    """Attempts with an image that does not answer count once each, those without an image not."""
    rows = [
        (True, []),
        (False, ["motion", "coverage"]),
        (False, ["motion"]),
        (False, []),
        (None, []),
    ]
    found = simulated_rejects(
        attempt(i, score={"acceptable": ok, "spoiled_by": causes})
        for i, (ok, causes) in enumerate(rows)
    )
    assert (found.rejected, found.images) == (3, 4)
    assert [c.cause for c in found.causes if c.count == 1] == [
        RetakeCause.COVERAGE,
        RetakeCause.MOTION,
        RetakeCause.OTHER,
    ]


def test_fewer_than_a_hundred_images_are_told():
    """An analysis wants 100 images of one kind (SDCEP practice support manual)."""
    assert "99 images" in rejects("test", [], 99).warnings[0]
    assert rejects("test", [], 100).warnings == ()


def test_nothing_rejected_has_no_shares():
    """Without rejects every cause has a count of 0 and an interval that says nothing."""
    found = rejects("test", [], 120)
    assert {(c.count, c.share.low, c.share.high) for c in found.causes} == {(0, 0.0, 1.0)}
