"""The appointment's step: pure, nothing forced but by interlocks, time in the commands."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.appointments import (
    CLEAN_RUN,
    ORDER,
    OTHER_ROWAN,
    ROWAN,
    VISIT,
    act,
    context,
    doing,
    instead,
    play,
    timed,
    without,
)

from trainer.engine.appointment.conditions import (
    head_hold,
    looks_restless,
    nudged_since_look,
)
from trainer.engine.appointment.outcome import radiation
from trainer.engine.appointment.state import open_appointment
from trainer.engine.appointment.step import HANDLERS, step
from trainer.engine.motion import motion_trace, movements, summary
from trainer.errors import NotAllowedNow, NotFound, NotValid, TrainerError
from trainer.models import appointment_commands as do
from trainer.models import appointment_events as ev
from trainer.models.appointment_visit import Answers, LocalRules, NeckRange, RequestCard, WornItem
from trainer.models.appointment_words import (
    ArchPlace,
    CallBy,
    Firmness,
    Gaze,
    HistoryTopic,
    IdentityItem,
    Instruction,
    Interlock,
    PregnancyAnswer,
    RunEnd,
    RunKind,
    ScoutKind,
    Sentence,
    SpacerKind,
    Stance,
    Support,
    Topic,
    Touch,
    Trait,
    UnitPosition,
    WithholdReason,
    WornPlace,
)
from trainer.models.clearance import BodyPlace, Clearance
from trainer.models.motion import HeadHold, Movement, MovementKind
from trainer.models.protocol import ExposureKind

UP_TO_RUN = CLEAN_RUN[: next(i for i, a in enumerate(CLEAN_RUN) if a.kind is do.PressSwitch)]
UP_TO_OUT = CLEAN_RUN[: next(i for i, a in enumerate(CLEAN_RUN) if a.kind is do.LeaveRoom)]
PRESS, RELEASE = act(do.PressSwitch), act(do.ReleaseSwitch, after_s=5.0)
EARLY_NOD = Movement(MovementKind.NOD, 4.0, 1.0, 5.0, (0, 0, 0, 1, 0, 0), False, True)
UNSEEN_NOD = replace(EARLY_NOD, start_s=6.0, seen=False)


def events(steps):
    """All events."""
    return [e for s in steps for e in s.events]


def last(steps):
    """Events of the last step."""
    return steps[-1].events


def test_every_command_is_handled():
    """Each kind of command has one handler."""
    assert set(HANDLERS) == set(do.COMMANDS)
    assert len(do.COMMANDS) == 57


def test_the_same_commands_lead_to_the_same_end():
    """Equal case, seed and commands give equal states, events and effects."""
    one, steps_one = play(CLEAN_RUN, seed=5)
    two, steps_two = play(CLEAN_RUN, seed=5)
    assert [s.events for s in steps_one] == [s.events for s in steps_two]
    assert [s.effects for s in steps_one] == [s.effects for s in steps_two]
    assert one.log == two.log
    assert one.runs == two.runs


def test_the_state_before_is_untouched():
    """A step makes a new state; the old one stays, and can be stepped from again."""
    state = open_appointment(context(), 1)
    first = step(state, do.ReadRequest(at_s=1.0))
    assert state.log == ()
    assert first.state is not state
    assert step(state, do.ReadRequest(at_s=1.0)).state == first.state


def test_the_log_holds_every_event_in_order():
    """The log is the events with their times, which never run back."""
    state, steps = play(CLEAN_RUN)
    assert [e.event for e in state.log] == events(steps)
    times = [e.at_s for e in state.log]
    assert times == sorted(times)


def test_a_run_ends_at_its_own_time():
    """The end of a run is logged when it was, however late the next command comes."""
    state, _ = play([*UP_TO_RUN, PRESS, act(do.Wait, after_s=100.0)])
    started, ended = state.first(ev.RunStarted), state.first(ev.RunEnded)
    assert ended - started == state.runs[0].planned_s == 18.0


def test_time_runs_forwards():
    """A command before the last one is refused."""
    state = step(open_appointment(context(), 1), do.ReadRequest(at_s=5.0)).state
    with pytest.raises(NotAllowedNow, match="Time runs forwards"):
        step(state, do.ReadRequest(at_s=4.9))


def test_nothing_comes_after_the_end():
    """A finished appointment takes no more commands."""
    state, _ = play(CLEAN_RUN)
    with pytest.raises(NotAllowedNow, match="over"):
        step(state, do.Wait(at_s=state.at_s))


def test_no_signature_does_not_block():
    """The unit knows nothing of authorisation, identity or answers: it exposes all the same."""
    visit = replace(VISIT, card=RequestCard(ORDER, authorised=False))
    acts = without(
        UP_TO_RUN,
        doing(do.CheckAuthorisation),
        doing(do.AskIdentity),
        doing(do.AskPregnancy),
        doing(do.ReadRequest),
    )
    state, _ = play([*acts, PRESS], context(visit))
    assert state.exposure.running is not None


def test_the_unit_alone_can_be_enough():
    """With everything skipped that can be, a run is still possible: nothing else is forced."""
    acts = [
        act(do.Call, by=CallBy.SURNAME),
        act(do.TakePlace, stance=Stance.STANDING),
        act(do.LeaveRoom),
        act(do.CloseDoor),
        act(do.MakeReady),
        act(do.PressSwitch, after_s=3.0),
        act(do.Wait, after_s=20.0),
        act(do.Finish),
    ]
    state, steps = play(acts)
    assert state.runs[0].end is RunEnd.COMPLETE
    assert any(isinstance(e, ev.Bumped) for e in events(steps))


@pytest.mark.parametrize(
    ("acts", "interlocks"),
    [
        (
            without(
                instead(
                    UP_TO_RUN,
                    doing(do.Adjust, values={"arm_turned": False}),
                    act(do.Wait, after_s=6.0),
                ),
                doing(do.TakeScout),
                doing(do.MarkTarget),
                doing(do.NameCut),
            ),
            (Interlock.ARM_TURNED, Interlock.NOT_READY),
        ),
        (
            without(
                UP_TO_RUN,
                doing(do.CloseDoor),
                doing(do.TakeScout),
                doing(do.MarkTarget),
                doing(do.NameCut),
            ),
            (Interlock.DOOR_OPEN, Interlock.NOT_READY),
        ),
        (
            without(
                UP_TO_RUN,
                doing(do.MoveUnit, to=UnitPosition.WORK),
                doing(do.TakeScout),
                doing(do.MarkTarget),
                doing(do.NameCut),
            ),
            (Interlock.NOT_IN_WORK_POSITION, Interlock.NOT_READY),
        ),
        (
            [*UP_TO_RUN, act(do.Adjust, values={"field_sideways_mm": 10.0})],
            (Interlock.UNIT_MOVING, Interlock.NOT_READY),
        ),
        ([*UP_TO_RUN, act(do.MakeReady)], (Interlock.NOT_YET_STEADY,)),
        (
            [*UP_TO_OUT, act(do.CloseDoor), act(do.MakeReady)],
            (Interlock.NOT_YET_STEADY, Interlock.OPERATOR_INSIDE),
        ),
        ([*UP_TO_RUN, act(do.EnterRoom)], None),
    ],
)
def test_interlocks_keep_the_unit_from_exposing(acts, interlocks):
    """Arm, movement, position, door, operator and the steady ready state are interlocks."""
    state, steps = play([*acts, act(do.PressSwitch, after_s=0.5)])
    (blocked,) = last(steps)
    assert isinstance(blocked, ev.Blocked)
    assert blocked.interlocks == interlocks or interlocks is None
    assert state.exposure.running is None
    assert state.runs == ()


@pytest.mark.parametrize("steady_s", [0.0, 3.0, 8.0])
def test_the_switch_counts_once_ready_is_steady(steady_s):
    """The ready state has to stand for the local rule's seconds; just before, nothing happens."""
    rules = LocalRules(ready_steady_s=steady_s)
    for after_s, runs in ((steady_s, True), (steady_s - 0.01, False)):
        if after_s < 0.0:
            continue
        acts = [*UP_TO_RUN, act(do.MakeReady), act(do.PressSwitch, after_s=after_s)]
        acts = without(acts, doing(do.TakeScout), doing(do.MarkTarget), doing(do.NameCut))
        state, _ = play(acts, context(rules=rules))
        assert (state.exposure.running is not None) is runs


def test_whatever_moves_ends_the_ready_state():
    """A control that moves, or the door, takes the ready state away; a look at the screen not."""
    for more, ready in (
        (act(do.Adjust, values={"field_sideways_mm": -29.0}), False),
        (act(do.EnterRoom), False),
        (act(do.LookAt, gaze=Gaze.PATIENT), True),
        (act(do.Adjust, values={"field_sideways_mm": -30.0}), True),  # stands there already
    ):
        state, _ = play([*UP_TO_RUN, more])
        assert (state.room.ready_from_s is not None) is ready


def test_opening_the_door_to_leave_ends_the_ready_state():
    """A unit made ready from inside the room is not ready once the operator has gone out."""
    inside = without(UP_TO_RUN, doing(do.LeaveRoom), doing(do.TakeScout))
    inside = without(inside, doing(do.MarkTarget), doing(do.NameCut))
    assert play(inside)[0].room.ready_from_s is not None
    assert play([*inside, act(do.LeaveRoom)])[0].room.ready_from_s is None


def test_nobody_stays_in_a_wheelchair_they_do_not_have():
    """Only a person who came in a wheelchair can stay in it."""
    acts = instead(CLEAN_RUN, doing(do.TakePlace), act(do.TakePlace, stance=Stance.OWN_WHEELCHAIR))
    with pytest.raises(NotAllowedNow, match="has no wheelchair"):
        play(acts)


def test_letting_go_stops_at_once():
    """Releasing ends the run at that very time, and what was recorded is told."""
    state, steps = play([*UP_TO_RUN, PRESS, RELEASE])
    (ended,) = last(steps)
    assert ended == ev.RunEnded(1, RunEnd.RELEASED, 5.0)
    assert steps[-1].effects == (ev.ComputeImage(1),)
    assert state.runs[0].recorded_share == pytest.approx(5.0 / 18.0)


def test_a_switch_that_stays_equals_a_held_one():
    """Pressing twice a switch that stays leads to the same run as holding one and letting go."""
    held, _ = play([*UP_TO_RUN, PRESS, RELEASE])
    stays = act(do.PressSwitch, stays=True)
    toggled, _ = play([*UP_TO_RUN, stays, act(do.PressSwitch, after_s=5.0)])
    assert toggled.runs == held.runs
    released, _ = play([*UP_TO_RUN, stays, RELEASE])
    assert released.runs == held.runs


def test_while_radiation_is_on_hands_are_bound():
    """During a run only switch, eyes and time are possible; a second press of a held one is not."""
    state, _ = play([*UP_TO_RUN, PRESS])
    for command in (
        do.EnterRoom(at_s=state.at_s + 1.0),
        do.Adjust(at_s=state.at_s + 1.0, values={"yaw_deg": 3.0}),
    ):
        with pytest.raises(NotAllowedNow, match="Radiation is on"):
            step(state, command)
    with pytest.raises(NotAllowedNow, match="pressed already"):
        step(state, do.PressSwitch(at_s=state.at_s + 1.0))


def test_who_watches_sees_the_movement():
    """A movement is told while the eyes are on the patient, when it begins, if it can be seen."""
    visit = replace(VISIT, scripted_motion=(EARLY_NOD, UNSEEN_NOD))
    state, steps = play([*UP_TO_RUN, PRESS, act(do.Wait, after_s=10.0)], context(visit))
    assert last(steps) == (ev.PersonMoved(1, MovementKind.NOD, 4.0),)
    assert state.last(ev.PersonMoved) == state.first(ev.RunStarted) + 4.0
    away = [*UP_TO_RUN, act(do.LookAt, gaze=Gaze.SCREEN), PRESS, act(do.Wait, after_s=10.0)]
    assert last(play(away, context(visit))[1]) == ()


def test_the_watched_share_is_the_time_with_eyes_on_the_patient():
    """Half a run at the screen leaves half of it watched."""
    acts = [*UP_TO_RUN, PRESS, act(do.LookAt, after_s=9.0, gaze=Gaze.SCREEN)]
    state, _ = play([*acts, act(do.Wait, after_s=30.0)])
    assert state.runs[0].watched_share == pytest.approx(0.5)
    whole, _ = play(CLEAN_RUN)
    assert whole.runs[0].watched_share == pytest.approx(1.0)


def test_the_motion_that_is_shown_is_the_motion_of_the_image():
    """The effect that plays the movement gives the very trace whose summary the run keeps."""
    visit = replace(VISIT, scripted_motion=None)
    state, steps = play([*UP_TO_RUN, PRESS, act(do.Wait, after_s=20.0)], context(visit), seed=4)
    (shown,) = [e for s in steps for e in s.effects if isinstance(e, ev.PlayMotion)]
    run = state.runs[0]
    trace = motion_trace(shown.cause, shown.planned_s, shown.seed)
    assert summary(trace, run.recorded_s) == run.motion
    assert movements(run.cause, run.planned_s, run.seed) == trace.movements


def test_only_the_first_full_run_follows_the_script():
    """A scripted movement comes in the first full run; the next one is left to chance."""
    visit = replace(VISIT, scripted_motion=(EARLY_NOD,))
    again = [act(do.MakeReady), act(do.PressSwitch, after_s=4.0), act(do.Wait, after_s=20.0)]
    state, _ = play([*UP_TO_RUN, PRESS, act(do.Wait, after_s=20.0), *again], context(visit))
    assert state.runs[0].cause.scripted == (EARLY_NOD,)
    assert state.runs[1].cause.scripted is None


def test_a_preview_is_shorter_and_leaves_the_script():
    """A preview takes half the time and does not use up the scripted movement."""
    preview = replace(ORDER.programme, run_kind=RunKind.PREVIEW)
    visit = replace(VISIT, scripted_motion=(EARLY_NOD,))
    acts = instead(UP_TO_RUN, doing(do.EnterProgramme), act(do.EnterProgramme, programme=preview))
    state, _ = play([*acts, PRESS, act(do.Wait, after_s=20.0)], context(visit))
    assert state.runs[0].planned_s == 9.0
    assert state.runs[0].cause.scripted is None


def test_bands_turn_the_head_by_one_to_three_degrees():
    """Closing a band turns one axis by 1 to 3 degrees, another seed otherwise; opening does not."""
    found = set()
    for seed in range(40):
        _, steps = play(UP_TO_OUT, seed=seed)
        (nudge,) = [e for e in events(steps) if isinstance(e, ev.HeadNudged)]
        turns = (nudge.pitch_deg, nudge.yaw_deg, nudge.roll_deg)
        assert sorted(abs(t) for t in turns)[:2] == [0.0, 0.0]
        assert 1.0 <= max(abs(t) for t in turns) <= 3.0
        found.add(turns)
    assert len(found) > 20
    loose = act(do.SetBand, support=Support.FOREHEAD_REST, firmness=Firmness.LOOSE)
    state, _ = play([*UP_TO_OUT, loose])
    assert len(state.times(ev.HeadNudged)) == 1


def test_looking_again_counts_only_with_the_lines_on():
    """After closing a band a look with the lights out does not tell of the new turn."""
    band = next(i for i, a in enumerate(UP_TO_OUT) if a.kind is do.SetBand)
    closed = UP_TO_OUT[: band + 1]
    looks = [act(do.Look, view=v) for v in do.View]
    assert nudged_since_look(play(closed)[0]) != (0.0, 0.0, 0.0)
    dark = [*closed, act(do.SwitchLights, on=False), *looks]
    assert nudged_since_look(play(dark)[0]) != (0.0, 0.0, 0.0)
    assert nudged_since_look(play([*closed, *looks])[0]) == (0.0, 0.0, 0.0)


def test_calling_by_surname_may_bring_somebody_else():
    """Of two with one surname the first comes; the leading question is agreed to, the open not."""
    visit = replace(VISIT, waiting=(OTHER_ROWAN, ROWAN))
    ask = [act(do.AskIdentity, item=IdentityItem.NAME, open_question=o) for o in (False, True)]
    _, steps = play([act(do.Call, by=CallBy.SURNAME), *ask], context(visit))
    came, leading, openly = events(steps)
    assert came == ev.PersonCame("rowan-senior")
    assert (leading.words, leading.agrees) == ("Yes.", True)
    assert (openly.words, openly.agrees) == ("Hal Rowan", False)


def test_a_leading_question_confirms_nothing():
    """Only what the person stated counts as confirmed."""
    acts = [
        act(do.Call, by=CallBy.FULL_NAME),
        act(do.AskIdentity, item=IdentityItem.NAME, open_question=False),
        act(do.AskIdentity, item=IdentityItem.BIRTH_DATE, open_question=True),
    ]
    assert play(acts)[0].person.confirmed == {IdentityItem.BIRTH_DATE}


def test_sending_back_forgets_what_was_said():
    """The next person starts anew."""
    acts = [
        act(do.Call, by=CallBy.FULL_NAME),
        act(do.AskIdentity, item=IdentityItem.NAME, open_question=True),
        act(do.SendBack),
        act(do.Call, by=CallBy.FULL_NAME),
    ]
    assert play(acts)[0].person.confirmed == frozenset()


def test_the_question_of_pregnancy_before_others_gets_no_answer():
    """In private the answer is what the case says; before others there is none."""
    visit = replace(VISIT, can_be_pregnant=True, pregnancy=PregnancyAnswer.NOT_SURE)
    for private, answer in ((True, PregnancyAnswer.NOT_SURE), (False, PregnancyAnswer.NO_ANSWER)):
        acts = [act(do.Call, by=CallBy.FULL_NAME), act(do.AskPregnancy, in_private=private)]
        assert last(play(acts, context(visit))[1]) == (ev.PregnancyAnswered(private, answer),)


@pytest.mark.parametrize(
    ("visit", "topic", "go_on"),
    [
        ({}, Topic.AUTHORISATION, True),
        ({"card": RequestCard(ORDER, authorised=False)}, Topic.AUTHORISATION, True),
        (
            {
                "card": RequestCard(ORDER, authorised=False),
                "answers": Answers(authorises=False),
            },
            Topic.AUTHORISATION,
            False,
        ),
        ({"answers": Answers(after_pregnancy=False)}, Topic.PREGNANCY, False),
        ({"answers": Answers(after_pregnancy=True)}, Topic.PREGNANCY, True),
        ({}, Topic.REQUEST, True),
    ],
)
def test_the_practitioner_answers_as_the_case_says(visit, topic, go_on):
    """Authorisation and going on after an unclear answer follow the case."""
    state, steps = play([act(do.AskPractitioner, topic=topic)], context(replace(VISIT, **visit)))
    (answer,) = last(steps)
    assert (answer.topic, answer.go_on) == (topic, go_on)
    if topic is Topic.AUTHORISATION:
        assert state.authorised is go_on


def test_an_unclear_request_is_cleared_up_by_asking():
    """Until the operator asks, the card stands; then what the practitioner means."""
    meant = replace(ORDER, teeth=("38",))
    visit = replace(
        VISIT, card=RequestCard(ORDER, unclear="Tooth missing."), answers=Answers(clears=meant)
    )
    opened = open_appointment(context(visit), 1)
    assert opened.prescription is ORDER
    asked = step(opened, do.AskPractitioner(at_s=1.0, topic=Topic.REQUEST))
    assert asked.state.prescription is meant
    assert "38" in asked.events[0].words


def test_stopping_is_possible_at_any_time():
    """The operator can withhold the exposure with a reason and a note."""
    withhold = act(do.Withhold, reason=WithholdReason.PREGNANCY, note="told the practitioner")
    _, steps = play([withhold])
    assert last(steps) == (ev.Withheld(WithholdReason.PREGNANCY, "told the practitioner"),)


EARRING = WornItem("earring", "an earring", WornPlace.EARS, hidden=True)
GLASSES = WornItem("glasses", "spectacles", WornPlace.EYES)


def test_what_is_hidden_is_found_by_looking_only():
    """Asked, the person names what shows; the hidden earring can be taken out once seen."""
    visit = replace(VISIT, items=(GLASSES, EARRING))
    asked = [act(do.Call, by=CallBy.FULL_NAME), act(do.AskAboutMetal)]
    state, steps = play(asked, context(visit))
    assert last(steps) == (ev.MetalTold(("glasses",)),)
    with pytest.raises(NotAllowedNow, match="not found"):
        step(state, do.TakeItemOut(at_s=state.at_s, item="earring"))
    looked = [*asked, act(do.LookForMetal, place=WornPlace.EARS)]
    state, steps = play([*looked, act(do.TakeItemOut, item="earring")], context(visit))
    assert events(steps)[-2:] == [
        ev.PlaceLookedAt(WornPlace.EARS, ("earring",)),
        ev.ItemTakenOut("earring"),
    ]
    assert state.person.worn == ("glasses",)
    put = step(state, do.PutItemIn(at_s=state.at_s, item="earring"))
    assert put.state.person.worn == ("glasses", "earring")


def test_a_hearing_aid_stays_in_until_all_is_said():
    """With the aid out nothing is heard; before, everything."""
    aid = WornItem("aid", "a hearing aid", WornPlace.EARS, hears=True)
    visit = replace(VISIT, traits=frozenset({Trait.HARD_OF_HEARING}), items=(aid,))
    call, out = act(do.Call, by=CallBy.FULL_NAME), act(do.TakeItemOut, item="aid")
    say = act(do.Explain, sentences=(Sentence.HAND_SIGNAL,))
    first, _ = play([call, say, out], context(visit))
    assert first.person.explained == {Sentence.HAND_SIGNAL}
    second, steps = play([call, out, say], context(visit))
    assert second.person.explained == frozenset()
    assert last(steps) == (ev.Explained((Sentence.HAND_SIGNAL,), heard=False),)


def test_asking_about_hearing_helps_who_has_no_aid():
    """Who hears badly and has no aid understands once the operator knows."""
    visit = replace(VISIT, traits=frozenset({Trait.HARD_OF_HEARING}))
    call, say = act(do.Call, by=CallBy.FULL_NAME), act(do.Instruct, what=Instruction.TONGUE_UP)
    ask = act(do.AskHistory, topic=HistoryTopic.HEARING)
    assert play([call, say], context(visit))[0].person.told == ()
    state, steps = play([call, ask, say], context(visit))
    assert state.person.heard(Instruction.TONGUE_UP)
    assert "hear badly" in events(steps)[1].words


def test_a_stiff_neck_stops_at_its_limit():
    """The head is not forced: it stops where the neck does, and says so."""
    visit = replace(VISIT, neck=NeckRange(pitch_deg=(-18.0, -12.0)))
    state, steps = play([*UP_TO_OUT, act(do.Adjust, values={"pitch_deg": 5.0})], context(visit))
    assert state.setup.pitch_deg == -12.0
    assert ev.NeckResisted("pitch_deg", 5.0, -12.0) in last(steps)


@pytest.mark.parametrize(
    ("kind", "place", "both", "gap", "kept"),
    [
        (SpacerKind.ROLL, ArchPlace.INCISORS, True, 4.0, False),
        (SpacerKind.ROLL, ArchPlace.PREMOLARS, True, 9.0, False),
        (SpacerKind.ROLL, ArchPlace.PREMOLARS, True, 4.0, True),
    ],
)
def test_a_gag_reflex_throws_the_spacer_out(kind, place, both, gap, kept):
    """In front, or thick, it comes out again; a small one at the premolars stays."""
    visit = replace(VISIT, traits=frozenset({Trait.GAG_REFLEX}))
    placed = act(do.PlaceSpacer, kind=kind, place=place, both_sides=both, gap_mm=gap)
    state, steps = play([*UP_TO_OUT, placed], context(visit))
    assert (state.person.spacer is not None) is kept
    assert state.setup.jaw_gap_mm == (gap if kept else 0.0)
    assert any(isinstance(e, ev.Gagged) for e in last(steps)) is not kept


def test_a_jaw_stays_open_only_on_a_spacer():
    """Without a spacer the jaw gap cannot be set; taking it out closes the jaw."""
    state, _ = play(UP_TO_OUT)
    with pytest.raises(NotAllowedNow, match="spacer"):
        step(state, do.Adjust(at_s=state.at_s, values={"jaw_gap_mm": 4.0}))
    placed = act(
        do.PlaceSpacer,
        kind=SpacerKind.BLOCK,
        place=ArchPlace.INCISORS,
        both_sides=False,
        gap_mm=5.0,
    )
    state, _ = play([*UP_TO_OUT, placed, act(do.TakeSpacerOut)])
    assert state.setup.jaw_gap_mm == 0.0


def test_a_trial_run_tells_what_would_be_touched():
    """Large shoulders, loose brakes, hair and clothes are found without radiation."""
    traits = {Trait.LARGE_SHOULDERS, Trait.LONG_HAIR, Trait.THICK_CLOTHES, Trait.WHEELCHAIR}
    visit = replace(VISIT, traits=frozenset(traits))
    acts = instead(
        without(UP_TO_OUT, doing(do.Instruct)),
        doing(do.TakePlace),
        act(do.TakePlace, stance=Stance.OWN_WHEELCHAIR),
    )
    _, steps = play(acts, context(visit))
    expected = (Touch.SHOULDERS, Touch.CHAIR, Touch.HAIR, Touch.CLOTHES)
    assert last(steps) == (ev.TrialRunDone(expected),)
    right = instead(
        UP_TO_OUT,
        doing(do.TakePlace),
        act(do.TakePlace, stance=Stance.OWN_WHEELCHAIR, brakes_on=True),
    )
    assert play(right, context(visit))[0].log[-3].event == ev.TrialRunDone(())


@pytest.mark.parametrize(
    ("place", "distance_mm", "low", "touched"),
    [
        (BodyPlace.LEFT_SHOULDER, -10.0, False, (Touch.SHOULDERS,)),
        (BodyPlace.LEFT_SHOULDER, -10.0, True, ()),
        (BodyPlace.UPPER_BACK, -40.0, True, (Touch.SHOULDERS,)),
        (BodyPlace.FACE, -1.0, True, (Touch.HEAD,)),
        (BodyPlace.FACE, 5.0, False, ()),
    ],
)
def test_where_the_path_was_computed_it_decides(place, distance_mm, low, touched):
    """With a computed clearance the geometry counts; shoulders that are let down give way."""
    plain = context()

    def looked(setup):
        found = Clearance(distance_mm, "the detector housing", place, (0.0, 0.0, 0.0))
        return replace(plain.placing(setup), clearance=found)

    acts = UP_TO_OUT if low else without(UP_TO_OUT, doing(do.Instruct))
    _, steps = play(acts, replace(plain, placing=looked))
    assert ev.TrialRunDone(touched) in events(steps)


def test_another_field_brings_a_voxel_of_its_own():
    """The unit takes the nearest voxel that a new field offers, and refuses one it lacks."""
    state, steps = play([act(do.Adjust, values={"region": "lower-jaw", "field": "80x50"})])
    assert state.programme.voxel_um == 200
    state, steps = play(
        [
            *CLEAN_RUN[: next(i for i, a in enumerate(CLEAN_RUN) if a.kind is do.TakePlace)],
            act(do.Adjust, values={"field": "80x50"}),
        ]
    )
    assert last(steps)[-1] == ev.VoxelChanged(160)
    finer = do.EnterProgramme(at_s=state.at_s, programme=replace(ORDER.programme, voxel_um=75))
    with pytest.raises(NotValid, match="field 80x50 offers 160, 200, 300, got 75"):
        step(state, finer)


def test_scouts_cost_and_can_be_marked():
    """Each scout is counted; pointing at the target tells how far off the point is."""
    state, steps = play(UP_TO_RUN)
    assert [s.kind for s in state.scouts] == [ScoutKind.FRONTAL, ScoutKind.LATERAL]
    (marked,) = [e for e in events(steps) if isinstance(e, ev.TargetMarked)]
    target = state.context.placing(state.setup).target
    x, _, z = target.centre_mm
    assert marked.off_mm == pytest.approx((x**2 + z**2) ** 0.5, abs=0.05)
    off = step(
        state, do.MarkTarget(at_s=state.at_s, kind=ScoutKind.FRONTAL, across_mm=x + 3, up_mm=z - 4)
    )
    assert off.events[0].off_mm == 5.0


def test_what_a_scout_cuts_is_compared_with_what_is_named():
    """With the chin too low the scouts cut the bottom; the answer stands beside what is named."""
    height = doing(do.Adjust, values={"chin_height_mm": -28.0})
    _, steps = play(without(UP_TO_RUN, height))
    (named,) = [e for e in events(steps) if isinstance(e, ev.CutNamed)]
    assert named.named == ()
    assert named.true == (do.CutSide.BOTTOM,)


def test_freeing_with_closed_bands_bumps():
    """Standing up against closed bands or a unit in the way is told."""
    free = next(i for i, a in enumerate(CLEAN_RUN) if a.kind is do.EnterRoom)
    _, steps = play([*CLEAN_RUN[: free + 1], act(do.LetGo)])
    assert [type(e) for e in last(steps)] == [ev.Bumped, ev.Bumped, ev.PersonFreed]
    _, steps = play(CLEAN_RUN)
    assert not any(isinstance(e, ev.Bumped) for e in events(steps))


def test_a_wrong_record_names_its_entries():
    """The record is compared with what happened, entry by entry."""
    record = doing(do.WriteRecord)
    true = next(a for a in CLEAN_RUN if record(a))
    wrong = act(do.WriteRecord, **{**true.values, "scouts": 0, "voxel_um": 200, "kap_noted": False})
    _, steps = play(instead(CLEAN_RUN, record, wrong))
    (written,) = [e for e in events(steps) if isinstance(e, ev.RecordWritten)]
    assert written.wrong == ("voxel_um", "scouts", "kap_noted")


@pytest.mark.parametrize(
    "command",
    [
        do.Greet(at_s=0.0),
        do.AskIdentity(at_s=0.0, item=IdentityItem.NAME, open_question=True),
        do.SendBack(at_s=0.0),
        do.TakePlace(at_s=0.0, stance=Stance.SEATED),
        do.Adjust(at_s=0.0, values={"yaw_deg": 1.0}),
        do.SetBand(at_s=0.0, support=Support.FOREHEAD_REST, firmness=Firmness.SNUG),
        do.OpenImage(at_s=0.0),
        do.DecideRetake(at_s=0.0, retake=False),
        do.EnterRoom(at_s=0.0),
        do.TakeSupportOff(at_s=0.0, support=Support.EAR_RODS),
        do.MarkTarget(at_s=0.0, kind=ScoutKind.FRONTAL, across_mm=0.0, up_mm=0.0),
        do.SendCompanionOut(at_s=0.0),
        do.AskPractitioner(at_s=0.0, topic=Topic.RETAKE),
    ],
    ids=lambda c: type(c).__name__,
)
def test_what_has_no_meaning_now_is_refused(command):
    """Without a person, an image or the part in question the command raises."""
    with pytest.raises(NotAllowedNow):
        step(open_appointment(context(), 1), command)


def test_unknown_names_are_refused():
    """People and items that the case does not know raise and name those it knows."""
    state, _ = play([act(do.Call, by=CallBy.FULL_NAME)])
    with pytest.raises(NotFound, match="rowan"):
        step(state, do.OpenAtConsole(at_s=9.0, person="oak"))
    with pytest.raises(NotFound, match="there are: none"):
        step(state, do.TakeItemOut(at_s=9.0, item="ring"))


def test_what_the_unit_cannot_do_is_refused_whole():
    """A control out of travel raises, and nothing has moved."""
    state, _ = play(UP_TO_OUT)
    with pytest.raises(NotValid, match="chin_height_mm"):
        step(state, do.Adjust(at_s=state.at_s, values={"chin_height_mm": 999.0, "yaw_deg": 1.0}))


def test_every_command_of_the_clean_run_can_be_left_out_or_is_refused_later():
    """Leaving out any one act never crashes: what lost its meaning is refused in words."""
    for spot in range(len(CLEAN_RUN)):
        state, refused = open_appointment(context(), 1), []
        for command in timed(CLEAN_RUN[:spot] + CLEAN_RUN[spot + 1 :]):
            try:
                state = step(state, command).state
            except NotAllowedNow as error:
                refused.append(str(error))
        assert all(refused)
        assert state.finished is (spot != len(CLEAN_RUN) - 1)


def test_waiting_for_a_calm_moment_pays():
    """A person who fidgets is restless by turns; a run started in a calm one is told as such."""
    visit = replace(VISIT, traits=frozenset({Trait.FIDGETS}), scripted_motion=None)
    found = set()
    for wait_s in range(1, 40, 3):
        state, _ = play([*UP_TO_RUN, act(do.PressSwitch, after_s=float(wait_s))], context(visit))
        cause = state.exposure.running.cause
        assert cause.restless is looks_restless(state, state.at_s)
        found.add(cause.restless)
    assert found == {True, False}
    state, _ = play([*UP_TO_RUN, PRESS])
    assert not state.exposure.running.cause.restless


@pytest.mark.parametrize(
    ("supports", "hold"),
    [
        ((), HeadHold.FREE),
        ((Support.CHIN_REST,), HeadHold.CHIN_ONLY),
        ((Support.CHIN_REST, Support.FOREHEAD_REST), HeadHold.REST),
        ((Support.CHIN_REST, Support.FOREHEAD_REST, Support.HEAD_STRAP), HeadHold.REST_AND_STRAP),
        ((Support.TOOTHLESS_CHIN_REST, Support.TEMPLE_SUPPORTS), HeadHold.ALL_ROUND),
    ],
)
def test_supports_hold_the_head(supports, hold):
    """Chin rest, forehead rest, strap and temple supports hold better and better."""
    fitted = [act(do.FitSupport, support=s) for s in supports]
    closed = [
        act(do.SetBand, support=s, firmness=Firmness.SNUG)
        for s in supports
        if s not in (Support.CHIN_REST, Support.TOOTHLESS_CHIN_REST)
    ]
    acts = [
        *fitted,
        act(do.MoveUnit, to=UnitPosition.ENTRY),
        act(do.Call, by=CallBy.FULL_NAME),
        act(do.TakePlace, stance=Stance.SEATED),
        *closed,
    ]
    assert head_hold(play(acts)[0]) is hold


def test_every_use_of_radiation_is_counted():
    """Scouts and runs, broken off or not, in their order, with what they were made with."""
    press = next(a for a in CLEAN_RUN if a.kind is do.PressSwitch)
    again = [act(do.MakeReady), act(do.PressSwitch, after_s=4.0), act(do.Wait, after_s=20.0)]
    state, _ = play([*UP_TO_RUN, press, act(do.ReleaseSwitch, after_s=9.0), *again])
    used = radiation(state)
    assert [u.exposure.kind for u in used] == [
        ExposureKind.FRONTAL_SCOUT,
        ExposureKind.LATERAL_SCOUT,
        ExposureKind.FULL,
        ExposureKind.FULL,
    ]
    assert [u.share for u in used] == [1.0, 1.0, 0.5, 1.0]
    assert {(u.field, u.exposure.voxel_um, u.preview) for u in used} == {("40x40", 100, False)}


def test_a_seed_is_not_negative():
    """A negative seed is refused in words."""
    with pytest.raises(TrainerError, match="seed -1"):
        open_appointment(context(), -1)
