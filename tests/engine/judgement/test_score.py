"""The score: what each part of an attempt earns, under which rules, and what points cannot do."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from helpers.appointments import (
    CLEAN_RUN,
    VISIT,
    act,
    before,
    context,
    doing,
    instead,
    play,
    real_case,
    timed,
    without,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.engine.appointment.checklist import NAMES
from trainer.engine.appointment.state import open_appointment
from trainer.engine.appointment.step import step
from trainer.engine.judgement.placed import eased
from trainer.engine.judgement.score import score
from trainer.engine.judgement.table import ROWS
from trainer.errors import NotAllowedNow, NotFound, NotValid
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Answers, LocalRules, RequestCard
from trainer.models.appointment_words import (
    CriticalItem,
    Gaze,
    Grade,
    PregnancyAnswer,
    RetakeCause,
    Support,
    Topic,
    WithholdReason,
)
from trainer.models.learning import (
    Block,
    BlockWeights,
    HelpLevel,
    Prediction,
    Task,
    Tolerance,
    Tolerances,
)
from trainer.models.scenario import AttitudeLimits, ReferencePlane, Requirement

LAST_POSE = {"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0}
STRAIGHTEN = doing(do.Adjust, values=LAST_POSE)
LIMITS = AttitudeLimits(ReferencePlane.LOWER_OCCLUSAL, 30.0, 30.0, 30.0)
AGAIN = [
    *(a for a in CLEAN_RUN if a.kind in (do.OpenImage, do.CheckImage, do.GradeImage)),
    act(do.MakeReady),
    act(do.PressSwitch, after_s=4.0),
    act(do.Wait, after_s=19.0),
]
ASK_AND_GO = (act(do.AskPractitioner, topic=Topic.AUTHORISATION),)


def scored(acts, where=None, help=HelpLevel.NONE):
    """The score of some acts."""
    return score(play(acts, where or context(), help=help)[0])


def row(found, key):
    """One row of a score."""
    return next(i for b in found.blocks for i in b.items if i.key == key)


def block(found, which):
    """One block of a score."""
    return next(b for b in found.blocks if b.block is which)


def posed(**angles):
    """The clean run with the head turned at last."""
    return instead(CLEAN_RUN, STRAIGHTEN, act(do.Adjust, values={**LAST_POSE, **angles}))


def test_a_clean_run_earns_everything():
    """All 100 points, nothing critical: mastered, and a success without help."""
    found = scored(CLEAN_RUN)
    assert found.percent == 100.0
    assert [b.earned for b in found.blocks] == [1.0] * 6
    assert found.critical == () and not found.needless_retake
    assert found.mastered and found.success
    assert found.acceptable is True and found.spoiled_by == ()
    assert set(found.required) == found.held
    assert (found.runs, found.scout_pairs, found.hints) == (1, 1, 0)


def test_the_usual_weights_are_those_of_the_reference():
    """20, 15, 35, 10, 10 and 10 points and a mark of 90 (training reference, 5.2 and 5.3)."""
    found = scored(CLEAN_RUN)
    assert [b.weight for b in found.blocks] == [20, 15, 35, 10, 10, 10]
    assert [b.block for b in found.blocks] == list(Block)
    assert found.mastery_percent == 90.0


def test_inside_a_block_rows_count_as_many_as_its_usual_weight():
    """So that one count is one point while all rows of a volume apply and the weights stand.

    A panoramic picture has the groove in place of the field's middle, and signs to be named.
    """
    usual = BlockWeights()
    for which in Block:
        rows = [r for r in ROWS if r.block is which and r.key not in ("groove", "signs")]
        assert sum(r.counts for r in rows) == usual.of(which)
    counts = {r.key: r.counts for r in ROWS}
    assert counts["groove"] == counts["centring"]
    assert len({r.key for r in ROWS}) == len(ROWS)


def test_orientation_earns_few_points():
    """Three of a hundred; what must be inside earns twenty (training reference, 2.3)."""
    counts = {r.key: r.counts for r in ROWS}
    assert counts["pitch"] + counts["yaw"] + counts["roll"] == 3
    assert counts["structures"] == 20


# For every step of the checklist but the programme (11), which four rows look at closely: what is
# left out of a clean run, and the row that then earns less.
LEFT_OUT = {
    1: (doing(do.ReadRequest), "request-read"),
    2: (doing(do.CheckAuthorisation), "authorisation"),
    3: (doing(do.MoveUnit, to=do.UnitPosition.ENTRY), "room"),
    4: (doing(do.Greet), "greeting"),
    5: (doing(do.AskIdentity, item=do.IdentityItem.NAME), "identity"),
    6: (doing(do.AskPregnancy), "pregnancy"),
    7: (doing(do.AskHistory, topic=do.HistoryTopic.NECK), "history"),
    8: (doing(do.LookForMetal, place=do.WornPlace.EARS), "metal"),
    10: (doing(do.Explain), "explanation"),
    12: (doing(do.Instruct, what=do.Instruction.BACK_STRAIGHT), "stance"),
    15: (doing(do.Look, view=do.View.FRONT), "from-the-front"),
    16: (doing(do.Look, view=do.View.SIDE), "from-the-side"),
    17: (doing(do.Adjust, values={"arm_turned": True}), "lights"),
    18: (doing(do.SetBand), "holding"),
    20: (doing(do.TakeScout, kind=do.ScoutKind.LATERAL), "scouts"),
    21: (doing(do.Instruct, what=do.Instruction.SWALLOW_ONCE), "last-words"),
    22: (doing(do.LookAt, gaze=Gaze.PATIENT), "watching"),
    24: (doing(do.WatchStanding), "freeing"),
    25: (doing(do.CheckImage, point=do.ImagePoint.SIDE), "checking"),
    27: (doing(do.WriteRecord), "record"),
    28: (doing(do.Clean, what=do.Hygiene.BARRIERS_OFF), "cleaning"),
    29: (doing(do.DoQualityCheck, what=do.QualityCheck.DAILY_CHECK), "quality"),
}


@pytest.mark.parametrize("number", LEFT_OUT, ids=lambda n: NAMES[n - 1])
def test_a_step_left_out_costs_points_of_its_row(number):
    """Its row earns less than it could, and the sentence says why."""
    which, key = LEFT_OUT[number]
    where = context(replace(VISIT, can_be_pregnant=number == 6))
    found = scored(without(CLEAN_RUN, which), where)
    lost = row(found, key)
    assert lost.points < lost.most
    assert lost.sentence != "Done."
    assert found.percent < scored(CLEAN_RUN, where).percent == 100.0


def test_a_unit_at_the_wrong_height_costs_points_of_its_row():
    """The chin stands 100 mm lower than it would at ease."""
    high = doing(do.Adjust, values={"unit_height_mm": 1538.0})
    found = scored(instead(CLEAN_RUN, high, act(do.Adjust, values={"unit_height_mm": 1438.0})))
    assert row(found, "height").points == 0.5 * row(found, "height").most


def test_points_are_weights_times_shares():
    """Half a row of 3 in a block of 10: 1.5 points less of 100 (by hand)."""
    found = scored(without(CLEAN_RUN, doing(do.CheckImage, point=do.ImagePoint.SIDE)))
    assert row(found, "checking").points == pytest.approx(1.5)
    assert found.percent == 98.5


def test_what_does_not_apply_gives_its_points_to_the_rest_of_the_block():
    """Nobody asks this person about pregnancy: 20 points are shared by 17 counts."""
    found = scored(without(CLEAN_RUN, doing(do.AskPregnancy)))
    assert "pregnancy" not in {i.key for i in block(found, Block.PREPARATION).items}
    assert row(found, "identity").most == pytest.approx(20.0 * 3 / 17)
    assert sum(i.most for i in block(found, Block.PREPARATION).items) == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (instead(CLEAN_RUN, doing(do.EnterProgramme),
                 act(do.EnterProgramme, programme=do.Programme(voxel_um=150))), "programme"),
        (instead(CLEAN_RUN, doing(do.Adjust, values={"region": "lower-jaw", "field": "40x40"}),
                 act(do.Adjust, values={"region": "lower-jaw", "field": "50x50"})), "field"),
        (instead(CLEAN_RUN, doing(do.Adjust, values={"field_sideways_mm": -30.0}),
                 act(do.Adjust, values={"field_sideways_mm": 30.0})), "place"),
        (without(CLEAN_RUN, doing(do.Instruct, what=do.Instruction.TONGUE_UP)), "soft-parts"),
    ],
)  # fmt: skip
def test_an_order_not_followed_earns_nothing_in_its_row(change, key):
    """Programme, field, place and soft parts are looked at on the runs themselves."""
    found = row(scored(change), key)
    assert found.points == 0.0 < found.most
    assert found.sentence != "As it should be."


def test_a_name_that_is_not_the_patients_earns_nothing_in_its_row():
    """Filed under nobody."""
    acts = without(CLEAN_RUN, doing(do.OpenAtConsole))
    found = scored(acts, context(replace(VISIT, console_left_over="")))
    assert row(found, "name").points == 0.0


@pytest.mark.parametrize(
    ("value", "limit", "share"), [(0.0, 8.0, 1.0), (8.0, 8.0, 1.0), (12.0, 8.0, 0.5),
                                  (16.0, 8.0, 0.0), (99.0, 8.0, 0.0)],
)  # fmt: skip
def test_beyond_a_limit_the_points_fall_to_nothing_at_twice_the_limit(value, limit, share):
    """Our own working value, by hand."""
    assert eased(value, limit) == pytest.approx(share)


# Training reference, 2.5: yaw and roll, yaw and roll of strict tasks, pitch.
@pytest.mark.parametrize(
    ("level", "help", "task", "yaw", "pitch"),
    [
        (1, HelpLevel.OPEN, Task.SINGLE_SITE, 8.0, 10.0),
        (2, HelpLevel.OPEN, Task.SINGLE_SITE, 6.0, 8.0),
        (1, HelpLevel.NONE, Task.SINGLE_SITE, 6.0, 8.0),
        (1, HelpLevel.LINES, Task.ONE_JOINT, 5.0, 10.0),
        (2, HelpLevel.ON_REQUEST, Task.EAR, 4.0, 8.0),
        (2, HelpLevel.NONE, Task.BOTH_JOINTS, 3.0, 8.0),
        (2, HelpLevel.NONE, Task.BOTH_JAWS, 3.0, 8.0),
        (3, HelpLevel.OPEN, Task.BOTH_JAWS, 30.0, 30.0),
        (4, HelpLevel.NONE, Task.SINGLE_SITE, 30.0, 30.0),
    ],
)
def test_angles_go_by_level_task_and_exam(level, help, task, yaw, pitch):
    """The table of the reference; from level 3 on the case's own limits."""
    where = context(level=level, task=task, attitude=LIMITS)
    found = scored(CLEAN_RUN, where, help)
    assert (row(found, "yaw").limit, row(found, "roll").limit) == (yaw, yaw)
    assert row(found, "pitch").limit == pitch


@pytest.mark.parametrize(("axis", "angle_deg"), [("pitch", 18.0), ("yaw", 12.0), ("roll", 12.0)])
def test_a_tilt_on_purpose_scores_in_full_where_the_case_allows_it(axis, angle_deg):
    """The same angle costs points of the row elsewhere."""
    acts = posed(**{f"{axis}_deg": angle_deg})
    refused = row(scored(acts, context(attitude=LIMITS)), axis)
    assert refused.points < refused.most
    allowed = scored(acts, context(attitude=replace(LIMITS, tilt_allowed=True)))
    assert row(allowed, axis).points == row(allowed, axis).most


def test_a_turned_head_alone_still_reaches_the_mark():
    """It costs its few points and no more, when everything required is held all the same."""
    case = real_case()[0]
    limits = replace(LIMITS, yaw_deg=4.0)  # so the checklist tells the slip, too
    where = context(required=case.required[:1], attitude=limits)
    found = scored(posed(yaw_deg=10.0), where)
    assert set(found.required) == found.held
    # by hand: 10.0 against 6 degrees earn a third of one point
    assert row(found, "yaw").points == pytest.approx(2.0 - row(found, "yaw").value / 6.0)
    lost = {i.key for b in found.blocks for i in b.items if i.points < i.most}
    assert lost == {"yaw", "centring"}  # turning about the chin also moves the target
    assert found.mastered


def test_a_target_off_the_middle_uses_up_the_free_play():
    """A field moved sideways until half the radial play lies between them: 50 % is used."""
    where = context()
    state = play(CLEAN_RUN, where)[0]
    setup = state.runs[-1].conditions.setup
    placed = where.placing(setup)
    assert placed.target is not None and placed.free_play is not None
    x, y = (float(v) for v in placed.target.centre_mm[:2])
    half_mm = 0.5 * placed.free_play.radial_mm
    to_mm = setup.field_sideways_mm + x - math.sqrt(half_mm**2 - y**2)
    acts = instead(
        CLEAN_RUN,
        doing(do.Adjust, values={"field_sideways_mm": -30.0}),
        act(do.Adjust, values={"field_sideways_mm": round(to_mm, 3)}),
    )
    found = row(scored(acts, where), "centring")
    assert found.value == pytest.approx(0.5, abs=0.006)
    assert found.points == found.most


def test_inside_without_its_margin_counts_half_but_nothing_in_an_exam():
    """Margins that the field cannot give: inside and not held (training reference, 2.5)."""
    case = real_case()[0]
    where = context(required=tuple(replace(r, margin_mm=20.0) for r in case.required))
    state = play(CLEAN_RUN, where)[0]
    placed = where.placing(state.runs[-1].conditions.setup).required
    inside = [s for s in placed if not s.holds and s.margin_mm >= 0.0]
    assert len(inside) == len(case.required)
    guided, exam = scored(CLEAN_RUN, where, HelpLevel.OPEN), scored(CLEAN_RUN, where)
    earned = row(guided, "structures")
    assert earned.points == pytest.approx(0.5 * earned.most)
    assert row(exam, "structures").points == 0.0


def test_what_is_cut_earns_nothing_whatever_the_rules_give_for_inside():
    """A structure that sticks out is not inside."""
    low = without(CLEAN_RUN, doing(do.Adjust, values={"chin_height_mm": -28.0}))
    found = scored(low, help=HelpLevel.OPEN)
    cut = len(found.required) - len(found.held)
    assert cut >= 1 and found.spoiled_by == (RetakeCause.COVERAGE,)
    assert row(found, "structures").value <= len(found.held) + 0.5 * (cut - 1)
    assert found.acceptable is False and not found.mastered


@pytest.mark.parametrize("help", HelpLevel)
def test_only_an_attempt_without_help_or_with_hints_is_a_success(help):
    """Mastered at every help level, a success at two of them (training reference, 5.7)."""
    found = scored(CLEAN_RUN, help=help)
    assert found.mastered
    assert found.success is (help in (HelpLevel.ON_REQUEST, HelpLevel.NONE))


def test_a_needless_repeat_is_no_success_even_where_the_rules_do_not_count_it():
    """Success asks for it apart from the critical items."""
    acts = instead(
        before(CLEAN_RUN, doing(do.OpenImage), *AGAIN),
        doing(do.WriteRecord),
        act(do.WriteRecord, **{**_record(), "runs": 2}),
    )
    rules = LocalRules(
        critical_items=tuple(i for i in CriticalItem if i is not CriticalItem.RETAKE),
        mastery_percent=80.0,
    )
    found = scored(acts, context(rules=rules))
    assert found.mastered and found.needless_retake and not found.success


def _record():
    return next(a for a in CLEAN_RUN if a.kind is do.WriteRecord).values


def test_an_image_that_movement_spoils_is_not_mastered():
    """Stillness is pass or fail, though chance earns and costs no points (reference, 2.3)."""
    from trainer.models.motion import Movement, MovementKind

    jump = Movement(MovementKind.TURN, 2.0, 1.0, 6.0, (1.0, 0.0, 0.0, 0.0, 0.0, 0.0), False, True)
    where = context(replace(VISIT, scripted_motion=(jump,)))
    graded = instead(CLEAN_RUN, doing(do.GradeImage), act(do.GradeImage, grade=Grade.N))
    told = instead(
        graded,
        doing(do.WriteRecord),
        act(do.WriteRecord, **{**_record(), "grade": Grade.N, "rejected_runs": 1}),
    )
    found = scored(told, where)
    assert found.acceptable is False and RetakeCause.MOTION in found.spoiled_by
    assert found.critical == () and found.percent >= found.mastery_percent
    assert not found.completed and not found.mastered


def test_an_attempt_that_is_not_finished_is_not_mastered():
    """All points but the end."""
    found = scored(without(CLEAN_RUN, doing(do.Finish)))
    assert found.percent == 100.0 and not found.mastered


@pytest.mark.parametrize("acts", [[act(do.Finish)], [act(do.Withhold, reason=WithholdReason.OTHER),
                                                     act(do.Finish)]])  # fmt: skip
def test_doing_nothing_earns_next_to_nothing(acts):
    """Neither ending at once nor stopping without need comes near the mark."""
    found = scored(acts)
    assert found.percent < 10.0 and not found.mastered
    assert block(found, Block.POSITION).earned == 0.0
    assert found.acceptable is None


def test_a_right_stop_is_scored_by_what_it_came_to():
    """Position and prescription did not apply; preparation and the rest did."""
    stop = act(do.Withhold, reason=WithholdReason.NOT_AUTHORISED)
    acts = [*CLEAN_RUN[:3], *ASK_AND_GO, stop, act(do.Finish)]
    visit = replace(
        VISIT, card=RequestCard(VISIT.card.prescription, authorised=False),
        answers=Answers(authorises=False),
    )  # fmt: skip
    found = scored(acts, context(visit))
    assert found.completed and found.withheld and found.critical == ()
    applied = {b.block for b in found.blocks if b.items}
    assert Block.POSITION not in applied and Block.PRESCRIPTION not in applied
    assert Block.PREPARATION in applied
    assert found.percent == 100.0 and found.success
    unread = without(acts, doing(do.ReadRequest))
    assert scored(unread, context(visit)).percent < 90.0


def test_the_same_attempt_under_two_sets_of_rules_scores_differently():
    """By hand: one of six blocks earns nothing, so the percent is 100 less that block's weight."""
    looked_away = instead(CLEAN_RUN, doing(do.LookAt), act(do.LookAt, gaze=Gaze.SCREEN))
    usual = scored(looked_away)
    assert [f.item for f in usual.critical] == [CriticalItem.NOT_WATCHED]
    # Free path does not apply; watching has 4 of the 6 counts left, done in part.
    assert row(usual, "watching").points == pytest.approx(0.5 * row(usual, "watching").most)
    other = LocalRules(
        critical_items=(CriticalItem.IDENTITY,),
        block_weights=BlockWeights(10, 10, 30, 10, 30, 10),
        mastery_percent=60.0,
    )
    found = scored(looked_away, context(rules=other))
    assert found.critical == () and found.mastered and found.success
    lost = 1.0 - block(usual, Block.EXPOSURE).earned
    assert usual.percent == pytest.approx(100.0 - 10.0 * lost, abs=0.05)
    assert found.percent == pytest.approx(100.0 - 30.0 * lost, abs=0.05)
    assert not usual.mastered


def test_tolerances_of_the_local_rules_count():
    """Where half a degree is asked for, 0.7 degrees earn 2 - 0.7 / 0.5 of the point (by hand)."""
    strict = Tolerances(exam=Tolerance(0.75, 0.5, 0.5, 0.1, inside_credit=0.0))
    where = context(rules=LocalRules(tolerances=strict))
    acts = posed(yaw_deg=0.7)
    assert row(scored(acts, where), "yaw").points == pytest.approx(0.6)
    assert row(scored(acts), "yaw").points == pytest.approx(1.0)


def test_time_is_shown_and_never_scored():
    """The same acts in six times the waiting give another time and the same points."""
    slow = [replace(a, after_s=6.0 * a.after_s) if a.kind in (do.Call, do.Greet) else a
            for a in CLEAN_RUN]  # fmt: skip
    quick, late = scored(CLEAN_RUN), scored(slow)
    assert late.duration_s > quick.duration_s
    assert replace(late, duration_s=quick.duration_s) == quick


def test_a_prediction_never_changes_what_it_predicts():
    """With the darkest prediction or with none: the same score in all it has."""
    dark = Prediction(frozenset({"tooth-48"}), 0, False)
    with_it = scored([*CLEAN_RUN, act(do.Predict, prediction=dark)])
    assert with_it == scored(CLEAN_RUN)


def test_a_hint_costs_nothing_and_is_counted():
    """Hints on request are logged; points stay."""
    acts = before(CLEAN_RUN, doing(do.LeaveRoom), act(do.AskHint), act(do.AskHint))
    found = scored(acts, help=HelpLevel.ON_REQUEST)
    assert found.hints == 2 and found.percent == 100.0 and found.success


CHANGES = st.lists(
    st.tuples(st.sampled_from(["drop", "twice", "swap"]), st.integers(0, len(CLEAN_RUN) - 2)),
    min_size=1,
    max_size=6,
)
VISITS = [
    VISIT,
    replace(VISIT, companion="father"),
    replace(VISIT, can_be_pregnant=True, pregnancy=PregnancyAnswer.NOT_SURE),
    replace(VISIT, supports_left_on=(Support.BITE_PIECE, Support.NOSE_REST)),
]
CONTEXTS: dict[int, object] = {}


def _context(n):
    if n not in CONTEXTS:
        CONTEXTS[n] = context(VISITS[n])
    return CONTEXTS[n]


@settings(max_examples=60)
@given(CHANGES, st.integers(0, len(VISITS) - 1), st.sampled_from(HelpLevel))
def test_no_attempt_with_a_critical_fail_is_mastered(changes, visit, help):
    """Whatever is dropped, doubled or swapped in a clean run.

    Points stay between 0 and what there is, and a success is mastered, without help, and repeats
    nothing needlessly.
    """
    acts = list(CLEAN_RUN)
    for what, n in changes:
        spot = n % (len(acts) - 1)
        if what == "drop":
            del acts[spot]
        elif what == "twice":
            acts.insert(spot, acts[spot])
        else:
            acts[spot], acts[spot + 1] = acts[spot + 1], acts[spot]
    state = open_appointment(_context(visit), 1, help)
    for command in timed(acts):
        try:
            state = step(state, command).state
        except (NotAllowedNow, NotValid, NotFound):
            continue
    found = score(state)
    assert not (found.critical and found.mastered)
    assert not found.success or (
        found.mastered and help.is_unassisted and not found.needless_retake
    )
    assert 0.0 <= found.percent <= 100.0
    for b in found.blocks:
        assert all(0.0 <= i.points <= i.most for i in b.items)
        if b.items:
            assert sum(i.most for i in b.items) == pytest.approx(b.weight)
            assert sum(i.points for i in b.items) == pytest.approx(b.weight * b.earned)


def test_a_required_structure_named_by_the_case_is_what_is_asked():
    """The score lists the case's own structures in its order."""
    case = real_case()[0]
    asked = (Requirement("canal-at-48", 2.0), Requirement("tooth-48", 2.0))
    assert {r.structure for r in asked} <= {r.structure for r in case.required}
    assert scored(CLEAN_RUN, context(required=asked)).required == ("canal-at-48", "tooth-48")
