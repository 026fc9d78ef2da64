"""The whole proof: shipped cases are fair, spoilt ones are told why they are not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.engine.placement import place
from trainer.engine.points import pack_head
from trainer.engine.proof.proof import prove, run_targets
from trainer.engine.proof.scatter import AFTER_SCOUTS, PRESETS
from trainer.engine.proof.success import Difficulty
from trainer.errors import TrainerError
from trainer.models.appointment_visit import NeckRange
from trainer.models.device import Travel
from trainer.models.frames import Side
from trainer.models.scenario import Requirement

NAME = "lower-third-molar"


@pytest.fixture(scope="module")
def molar(bench, heads):
    """The third-molar case, its head and unit."""
    case, unit = bench(NAME)
    return case, heads[case.subject.person.shape], unit


def told(proof):
    """The faults as one text."""
    return " ".join(proof.faults)


def test_a_fair_case_is_proved(molar):
    """All is found out: best setup, play of every control, fields, both scatters, difficulty."""
    case, head, unit = molar
    proof = prove(case, head, unit, draws=300)
    assert proof.proved and proof.faults == ()
    (setup,) = proof.setups
    placed = place(case, head, pack_head(head), unit, setup)
    assert placed.all_required_inside
    assert min(-s.lack_mm for s in placed.required) == pytest.approx(proof.slack_mm, abs=1e-9)
    assert abs(placed.chin_above_floor_mm - case.subject.chin_standing_mm) <= 0.5
    start = place(case, head, pack_head(head), unit, case.start)
    worst = min(-s.lack_mm for s in start.required)
    assert worst < 0.0 and proof.start_slack_mm == pytest.approx(worst, abs=1e-9)
    assert {p.key for p in proof.plays[0]} == set(unit.travel) - {"unit_height_mm"}
    assert proof.smallest.field.id == "40x40"
    assert [s.scatter for s in proof.successes] == list(PRESETS)
    assert proof.successes[0].probability < proof.successes[1].probability
    assert proof.difficulty is Difficulty.MEDIUM


def test_the_proof_follows_from_its_seed(molar):
    """The same seed gives equal proofs; another one other draws, within the error of drawing."""
    case, head, unit = molar
    first, again, other = (prove(case, head, unit, draws=300, seed=s) for s in (1, 1, 2))
    assert first == again
    assert other.successes[0].held != first.successes[0].held
    low, high = first.successes[0].interval
    assert low - 0.05 < other.successes[0].probability < high + 0.05


def test_a_start_that_passes_is_told(molar):
    """The best setup as a start leaves nothing to do."""
    case, head, unit = molar
    best = prove(case, head, unit, draws=1).setups[0]
    proof = prove(replace(case, start=best), head, unit, draws=1)
    assert not proof.proved and "there is nothing to do" in told(proof)
    assert proof.start_slack_mm > 0.0 and proof.successes


def test_a_field_that_is_too_small_is_told_with_the_one_that_would_do(molar):
    """With 9 mm of margin 40 x 40 lacks 1.8 mm, tilted as allowed; 50 x 50 holds it."""
    case, head, unit = molar
    required = tuple(Requirement(r.structure, 9.0) for r in case.required)
    proof = prove(replace(case, required=required), head, unit, draws=1)
    assert not proof.proved
    assert "do not fit the field 40x40 (1.8 mm are lacking)" in told(proof)
    assert "The smallest that would hold them is 50x50, region lower-jaw." in told(proof)
    assert proof.successes == () and proof.plays == () and proof.difficulty is None
    assert proof.smallest.field.id == "50x50"


def test_a_target_that_no_field_holds_is_told(molar):
    """Margins of 20 mm round the widest structures fit nothing."""
    case, head, unit = molar
    required = tuple(Requirement(n, 20.0) for n in ("chin", "mastoid-left", "mastoid-right"))
    proof = prove(replace(case, required=required), head, unit, draws=1)
    assert "No field of this unit would hold them." in told(proof)
    assert proof.smallest is None


def test_a_travel_that_is_too_short_is_told_as_such(molar):
    """Where the field would do but cannot get there, travel and neck are named."""
    case, head, unit = molar
    short = {**unit.travel, "field_sideways_mm": Travel(-5.0, 5.0, 0.5)}
    short["sideways_mm"] = Travel(-2.0, 2.0, 1.0)
    proof = prove(case, head, replace(unit, travel=short), draws=1)
    assert not proof.proved
    assert "fit the field 40x40, but the unit's travel and the person's neck" in told(proof)


def test_a_neck_that_does_not_let_the_head_come_is_told(bench, heads):
    """Held at 20 deg of roll, a whole jaw leaves the field; the neck keeps it there."""
    case, unit = bench("whole-lower-jaw")
    stiff = NeckRange(pitch_deg=(-2.0, -2.0), roll_deg=(20.0, 20.0))
    case = replace(case, visit=replace(case.visit, neck=stiff))
    proof = prove(case, heads[case.subject.person.shape], unit, draws=1)
    assert proof.setups[0].roll_deg == 20.0
    assert "the person's neck do not let it get there" in told(proof)


def test_a_person_whom_the_unit_does_not_reach_is_told(molar):
    """A chin that stands at 700 mm is out of the unit's reach, standing or seated."""
    case, head, unit = molar
    case = replace(case, subject=replace(case.subject, chin_standing_mm=700.0))
    assert "With the unit as near as it comes, the neck is stretched" in told(
        prove(case, head, unit, draws=1)
    )


def test_arches_that_cannot_stand_apart_are_told(bench, heads):
    """A unit whose spacer travel ends at 1 mm cannot give the 3 mm that were ordered."""
    case, unit = bench("leaning-lower-jaw")
    unit = replace(unit, travel={**unit.travel, "jaw_gap_mm": Travel(0.0, 1.0, 1.0)})
    found = told(prove(case, heads[case.subject.person.shape], unit, draws=1))
    assert "The arches cannot stand as ordered: the jaw gap ends at 1 mm" in found


def test_an_order_that_the_unit_cannot_enter_is_told(molar):
    """A field that the unit lacks is named, with those it has; nothing else is looked for."""
    case, head, unit = molar
    card = replace(case.visit.card, prescription=replace(case.visit.card.prescription, field="9x9"))
    proof = prove(replace(case, visit=replace(case.visit, card=card)), head, unit)
    assert "The order cannot be entered: field unit alder-bench has no '9x9'" in told(proof)
    assert proof.setups == () and proof.smallest is None


def test_several_runs_part_by_side(bench, heads):
    """Each run holds its own side; both have a best setup and a play of their own."""
    case, unit = bench("both-joints")
    head = heads[case.subject.person.shape]
    proof = prove(case, head, unit, draws=50)
    left, right = proof.setups
    assert left.field_sideways_mm > 30.0 and right.field_sideways_mm < -30.0
    assert len(proof.plays) == 2
    sides = [{head.structure(n).side for n in t.names} for t in run_targets(case, head, unit)]
    assert sides == [{Side.LEFT}, {Side.RIGHT}]


def test_runs_that_do_not_part_by_side_are_refused(bench, heads):
    """A structure in the middle belongs to neither run: it is told what would do."""
    case, unit = bench("both-joints")
    case = replace(case, required=(*case.required, Requirement("chin", 3.0)))
    with pytest.raises(TrainerError, match="do not part into those on the left"):
        prove(case, heads[case.subject.person.shape], unit)


def test_fewer_than_one_draw_is_refused(molar):
    """No probability comes from no draws."""
    with pytest.raises(TrainerError, match="draws 0: must be 1 or more"):
        prove(*molar, draws=0)


def test_the_work_can_be_ended_between_its_steps(molar):
    """What the caller raises goes through."""

    def stop() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        prove(*molar, go_on=stop)


def test_scatters_that_were_asked_for_count(molar):
    """One scatter alone is drawn when one is asked for."""
    case, head, unit = molar
    proof = prove(case, head, unit, scatters=(AFTER_SCOUTS,), draws=100)
    assert [s.scatter.id for s in proof.successes] == ["after-scouts"]
