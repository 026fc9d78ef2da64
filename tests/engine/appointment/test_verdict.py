"""Whether an image answers the question, as the practitioner would say."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial

import pytest
from helpers.appointments import (
    CLEAN_RUN,
    ORDER,
    VISIT,
    act,
    before,
    context,
    doing,
    instead,
    play,
    real_case,
    without,
)

from trainer.engine.appointment.critical import critical_fails
from trainer.engine.appointment.outcome import repeats_same_cause, slips_of_appointment
from trainer.engine.appointment.state import held_by
from trainer.engine.appointment.verdict import (
    answered_before,
    answers_question,
    judged_runs,
    spoiling_causes,
)
from trainer.engine.placement import place
from trainer.engine.stitched import Part, stitch
from trainer.models import appointment_commands as do
from trainer.models import appointment_events as ev
from trainer.models.appointment_visit import RequestCard
from trainer.models.appointment_words import (
    CriticalItem,
    Firmness,
    RetakeCause,
    RunKind,
    Support,
    Topic,
    Trait,
)
from trainer.models.device import Region
from trainer.models.motion import Movement, MovementKind
from trainer.models.scenario import ReferencePlane, Requirement
from trainer.models.slips import SlipCode

SHAKY = 762
NOD = Movement(MovementKind.NOD, 4.0, 1.0, 5.0, (0, 0, 0, 1, 0, 0), False, True)
ASK = act(do.AskPractitioner, topic=Topic.RETAKE)
LOW = without(CLEAN_RUN, doing(do.Adjust, values={"chin_height_mm": -28.0}))
AGAIN = [act(do.MakeReady), act(do.PressSwitch, after_s=4.0), act(do.Wait, after_s=19.0)]


@pytest.mark.parametrize(
    ("motion", "written", "causes"),
    [
        ((), None, ()),
        ((NOD,), None, (RetakeCause.MOTION,)),
        ((NOD,), True, ()),  # the motion lies where nobody asked
        ((replace(NOD, size_mm=1.5),), None, ()),
        ((replace(NOD, size_mm=1.5),), False, (RetakeCause.MOTION,)),  # the canal cannot be read
    ],
)
def test_twin_cases_on_motion_separate(motion, written, causes):
    """By its size, or as the case says of this very image."""
    visit = replace(VISIT, scripted_motion=motion, image_answers=written)
    state, _ = play(CLEAN_RUN, context(visit))
    assert spoiling_causes(state, state.runs[0]) == causes
    assert answers_question(state, state.runs[0]) is (causes == ())


def test_what_the_case_says_of_motion_excuses_nothing_else():
    """A cut target stays cut, whatever the case says of motion."""
    visit = replace(VISIT, image_answers=True)
    state, _ = play(LOW, context(visit))
    assert spoiling_causes(state, state.runs[0]) == (RetakeCause.COVERAGE,)


@pytest.mark.parametrize(("acts", "go_on"), [(CLEAN_RUN, False), (LOW, True)])
def test_the_practitioner_decides_on_a_repeat_by_the_question(acts, go_on):
    """A repeat is granted when the image does not answer, and refused when it does."""
    _, steps = play(before(acts, doing(do.OpenImage), ASK))
    (said,) = [e for s in steps for e in s.events if isinstance(e, ev.PractitionerAnswered)]
    assert said.go_on is go_on


def test_a_repeat_with_the_cause_mended_is_no_slip():
    """A cut image, corrected and repeated: the second run has no slip, and was not needless."""
    mended = [
        *(a for a in CLEAN_RUN if a.kind in (do.OpenImage, do.CheckImage)),
        act(do.EnterRoom),
        act(do.Adjust, values={"chin_height_mm": -28.0}),
        act(do.LeaveRoom),
        act(do.CloseDoor),
        *AGAIN,
    ]
    state, _ = play(before(LOW, doing(do.OpenImage), *mended))
    found = slips_of_appointment(state)
    assert {s.run for s in found} == {1}
    assert answers_question(state, state.runs[1])


def test_a_preview_on_the_way_is_not_judged():
    """A preview that a full run follows is a step on the way; left alone it is the result."""
    entered = next(a for a in CLEAN_RUN if a.kind is do.EnterProgramme)
    full = entered.values["programme"]
    preview = act(do.EnterProgramme, programme=replace(full, run_kind=RunKind.PREVIEW))
    press = doing(do.PressSwitch)
    alone = before(CLEAN_RUN, press, preview, act(do.MakeReady), act(do.Wait, after_s=4.0))
    state, _ = play(alone)
    assert spoiling_causes(state, state.runs[0]) == (RetakeCause.PROTOCOL,)
    on_the_way = before(
        alone,
        doing(do.OpenImage),
        act(do.EnterProgramme, programme=full),
        *AGAIN,
    )
    state, _ = play(on_the_way)
    assert [r.number for r in judged_runs(state)] == [2]
    assert slips_of_appointment(state) == ()


@pytest.mark.parametrize(("mended", "same"), [(False, True), (True, False)])
def test_motion_counts_as_unmended_only_when_nothing_was_done(mended, same):
    """Motion twice: with another band closed in between the cause was worked on.

    The person fidgets; with this seed both runs are spoilt either way.
    """
    visit = replace(VISIT, traits=frozenset({Trait.FIDGETS}), scripted_motion=None)
    second = [
        *(a for a in CLEAN_RUN if a.kind in (do.OpenImage, do.CheckImage)),
        act(do.EnterRoom),
        act(do.LeaveRoom),
        act(do.CloseDoor),
        *AGAIN,
    ]
    if mended:
        strap = [
            act(do.FitSupport, support=Support.HEAD_STRAP),
            act(do.SetBand, support=Support.HEAD_STRAP, firmness=Firmness.SNUG),
        ]
        second[7:7] = strap
    state, _ = play(before(CLEAN_RUN, doing(do.OpenImage), *second), context(visit), seed=SHAKY)
    causes = [spoiling_causes(state, r) for r in state.runs]
    assert causes == [(RetakeCause.MOTION,), (RetakeCause.MOTION,)]
    assert repeats_same_cause(state, state.runs[1]) is same


def joints(second_mm: float | None, **more):
    """Both joints with two small fields: one to the left, then one elsewhere."""
    case, unit, head, points = real_case()
    case = replace(
        case,
        required=tuple(
            Requirement(f"{part}-{side}", 2.0)
            for side in ("left", "right")
            for part in ("condyle", "fossa", "eminence")
        ),
        attitude=replace(case.attitude, reference_plane=ReferencePlane.FRANKFORT),
    )
    order = replace(ORDER, region=Region.JOINTS, field="60x60", side=None, teeth=(), runs=2, **more)
    order = replace(order, programme=replace(order.programme, voxel_um=160))
    placing = lru_cache(partial(place, case, head, points, unit))
    where = replace(context(replace(VISIT, card=RequestCard(order))), case=case, placing=placing)
    setting = {"region": "joints", "field": "60x60", "field_forward_mm": -52.0}
    acts = instead(
        CLEAN_RUN,
        doing(do.Adjust, values={"region": "lower-jaw", "field": "40x40"}),
        act(do.Adjust, values=setting),
    )
    acts = instead(
        acts, doing(do.EnterProgramme), act(do.EnterProgramme, programme=order.programme)
    )
    acts = instead(
        acts,
        doing(do.Adjust, values={"chin_height_mm": -28.0}),
        act(do.Adjust, values={"chin_height_mm": 5.0, "unit_height_mm": 1505.0}),
    )
    acts = without(acts, doing(do.Adjust, values={"field_forward_mm": -34.0}))
    left = act(do.Adjust, values={"field_sideways_mm": 50.0}, after_s=4.0)
    acts = instead(acts, doing(do.Adjust, values={"field_sideways_mm": -30.0}), left)
    if second_mm is not None:
        acts = before(
            acts,
            doing(do.OpenImage),
            *(a for a in acts if a.kind in (do.OpenImage, do.CheckImage)),
            act(do.Adjust, values={"field_sideways_mm": second_mm}),
            act(do.MakeReady, after_s=8.0),
            *AGAIN[1:],
        )
    return play(acts, where)[0]


def test_two_small_fields_show_both_joints_together():
    """One field on each joint: neither run lacks anything, and neither was needless."""
    state = joints(-50.0)
    assert [answers_question(state, r) for r in state.runs] == [True, True]
    assert slips_of_appointment(state) == ()
    assert critical_fails(state) == ()


def test_one_small_field_is_not_both_joints():
    """With the second run left out the other joint lacks, and that is critical."""
    state = joints(None)
    assert spoiling_causes(state, state.runs[0]) == (RetakeCause.COVERAGE,)
    assert {f.item for f in critical_fails(state)} == {CriticalItem.TARGET_OUTSIDE}


def test_the_same_joint_twice_is_needless():
    """A second run on the joint that is there already answers nothing new."""
    state = joints(49.0)
    assert answered_before(state, state.runs[1])


def test_a_second_field_beside_the_head_is_the_wrong_place():
    """A run that holds nothing of the target is told as such."""
    state = joints(0.0)
    codes = {s.slip.code for s in slips_of_appointment(state) if s.run == 2}
    assert SlipCode.WRONG_SIDE_OR_TOOTH in codes


def test_parts_can_be_judged_as_one_stitched_volume():
    """With a stitched placement at hand what it holds counts as shown."""
    state = joints(-50.0)
    setups = tuple(r.conditions.setup for r in state.runs)
    case, unit, head, points = real_case()
    case = state.context.case
    whole = stitch(case, head, points, unit, [Part(s) for s in setups])
    seen = replace(state.context, stitching=lambda _: whole)
    assert held_by(seen, setups) == {r.structure for r in case.required}
    assert held_by(seen, setups[:1]) == {f"{p}-left" for p in ("condyle", "fossa", "eminence")}
