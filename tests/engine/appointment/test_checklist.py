"""The 29 steps: each is reached by a clean run, and found missing when it is left out."""

from __future__ import annotations

from dataclasses import replace

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
    without,
)

from trainer.engine.appointment.checklist import NAMES, checklist
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Answers, LocalRules, RequestCard, WornItem
from trainer.models.appointment_words import (
    ArchPlace,
    Done,
    Firmness,
    Gaze,
    Grade,
    HistoryTopic,
    Hygiene,
    IdentityItem,
    ImagePoint,
    Instruction,
    PregnancyAnswer,
    QualityCheck,
    RetakeCause,
    ScoutKind,
    Shield,
    SpacerKind,
    Stance,
    Support,
    Topic,
    Trait,
    UnitPosition,
    View,
    WithholdReason,
    WornPlace,
)
from trainer.models.device import Region
from trainer.models.learning import HelpLevel
from trainer.models.motion import Movement, MovementKind

FINE = (Done.DONE, Done.NOT_NEEDED)
LEAVE = doing(do.LeaveRoom)
NOD = Movement(MovementKind.NOD, 4.0, 1.0, 5.0, (0, 0, 0, 1, 0, 0), False, True)
CAN_BE_PREGNANT = {"can_be_pregnant": True}
RING = WornItem("ring", "a nose ring", WornPlace.NOSE)


def report(acts, number, where=None, help=HelpLevel.NONE):
    """What the checklist says of one step."""
    return checklist(play(acts, where or context(), help=help)[0])[number - 1]


def test_a_clean_run_lacks_nothing():
    """All 29 steps are done or not needed, in their order."""
    found = checklist(play(CLEAN_RUN)[0])
    assert [s.number for s in found] == list(range(1, 30))
    assert [(s.name, s.sentence) for s in found if s.done not in FINE] == []
    assert {s.number for s in found if s.done is Done.NOT_NEEDED} == {6, 23}


def test_nothing_done_is_found_nowhere_done():
    """With nothing done no step counts as done."""
    found = checklist(play([act(do.Finish)])[0])
    assert not any(s.done is Done.DONE for s in found)
    assert len(NAMES) == 29


LEFT_OUT = [
    (1, [doing(do.ReadRequest)], Done.SKIPPED),
    (2, [doing(do.CheckAuthorisation)], Done.SKIPPED),
    (3, [doing(do.Clean, what=Hygiene.BARRIERS_ON)], Done.PARTLY),
    (3, [doing(do.TakeSupportOff, support=Support.BITE_PIECE)], Done.PARTLY),
    (3, [doing(do.FitSupport, support=Support.CHIN_REST)], Done.PARTLY),
    (3, [doing(do.MoveUnit, to=UnitPosition.ENTRY)], Done.PARTLY),
    (4, [doing(do.Greet)], Done.SKIPPED),
    (5, [doing(do.AskIdentity)], Done.SKIPPED),
    (5, [doing(do.AskIdentity, item=IdentityItem.BIRTH_DATE)], Done.PARTLY),
    (7, [doing(do.AskHistory)], Done.SKIPPED),
    (7, [doing(do.AskHistory, topic=HistoryTopic.NECK)], Done.PARTLY),
    (8, [doing(do.LookForMetal)], Done.SKIPPED),
    (8, [doing(do.LookForMetal, place=WornPlace.TONGUE)], Done.PARTLY),
    (10, [doing(do.Explain)], Done.SKIPPED),
    (11, [doing(do.EnterProgramme)], Done.SKIPPED),
    (12, [doing(do.Instruct, what=Instruction.BACK_STRAIGHT)], Done.PARTLY),
    (15, [doing(do.Look, view=View.FRONT)], Done.SKIPPED),
    (16, [doing(do.Look, view=View.SIDE)], Done.SKIPPED),
    (15, [doing(do.SwitchLights)], Done.SKIPPED),
    (17, [doing(do.Adjust, values={"chin_height_mm": -28.0})], Done.PARTLY),
    (17, [doing(do.Adjust, values={"arm_turned": True})], Done.PARTLY),
    (18, [doing(do.SetBand)], Done.SKIPPED),
    (20, [doing(do.TakeScout), doing(do.MarkTarget), doing(do.NameCut)], Done.SKIPPED),
    (20, [doing(do.MarkTarget), doing(do.NameCut)], Done.PARTLY),
    (21, [doing(do.Instruct, what=Instruction.SWALLOW_ONCE)], Done.PARTLY),
    (22, [doing(do.LookAt)], Done.PARTLY),
    (24, [doing(do.WatchStanding)], Done.PARTLY),
    (24, [doing(do.SetBand, firmness=Firmness.LOOSE)], Done.PARTLY),
    (25, [doing(do.CheckImage)], Done.SKIPPED),
    (25, [doing(do.CheckImage, point=ImagePoint.SIDE)], Done.PARTLY),
    (25, [doing(do.GradeImage)], Done.PARTLY),
    (27, [doing(do.WriteRecord)], Done.SKIPPED),
    (28, [doing(do.Clean, what=Hygiene.BARRIERS_OFF)], Done.PARTLY),
    (29, [doing(do.DoQualityCheck, what=QualityCheck.DAILY_CHECK)], Done.SKIPPED),
]


@pytest.mark.parametrize(("number", "which", "done"), LEFT_OUT)
def test_what_is_left_out_is_found(number, which, done):
    """Leaving the acts of a step out marks that step, with a sentence on what lacks."""
    found = report(without(CLEAN_RUN, *which), number)
    assert found.done is done
    assert found.sentence.endswith(".")


@pytest.mark.parametrize(
    ("number", "kind"),
    [(1, do.ReadRequest), (2, do.CheckAuthorisation), (5, do.AskIdentity), (7, do.AskHistory)],
)
def test_what_comes_after_the_radiation_is_late(number, kind):
    """The same acts after the first radiation count as late."""
    late = [a for a in CLEAN_RUN if a.kind is kind]
    acts = before(without(CLEAN_RUN, doing(kind)), doing(do.OpenImage), *late)
    assert report(acts, number).done is Done.LATE


def test_a_room_made_ready_with_somebody_in_it_is_late():
    """Cleaning once the person is there is too late."""
    clean = doing(do.Clean, what=Hygiene.BARRIERS_ON)
    acts = before(
        without(CLEAN_RUN, clean), doing(do.Greet), act(do.Clean, what=Hygiene.BARRIERS_ON)
    )
    assert report(acts, 3).done is Done.LATE


def test_the_image_checked_after_the_person_left_is_late():
    """Checking has to come while a repeat is still possible."""
    check = [a for a in CLEAN_RUN if a.kind in (do.OpenImage, do.CheckImage, do.GradeImage)]
    acts = without(CLEAN_RUN, doing(do.OpenImage), doing(do.CheckImage), doing(do.GradeImage))
    assert report(before(acts, doing(do.WriteRecord), *check), 25).done is Done.LATE


def where(rules=None, **visit):
    """A changed visit."""
    return context(replace(VISIT, **visit), rules or LocalRules())


@pytest.mark.parametrize(
    ("answer", "private", "ask", "done"),
    [
        (PregnancyAnswer.NO, True, False, Done.DONE),
        (PregnancyAnswer.NO, False, False, Done.PARTLY),
        (PregnancyAnswer.NOT_SURE, True, False, Done.PARTLY),
        (PregnancyAnswer.NOT_SURE, True, True, Done.DONE),
    ],
)
def test_pregnancy_by_the_local_rule(answer, private, ask, done):
    """Asked in private, and an unclear answer goes to the practitioner."""
    asked = [act(do.AskPregnancy, in_private=private)]
    if ask:
        asked.append(act(do.AskPractitioner, topic=Topic.PREGNANCY))
    acts = instead(CLEAN_RUN, doing(do.AskPregnancy), *asked)
    assert report(acts, 6, where(**CAN_BE_PREGNANT, pregnancy=answer)).done is done


@pytest.mark.parametrize(
    ("rules", "done"),
    [
        (LocalRules(), Done.SKIPPED),
        (LocalRules(pregnancy_ages=None), Done.NOT_NEEDED),
        (LocalRules(pregnancy_ages=(30, 50)), Done.NOT_NEEDED),  # the patient is 28
    ],
)
def test_whom_the_rule_does_not_mean_is_not_asked(rules, done):
    """Without a rule, or outside its ages, the question is not needed."""
    acts = without(CLEAN_RUN, doing(do.AskPregnancy))
    assert report(acts, 6, where(rules, **CAN_BE_PREGNANT)).done is done


def test_the_same_attempt_under_two_local_rules_on_shielding():
    """A low collar is right by one rule and wrong by the other."""
    acts = before(CLEAN_RUN, LEAVE, act(do.WearShield, shield=Shield.COLLAR_LOW))
    collar = where(LocalRules(shield=Shield.COLLAR_LOW))
    assert report(acts, 9, collar).done is Done.DONE
    assert report(acts, 9).done is Done.SKIPPED
    assert report(CLEAN_RUN, 9, collar).done is Done.SKIPPED


def test_an_unclear_request_has_to_be_cleared_up():
    """Read alone is not enough when the card contradicts itself."""
    unclear = where(card=RequestCard(ORDER, unclear="Side missing."), answers=Answers(clears=ORDER))
    assert report(CLEAN_RUN, 1, unclear).done is Done.PARTLY
    asked = before(CLEAN_RUN, doing(do.Call), act(do.AskPractitioner, topic=Topic.REQUEST))
    assert report(asked, 1, unclear).done is Done.DONE


def test_an_image_in_the_wrong_file_is_no_right_programme():
    """With nobody's file open at the console step 11 is done in part."""
    found = report(without(CLEAN_RUN, doing(do.OpenAtConsole)), 11, where(console_left_over=""))
    assert found.done is Done.PARTLY
    assert "filed under nobody" in found.sentence


@pytest.mark.parametrize(("off_mm", "done"), [(5.0, Done.DONE), (40.0, Done.PARTLY)])
def test_a_mark_far_from_the_target_is_no_mark(off_mm, done):
    """Pointing at another place on the scout is told with its distance."""
    mark = act(do.MarkTarget, kind=ScoutKind.FRONTAL, across_mm=off_mm, up_mm=0.0)
    found = report(instead(CLEAN_RUN, doing(do.MarkTarget), mark), 20)
    assert found.done is done
    assert ("mark" in found.sentence) is (done is Done.PARTLY)


@pytest.mark.parametrize(
    ("level", "help", "more", "done"),
    [
        (1, HelpLevel.OPEN, 2, Done.DONE),
        (1, HelpLevel.OPEN, 3, Done.PARTLY),
        (1, HelpLevel.NONE, 1, Done.DONE),
        (1, HelpLevel.NONE, 2, Done.PARTLY),
        (2, HelpLevel.OPEN, 1, Done.DONE),
        (2, HelpLevel.OPEN, 2, Done.PARTLY),
        (4, HelpLevel.ON_REQUEST, 2, Done.PARTLY),
    ],
)
def test_more_scouts_than_the_level_allows_are_told(level, help, more, done):
    """Three pairs at the guided level, two above it and in an exam (training reference, 2.5)."""
    pair = [a for a in CLEAN_RUN if a.kind is do.TakeScout]
    acts = before(CLEAN_RUN, doing(do.MarkTarget), *(pair * more))
    assert report(acts, 20, context(level=level), help).done is done


def test_a_daily_check_after_the_radiation_is_late():
    """The unit is checked before the first exposure of the day, not at the end."""
    check = doing(do.DoQualityCheck, what=QualityCheck.DAILY_CHECK)
    daily = next(a for a in CLEAN_RUN if check(a))
    acts = before(without(CLEAN_RUN, check), doing(do.Finish), daily)
    assert report(acts, 29).done is Done.LATE


@pytest.mark.parametrize("spot", [do.LeaveRoom, do.OpenImage])
def test_a_record_written_too_early_is_none(spot):
    """What was written before the exposure or before its grade does not count."""
    record = doing(do.WriteRecord)
    early = next(a for a in CLEAN_RUN if record(a))
    assert report(before(without(CLEAN_RUN, record), doing(spot), early), 27).done is Done.SKIPPED


def test_metal_that_stays_on_is_found_though_all_was_looked_at():
    """Seen and left on is not done."""
    found = report(CLEAN_RUN, 8, where(items=(RING,)))
    assert found.done is Done.PARTLY
    assert "nose ring" in found.sentence


def test_a_needless_sentence_is_told():
    """Technical talk among the explanation is told."""
    sentences = (*do.Sentence,)
    found = report(instead(CLEAN_RUN, doing(do.Explain), act(do.Explain, sentences=sentences)), 10)
    assert found.done is Done.PARTLY
    assert "tube voltage" in found.sentence


def test_the_unit_comes_to_the_person():
    """A unit that stands 60 mm too high strains the neck, and the step says so."""
    height = doing(do.Adjust, values={"unit_height_mm": 1538.0})
    found = report(
        instead(CLEAN_RUN, height, act(do.Adjust, values={"unit_height_mm": 1600.0})), 13
    )
    assert found.done is Done.PARTLY
    assert "the neck is stretched" in found.sentence


def test_loose_brakes_are_found():
    """A wheelchair with its brakes off is not stable."""
    acts = instead(CLEAN_RUN, doing(do.TakePlace), act(do.TakePlace, stance=Stance.OWN_WHEELCHAIR))
    assert "brakes" in report(acts, 12, where(traits=frozenset({Trait.WHEELCHAIR}))).sentence


@pytest.mark.parametrize(
    ("both", "done"), [(None, Done.SKIPPED), (False, Done.PARTLY), (True, Done.DONE)]
)
def test_the_spacer_has_to_be_in_and_steady(both, done):
    """Ordered apart: nothing, on one side, on both."""
    acts = CLEAN_RUN
    if both is not None:
        placed = act(
            do.PlaceSpacer,
            kind=SpacerKind.ROLL,
            place=ArchPlace.MOLARS,
            both_sides=both,
            gap_mm=4.0,
        )
        acts = before(CLEAN_RUN, doing(do.SwitchLights), placed)
    apart = RequestCard(replace(ORDER, arches_apart=True))
    assert report(acts, 14, where(card=apart)).done is done


def test_front_before_side_with_the_arm_turned():
    """The field goes sideways from the front first, then forward with the arm turned."""
    sideways = act(do.Adjust, values={"field_sideways_mm": -29.5}, after_s=6.0)
    forward = act(do.Adjust, values={"field_forward_mm": -33.5})
    turn = doing(do.Adjust, values={"arm_turned": True})
    back = doing(do.Adjust, values={"arm_turned": False})
    right = before(before(CLEAN_RUN, turn, sideways), back, forward)
    assert report(right, 17).done is Done.DONE
    unseen = report(before(CLEAN_RUN, turn, sideways, forward), 17)
    assert (unseen.done, "unseen" in unseen.sentence) == (Done.PARTLY, True)
    swapped = report(before(before(CLEAN_RUN, back, forward), LEAVE, sideways), 17)
    assert (swapped.done, "before it was set from the front" in swapped.sentence) == (
        Done.PARTLY,
        True,
    )


def test_an_upper_jaw_wants_the_gap_measured():
    """With an upper-jaw order the tape belongs to the step."""
    upper = where(card=RequestCard(replace(ORDER, region=Region.UPPER_JAW)))
    region = doing(do.Adjust, values={"region": "lower-jaw", "field": "40x40"})
    changed = instead(
        CLEAN_RUN, region, act(do.Adjust, values={"region": "upper-jaw", "field": "40x40"})
    )
    state, _ = play(without(changed, doing(do.MeasureWithTape)), upper)
    lacking = checklist(state)[16]
    assert lacking.done is Done.PARTLY


def test_a_free_path_is_tried_where_something_is_near():
    """Skipping the trial run is no slip with nobody near, and one with large shoulders."""
    acts = without(CLEAN_RUN, doing(do.TrialRun))
    assert report(acts, 19).done is Done.NOT_NEEDED
    broad = where(traits=frozenset({Trait.LARGE_SHOULDERS}))
    assert report(acts, 19, broad).done is Done.SKIPPED


@pytest.mark.parametrize(
    ("motion", "released_s", "done"),
    [
        ((), None, Done.NOT_NEEDED),
        ((), 9.0, Done.PARTLY),
        ((NOD,), None, Done.SKIPPED),
        ((NOD,), 6.0, Done.DONE),
        ((replace(NOD, start_s=15.0),), None, Done.NOT_NEEDED),
        ((replace(NOD, size_mm=1.5),), None, Done.NOT_NEEDED),
    ],
)
def test_reacting(motion, released_s, done):
    """Letting go is right when a large movement comes early, and only then."""
    acts = CLEAN_RUN
    if released_s is not None:
        acts = instead(CLEAN_RUN, doing(do.Wait), act(do.Wait, after_s=released_s - 1.0))
    assert report(acts, 23, where(scripted_motion=motion)).done is done


def test_a_wrong_grade_is_found():
    """A good image graded N, or a cut one graded A."""
    wrong = instead(CLEAN_RUN, doing(do.GradeImage), act(do.GradeImage, grade=Grade.N))
    assert report(wrong, 25).done is Done.PARTLY
    cut = without(CLEAN_RUN, doing(do.Adjust, values={"chin_height_mm": -28.0}))
    assert "it is N" in report(cut, 25).sentence


def test_a_rejected_image_is_noted():
    """With a reject the quality programme wants it noted."""
    acts = instead(CLEAN_RUN, doing(do.GradeImage), act(do.GradeImage, grade=Grade.N))
    noted = doing(do.DoQualityCheck, what=QualityCheck.REJECT_LOG)
    assert report(acts, 29).done is Done.DONE
    assert report(without(acts, noted), 29).done is Done.PARTLY


def test_a_rightly_stopped_appointment_needs_no_more():
    """Without a signature and with a practitioner who says no, what follows is not needed."""
    visit = where(card=RequestCard(ORDER, authorised=False), answers=Answers(authorises=False))
    stop = next(i for i, a in enumerate(CLEAN_RUN) if a.kind is do.Clean)
    acts = [
        *CLEAN_RUN[:stop],
        act(do.AskPractitioner, topic=Topic.AUTHORISATION),
        act(do.Withhold, reason=WithholdReason.NOT_AUTHORISED),
        act(do.Finish),
    ]
    found = checklist(play(acts, visit)[0])
    assert [s.done for s in found[:2]] == [Done.DONE] * 2
    assert all(s.done is Done.NOT_NEEDED for s in found[2:28])
    called = before(acts, doing(do.Withhold), act(do.Call, by=do.CallBy.FULL_NAME))
    found = checklist(play(called, visit)[0])
    assert {s.done for s in found[2:5]} == {Done.SKIPPED}
    assert all(s.done is Done.NOT_NEEDED for s in found[6:28])


def test_a_stop_without_need_leaves_everything_to_be_done():
    """Nothing is excused when the way was free: all that was not done counts as skipped."""
    acts = [act(do.Withhold, reason=WithholdReason.OTHER), act(do.Finish)]
    found = checklist(play(acts)[0])
    assert [s.done for s in found if s.number in (1, 2, 3, 5, 8, 11, 22, 27)] == [Done.SKIPPED] * 8


def test_the_companion_left_inside_is_told():
    """Somebody else in the room marks the exposure; sent out, or allowed by rule, not."""
    with_mother = {"companion": "mother"}
    assert "mother" in report(CLEAN_RUN, 22, where(**with_mother)).sentence
    out = before(CLEAN_RUN, LEAVE, act(do.SendCompanionOut))
    assert report(out, 22, where(**with_mother)).done is Done.DONE
    may_stay = where(LocalRules(companion_may_stay=True), **with_mother)
    assert report(CLEAN_RUN, 22, may_stay).done is Done.DONE


def test_eyes_elsewhere_are_told():
    """Looking at the screen during the run marks the step."""
    acts = instead(CLEAN_RUN, doing(do.LookAt), act(do.LookAt, gaze=Gaze.ELSEWHERE))
    assert "eyes" in report(acts, 22).sentence


@pytest.mark.parametrize(("ask", "mend", "done"), [(1, 1, FINE[0]), (0, 1, None), (1, 0, None)])
def test_a_repeat_is_asked_for_and_the_cause_mended(ask, mend, done):
    """A cut image may be repeated when the practitioner says so and the height is mended."""
    height = doing(do.Adjust, values={"chin_height_mm": -28.0})
    again = [
        *(a for a in CLEAN_RUN if a.kind in (do.OpenImage, do.CheckImage)),
        act(do.GradeImage, grade=Grade.N, causes=(RetakeCause.COVERAGE,)),
        *([act(do.AskPractitioner, topic=Topic.RETAKE)] if ask else []),
        act(do.DecideRetake, retake=True, cause=RetakeCause.COVERAGE),
        act(do.EnterRoom),
        *([next(a for a in CLEAN_RUN if height(a))] if mend else []),
        act(do.LeaveRoom),
        act(do.CloseDoor),
        act(do.MakeReady),
        act(do.PressSwitch, after_s=4.0),
        act(do.Wait, after_s=19.0),
    ]
    rules = LocalRules(retake_decided_by="the radiologist on call")
    acts = before(without(CLEAN_RUN, height), doing(do.OpenImage), *again)
    found = report(acts, 26, where(rules))
    assert found.done is (done or Done.PARTLY)
    told = "The radiologist on call was not asked before run 2."
    assert (found.sentence == told) is (not ask)
