"""What unit and person allow."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.engine.proof.limits import (
    GAG,
    NECK,
    TRAVEL,
    at_ease,
    easy_heights_mm,
    gap_is_as_ordered,
    limits_of,
    ordered,
    ordered_setup,
)
from trainer.engine.strain import Strain
from trainer.models.controls import NUMBER_KEYS
from trainer.models.scenario import Case


def with_order(case: Case, **changes: object) -> Case:
    """The case with its prescription changed."""
    assert case.visit is not None
    card = replace(case.visit.card, prescription=replace(case.visit.card.prescription, **changes))
    return replace(case, visit=replace(case.visit, card=card))


def test_the_travel_limits_and_the_neck_limits_further(bench):
    """Every number control has the unit's travel; a neck that stops earlier counts instead."""
    case, unit = bench("kyphosis")
    limits = limits_of(case, unit)
    assert set(limits.ranges) == set(NUMBER_KEYS)
    assert limits.ranges["chin_height_mm"] == (-60.0, 40.0)
    assert limits.stops["chin_height_mm"] == (TRAVEL, TRAVEL)
    assert limits.ranges["pitch_deg"] == (-18.0, -6.0)
    assert limits.stops["pitch_deg"] == (NECK, NECK)


def test_a_neck_that_goes_farther_than_the_unit_changes_nothing(bench):
    """The travel of 25 deg stops a head whose neck would turn by 30."""
    case, unit = bench("lower-third-molar")
    limits = limits_of(case, unit)
    assert limits.ranges["yaw_deg"] == (-25.0, 25.0)
    assert limits.stops["yaw_deg"] == (TRAVEL, TRAVEL)


def test_a_gag_reflex_ends_the_jaw_gap(bench):
    """Above 8 mm a spacer makes this person gag."""
    case, unit = bench("gag-reflex")
    limits = limits_of(case, unit)
    assert limits.ranges["jaw_gap_mm"] == (0.0, 8.0)
    assert limits.stops["jaw_gap_mm"] == (TRAVEL, GAG)


def test_the_order_counts_and_not_what_the_card_says_unclearly(bench):
    """What the practitioner means stands for an unclear card; without a visit there is no order."""
    case, _ = bench("namesake")
    assert ordered(case).teeth == ("36",)
    assert ordered(replace(case, visit=None)) is None


def test_region_field_and_gap_are_entered_as_ordered(bench):
    """A start with another region gets the ordered one; arches to be apart get at least 3 mm."""
    case, unit = bench("upper-premolar-site")
    limits = limits_of(case, unit)
    assert case.start.region == "lower-jaw"
    assert ordered_setup(case, limits).region == "upper-jaw"
    apart, unit = bench("leaning-lower-jaw")
    setup = ordered_setup(apart, limits_of(apart, unit))
    assert (apart.start.jaw_gap_mm, setup.jaw_gap_mm) == (0.0, 3.0)
    assert gap_is_as_ordered(apart, setup) and not gap_is_as_ordered(apart, apart.start)
    together = with_order(apart, arches_apart=False)
    open_jaw = replace(together, start=together.start.with_values({"jaw_gap_mm": 6.0}))
    assert ordered_setup(open_jaw, limits_of(open_jaw, unit)).jaw_gap_mm == 0.5
    bare = replace(case, visit=None)
    assert ordered_setup(bare, limits) == case.start


def test_a_wheelchair_is_sat_in_and_others_may_stand_or_sit(bench):
    """Who comes in a wheelchair sits 400 mm lower; anybody else may do either."""
    case, _ = bench("wheelchair")
    assert easy_heights_mm(case) == (1100.0,)
    standing, _ = bench("lower-third-molar")
    assert easy_heights_mm(standing) == (1510.0, 1110.0)


@pytest.mark.parametrize(
    ("chin_standing_mm", "strain"),
    [(1510.0, Strain.NONE), (700.0, Strain.STRETCHED), (1229.0, Strain.NONE)],
)
def test_the_unit_goes_to_the_person_as_near_as_it_can(chin_standing_mm, strain, bench):
    """A chin of usual height is met; one that stands and sits below the travel is not."""
    case, unit = bench("lower-third-molar")
    case = replace(case, subject=replace(case.subject, chin_standing_mm=chin_standing_mm))
    setup, found = at_ease(case, case.start, limits_of(case, unit))
    assert found is strain
    assert unit.travel["unit_height_mm"].lowest <= setup.unit_height_mm
