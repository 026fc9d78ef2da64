"""Free play of the controls: closed forms, and a look just inside and just outside."""

from __future__ import annotations

import pytest
from helpers.proofs import BEAD, bead_case, bead_head, bead_unit

from trainer.engine.placement import place
from trainer.engine.points import pack
from trainer.engine.proof.best import best_setup
from trainer.engine.proof.limits import GAG, NECK, TRAVEL, limits_of, ordered_setup
from trainer.engine.proof.play import FIELD_EDGE, free_play
from trainer.engine.proof.target import outline, target_of

# The published cylinder round a lower third molar with its canal: 32.1 x 31.6 mm (BMC Oral Health
# 2021, s12903-021-02029-6, 50 scans; confirmed). Play T = D/2 - d/2 - m and H/2 - h/2 - m, worked
# out by hand for m = 2 mm (the training reference's table of tolerances, own arithmetic).
MOLAR_MM = (32.1, 31.6)
TABLE = {
    (40.0, 40.0): (1.95, 2.20),
    (50.0, 50.0): (6.95, 7.20),
    (60.0, 60.0): (11.95, 12.20),
    (80.0, 80.0): (21.95, 22.20),
}


def best_of(size_mm, margin_mm):
    """The bead of the published size in a field: its case, best setup and limits."""
    unit = bead_unit(size_mm)
    case, head = bead_case(unit, margin_mm), bead_head(*MOLAR_MM)
    limits = limits_of(case, unit)
    target = target_of(case, head, unit)
    return target, best_setup(case, target, ordered_setup(case, limits), limits), limits


@pytest.mark.parametrize("size_mm", TABLE)
def test_play_is_that_of_the_tolerance_table(size_mm):
    """Controls that shift sideways and up leave the radial and vertical play, within 0.01 mm."""
    target, best, limits = best_of(size_mm, 2.0)
    plays = {p.key: p for p in free_play(target, best.setup, limits)}
    radial, vertical = TABLE[size_mm]
    for key, want in (
        ("field_sideways_mm", radial),
        ("field_forward_mm", radial),
        ("sideways_mm", radial),
        ("chin_height_mm", vertical),
    ):
        play, now = plays[key], getattr(best.setup, key)
        # the middle is hit within half a step of 0.05 mm, so each side is off by no more
        assert play.high - play.low == pytest.approx(2.0 * want, abs=0.01)
        assert play.high - now == pytest.approx(want, abs=0.05 / 2 + 0.01)
        assert (play.low_end, play.high_end) == (FIELD_EDGE, FIELD_EDGE)


@pytest.mark.parametrize(("margin_mm", "radial"), [(2.0, -0.55), (0.0, 1.45)])
def test_the_tight_field_lacks_what_the_table_says(margin_mm, radial):
    """In 35 x 35 the cylinder lacks 0.55 mm with a margin of 2 mm, and has 1.45 mm without."""
    target, best, limits = best_of((35.0, 35.0), margin_mm)
    assert best.slack_mm == pytest.approx(radial, abs=0.03)
    assert best.holds is (radial > 0.0)
    assert bool(free_play(target, best.setup, limits)) is best.holds


@pytest.mark.parametrize("name", ["lower-third-molar", "both-jaws"])
def test_every_control_holds_just_inside_and_fails_just_outside(name, bench, heads):
    """A ten-thousandth within its play a control holds everything; as far outside it does not."""
    case, unit = bench(name)
    head = heads[case.subject.person.shape]
    limits = limits_of(case, unit)
    target = outline(target_of(case, head, unit))
    best = best_setup(case, target, ordered_setup(case, limits), limits)
    points = pack([head.structure(r.structure) for r in case.required])
    plays = free_play(target, best.setup, limits)
    assert {p.key for p in plays} == set(limits.ranges) - {"unit_height_mm"}

    def holds(key, value):
        setup = best.setup.with_values({key: value})
        return place(case, head, points, unit, setup).all_required_inside

    edges = 0
    for play in plays:
        for end, way, why in ((play.low, -1, play.low_end), (play.high, 1, play.high_end)):
            assert holds(play.key, end - way * 1e-4)
            if why == FIELD_EDGE:
                edges += 1
                assert not holds(play.key, end + way * 1e-4)
            else:
                assert end == limits.ranges[play.key][way > 0]
                assert why in (TRAVEL, NECK, GAG)
    assert edges >= 10


def test_what_is_not_held_has_no_play(bench, heads):
    """Round a start that cuts something off no control has any play."""
    case, unit = bench("lower-third-molar")
    target = target_of(case, heads[case.subject.person.shape], unit)
    assert free_play(target, case.start, limits_of(case, unit)) == ()


def test_a_bead_may_turn_about_itself_without_end():
    """Yaw turns an upright cylinder at the chin's height line into itself: its travel ends it."""
    unit = bead_unit((60.0, 60.0))
    case, head = bead_case(unit, 2.0), bead_head(20.0, 20.0)
    assert head.structure(BEAD).centre_mm[:2].tolist() == pytest.approx([0.0, 0.0], abs=1e-9)
    limits = limits_of(case, unit)
    target = target_of(case, head, unit)
    best = best_setup(case, target, ordered_setup(case, limits), limits)
    yaw = next(p for p in free_play(target, best.setup, limits) if p.key == "yaw_deg")
    assert (yaw.low, yaw.high) == limits.ranges["yaw_deg"]
    assert (yaw.low_end, yaw.high_end) == (TRAVEL, TRAVEL)
