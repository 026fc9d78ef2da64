"""What is told of an attempt, and in which order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.engine.debrief.attempts import BAD, attempt
from trainer.engine.appointment.critical import critical_fails
from trainer.engine.appointment.state import held_by
from trainer.engine.debrief.facts import (
    GO_ON_AIM,
    NEXT_KIND_AIM,
    TOLD_FACTS,
    FactKind,
    aim_of,
    facts_of,
)
from trainer.models.appointment_words import CriticalItem
from trainer.models.learning import HelpLevel
from trainer.models.motion import MotionSign


@pytest.mark.parametrize("name", [*BAD, "clean"])
def test_facts_come_in_order_and_each_has_a_number(name: str) -> None:
    """The gravest kind first, at least three, none twice, a number and a full stop in each."""
    facts = facts_of(attempt(name))
    assert len(facts) >= TOLD_FACTS
    kinds = [f.kind for f in facts]
    assert kinds == sorted(kinds)
    assert len({f.sentence for f in facts}) == len(facts)
    for fact in facts:
        assert any(c.isdigit() for c in fact.sentence), fact
        assert fact.sentence.endswith("."), fact
        assert bool(fact.aim) is (fact.kind is not FactKind.GOOD)


@pytest.mark.parametrize("name", BAD)
def test_the_aim_is_that_of_the_gravest_fact(name: str) -> None:
    """One aim, from the fact that is told first."""
    facts = facts_of(attempt(name))
    assert aim_of(facts, HelpLevel.NONE) == facts[0].aim
    assert facts[0].aim not in (GO_ON_AIM, NEXT_KIND_AIM)


@pytest.mark.parametrize("name", BAD)
def test_every_critical_item_that_failed_is_told_once(name: str) -> None:
    """As many critical facts as critical items failed, whatever else there is."""
    state = attempt(name)
    items = {f.item for f in critical_fails(state)}
    told = [f for f in facts_of(state) if f.kind is FactKind.CRITICAL]
    assert len(told) == len(items)


def test_a_clean_attempt_is_told_what_went_well() -> None:
    """Nothing wrong: what was held, how still it was, how many steps; and to go on."""
    facts = facts_of(attempt("clean"))
    assert {f.kind for f in facts} == {FactKind.GOOD}
    assert facts[0].sentence.startswith("All 5 required structures are held.")
    assert "29 of 29 steps" in facts[2].sentence
    assert {aim_of(facts, level) for level in HelpLevel if level is not HelpLevel.NONE} == {
        GO_ON_AIM
    }
    assert aim_of(facts, HelpLevel.NONE) == NEXT_KIND_AIM


@pytest.mark.parametrize("name", ["low", "very low", "turned"])
def test_coverage_counts_what_is_held(name: str) -> None:
    """The count in the sentence is that of the placement of the run."""
    state = attempt(name)
    held = held_by(state.context, (state.runs[-1].conditions.setup,))
    assert CriticalItem.TARGET_OUTSIDE in {f.item for f in critical_fails(state)}
    first = facts_of(state)[0].sentence
    assert first.startswith(f"{len(held)} of 5 required structures are held: ")
    assert "% inside" in first


def test_what_is_inside_without_its_margin_is_coverage_not_critical() -> None:
    """A structure too near to the edge is told before slips and steps, and not as critical."""
    state = attempt("a little low")
    assert critical_fails(state) == ()
    first = facts_of(state)[0]
    assert first.kind is FactKind.COVERAGE
    assert "asked" in first.sentence
    assert not any(f.sentence.startswith("Step 17,") for f in facts_of(state))


def test_one_thing_is_not_told_as_slip_and_as_step() -> None:
    """A turned head is told as a slip, and its step of the checklist is not told again."""
    told = [f.sentence for f in facts_of(attempt("turned"))]
    assert any("Head turned (run 1)" in t for t in told)
    assert not any(t.startswith("Step 15,") for t in told)


def test_an_end_without_an_image_is_told_first() -> None:
    """Nothing done and stopped without need both begin with that there are 0 images."""
    for name, word in (("nothing done", "without a reason"), ("stopped", "without need")):
        first = facts_of(attempt(name))[0]
        assert first.kind is FactKind.COVERAGE
        assert "0 images" in first.sentence and word in first.sentence


def test_motion_is_told_before_other_slips() -> None:
    """A head that moved by 4 mm comes after coverage and before the slip of a turned head."""
    state = attempt("turned")
    (run,) = state.runs
    motion = replace(run.motion, largest_mm=4.0, sign=MotionSign.DOUBLE_EDGES)
    runs = (replace(run, motion=motion),)
    facts = facts_of(replace(state, exposure=replace(state.exposure, runs=runs)))
    assert [f.kind for f in facts[:3]] == [FactKind.CRITICAL, FactKind.MOTION, FactKind.SLIP]
    assert "4 mm" in facts[1].sentence
