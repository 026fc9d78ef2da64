"""Advice: it helps, and nothing smaller would."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.engine.advice import advise, play_of_controls
from trainer.engine.placement import place
from trainer.engine.points import pack
from trainer.models.controls import NUMBER_KEYS
from trainer.models.device import Region
from trainer.models.setup import setup_faults

CASES = (
    "lower-third-molar",
    "upper-premolar-site",
    "whole-lower-jaw",
    "both-jaws",
    "one-jaw-joint",
    "upper-front-teeth",
)


def solved(case, head, unit, setup) -> bool:
    """Whether everything required is inside."""
    points = pack([head.structure(r.structure) for r in case.required])
    return place(case, head, points, unit, setup).all_required_inside


@pytest.mark.parametrize("name", CASES)
def test_every_case_starts_unsolved_and_advice_solves_it(name, heads, bench):
    """Each shipped case fails at its start, and following the advice brings everything inside."""
    case, unit = bench(name)
    head = heads[case.subject.person.shape]
    setup = case.start
    assert not solved(case, head, unit, setup)
    for _ in range(3):
        advice = advise(case, head, unit, setup)
        if not advice:
            break
        setup = setup.with_values(advice[0].changes)
        assert setup_faults(setup, unit) == []
    assert solved(case, head, unit, setup)


@settings(max_examples=25)
@given(data=st.data())
def test_advice_keeps_its_word(data, heads, bench):
    """From any setup, advice that says it reaches all does, within the unit's travel."""
    case, unit = bench(data.draw(st.sampled_from(CASES)))
    head = heads[case.subject.person.shape]
    setup = replace(
        case.start,
        chin_height_mm=case.start.chin_height_mm + data.draw(st.integers(-15, 15)),
        field_sideways_mm=case.start.field_sideways_mm + data.draw(st.integers(-15, 15)),
        yaw_deg=float(data.draw(st.integers(-12, 12))),
        pitch_deg=float(data.draw(st.integers(-12, 12))),
    )
    if setup_faults(setup, unit):
        return
    for a in advise(case, head, unit, setup):
        after = setup.with_values(a.changes)
        assert setup_faults(after, unit) == []
        assert solved(case, head, unit, after) == a.reaches_all
        assert a.short_mm == pytest.approx(0.0) if a.reaches_all else a.short_mm > 0


def test_no_smaller_change_of_a_single_control_would_do(heads, bench):
    """For each single control advised, one step less does not bring everything inside."""
    case, unit = bench("lower-third-molar")
    head = heads[case.subject.person.shape]
    advice = [a for a in advise(case, head, unit, case.start) if len(a.changes) == 1]
    assert advice
    for a in advice:
        ((key, value),) = a.changes.items()
        if key not in NUMBER_KEYS:
            continue
        step = unit.travel[key].step
        now = getattr(case.start, key)
        less = value - step if value > now else value + step
        assert not solved(case, head, unit, case.start.with_values({key: less}))


def test_advice_names_control_way_and_amount(heads, bench):
    """A lowered chin support is told to be raised, with an amount and the reason."""
    case, unit = bench("lower-third-molar")
    head = heads[case.subject.person.shape]
    first = advise(case, head, unit, case.start)[0]
    assert list(first.changes) == ["chin_height_mm"]
    by = first.changes["chin_height_mm"] - case.start.chin_height_mm
    assert by > 0
    assert first.sentence.startswith(f"Raise the chin support {by:g} mm: ")
    assert "48" in first.sentence
    assert "the field" in first.sentence


SETUPS_FOR_PAIRS = (
    {"jaw_gap_mm": 20.0},
    {"yaw_deg": 20.0, "sideways_mm": 12.0},
    {"field_sideways_mm": -8.0},
    {"pitch_deg": 12.0, "forward_mm": -20.0},
)


@pytest.mark.parametrize("start", SETUPS_FOR_PAIRS)
def test_no_smaller_pair_of_shifts_would_do(start, heads, bench):
    """Trying every pair of head and field shifts finds none smaller than the one advised."""
    case, unit = bench("lower-third-molar")
    head = heads[case.subject.person.shape]
    setup = replace(case.start, **start)
    advice = advise(case, head, unit, setup)
    assert advice[0].reaches_all
    assert len(advice[0].changes) == 2
    points = pack([head.structure(r.structure) for r in case.required])
    for a, b in combinations(("chin_height_mm", "forward_mm", "field_sideways_mm"), 2):
        steps = [unit.travel[k].step for k in (a, b)]
        reach = int(advice[0].size / min(steps)) + 1
        for i, j in product(range(-reach, reach + 1), repeat=2):
            moved = abs(i) * steps[0] + abs(j) * steps[1]
            # every fourth is enough to catch a search that misses whole stretches
            if moved >= advice[0].size - 1e-9 or (i + 2 * j) % 4:
                continue
            values = {a: getattr(setup, a) + i * steps[0], b: getattr(setup, b) + j * steps[1]}
            other = setup.with_values(values)
            if not setup_faults(other, unit):
                assert not place(case, head, points, unit, other).all_required_inside, values


def test_a_wrong_region_is_named(heads, bench):
    """With the wrong jaw entered and the head too far forward, the region is the first advice."""
    case, unit = bench("upper-front-teeth")
    head = heads[case.subject.person.shape]
    setup = replace(case.start, region=Region.LOWER_JAW)
    first = advise(case, head, unit, setup)[0]
    assert first.reaches_all
    assert first.changes["region"] == "upper-jaw"
    assert "Enter the region upper-jaw" in first.sentence


def test_a_larger_field_is_not_the_first_advice(heads, bench):
    """A few millimetres of movement are advised before a field that costs more dose."""
    case, unit = bench("lower-third-molar")
    head = heads[case.subject.person.shape]
    setup = replace(case.start, chin_height_mm=-34.0)
    advice = advise(case, head, unit, setup)
    assert list(advice[0].changes) == ["chin_height_mm"]
    assert all("field" not in a.changes for a in advice[:1])


def test_a_hopeless_case_gets_the_best_reachable(heads, bench):
    """When no field of the unit can hold the target, the best setup is told with what lacks."""
    case, unit = bench("both-jaws")
    head = heads[case.subject.person.shape]
    small = min(unit.fields, key=lambda f: f.volume_mm3)
    unit = replace(unit, fields=(small,))
    setup = replace(case.start, field=small.id, region=small.regions[0])
    (best,) = advise(case, head, unit, setup)
    assert not best.reaches_all
    assert best.short_mm > 5
    assert "still lacks" in best.sentence


def test_nothing_is_advised_when_all_is_inside(heads, bench):
    """A solved setup gets no advice, and every control has some play round its value."""
    case, unit = bench("lower-third-molar")
    head = heads[case.subject.person.shape]
    first = advise(case, head, unit, case.start)[0]
    good = case.start.with_values(first.changes)
    assert advise(case, head, unit, good) == ()
    play = play_of_controls(case, head, unit, good)
    low, high = play["chin_height_mm"]
    assert low <= good.chin_height_mm <= high
    for value, inside in ((low, True), (high, True), (low - 1, False), (high + 1, False)):
        setup = replace(good, chin_height_mm=value)
        assert solved(case, head, unit, setup) is inside


def test_play_is_none_where_the_present_value_fails(heads, bench):
    """At the failing start no control has a stretch that does."""
    case, unit = bench("lower-third-molar")
    play = play_of_controls(case, heads[case.subject.person.shape], unit, case.start)
    assert set(play.values()) == {None}


def test_a_joint_ordered_as_a_jaw_gets_few_changes(heads, bench):
    """Where no pair does, the set advised does, and nothing in it can be left out."""
    case, unit = bench("one-jaw-joint")
    head = heads[case.subject.person.shape]
    setup = replace(case.start, region=Region.LOWER_JAW, field="40x40")
    (best,) = advise(case, head, unit, setup)
    assert best.reaches_all
    assert 3 <= len(best.changes) <= 5
    for left_out in best.changes:
        if left_out in NUMBER_KEYS:
            others = {k: v for k, v in best.changes.items() if k != left_out}
            assert not solved(case, head, unit, setup.with_values(others))
