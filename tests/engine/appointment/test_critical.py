"""Critical items: one failing and one passing attempt for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from helpers.appointments import (
    CLEAN_RUN,
    ORDER,
    OTHER_ROWAN,
    ROWAN,
    VISIT,
    Act,
    act,
    before,
    context,
    doing,
    instead,
    play,
    without,
)

from trainer.engine.appointment.critical import critical_fails
from trainer.engine.judgement.score import Score, score
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Answers, LocalRules, RequestCard, WornItem
from trainer.models.appointment_words import (
    CallBy,
    CriticalItem,
    Gaze,
    Grade,
    IdentityItem,
    PregnancyAnswer,
    Topic,
    WornPlace,
)

LEAVE, RECORD = doing(do.LeaveRoom), doing(do.WriteRecord)
RING = WornItem("ring", "a lip ring", WornPlace.LIP)
UNSURE = {"can_be_pregnant": True, "pregnancy": PregnancyAnswer.NOT_SURE}
ASK = act(do.AskPractitioner, topic=Topic.AUTHORISATION)
AGAIN = [
    *(a for a in CLEAN_RUN if a.kind in (do.OpenImage, do.CheckImage, do.GradeImage)),
    act(do.MakeReady),
    act(do.PressSwitch, after_s=4.0),
    act(do.Wait, after_s=19.0),
]
LOW = without(CLEAN_RUN, doing(do.Adjust, values={"chin_height_mm": -28.0}))
GRADED_N = instead(CLEAN_RUN, doing(do.GradeImage), act(do.GradeImage, grade=Grade.N))
RIGHT_RECORD = next(a for a in CLEAN_RUN if RECORD(a)).values
EARLY = {**RIGHT_RECORD, "grade": None}
LET_GO = before(
    CLEAN_RUN,
    doing(do.LookAt),
    act(do.PressSwitch),
    act(do.ReleaseSwitch, after_s=3.0),
    act(do.MakeReady),
    act(do.Wait, after_s=5.0),
)


@dataclass(frozen=True)
class Pair:
    """An attempt that fails a critical item, and one under the same conditions that does not."""

    item: CriticalItem
    fails: Sequence[Act]
    passes: Sequence[Act] = field(default_factory=lambda: CLEAN_RUN)
    visit: dict[str, Any] = field(default_factory=dict)
    rules: LocalRules = field(default_factory=LocalRules)


PAIRS = [
    Pair(
        CriticalItem.NOT_AUTHORISED,
        CLEAN_RUN,
        before(CLEAN_RUN, doing(do.Call), ASK),
        {"card": RequestCard(ORDER, authorised=False)},
    ),
    Pair(
        CriticalItem.NOT_AUTHORISED,
        before(CLEAN_RUN, doing(do.OpenImage), ASK),
        before(CLEAN_RUN, LEAVE, ASK),
        {"card": RequestCard(ORDER, authorised=False)},
    ),
    Pair(
        CriticalItem.NOT_AUTHORISED,
        CLEAN_RUN,
        before(CLEAN_RUN, doing(do.Call), act(do.AskPractitioner, topic=Topic.REQUEST)),
        {"card": RequestCard(ORDER, unclear="Side missing."), "answers": Answers(clears=ORDER)},
    ),
    Pair(
        CriticalItem.IDENTITY,
        instead(
            CLEAN_RUN,
            doing(do.AskIdentity, item=IdentityItem.NAME),
            act(do.AskIdentity, item=IdentityItem.NAME, open_question=False),
        ),
    ),
    Pair(
        CriticalItem.PREGNANCY_RULE,
        CLEAN_RUN,
        before(CLEAN_RUN, LEAVE, act(do.AskPractitioner, topic=Topic.PREGNANCY)),
        {**UNSURE, "answers": Answers(after_pregnancy=True)},
    ),
    Pair(
        CriticalItem.PREGNANCY_RULE,
        without(CLEAN_RUN, doing(do.AskPregnancy)),
        visit={"can_be_pregnant": True},
    ),
    Pair(
        CriticalItem.WRONG_PLACE_OR_PERSON,
        instead(
            CLEAN_RUN,
            doing(do.Adjust, values={"field_sideways_mm": -30.0}),
            act(do.Adjust, values={"field_sideways_mm": 30.0}),
        ),
    ),
    Pair(
        CriticalItem.WRONG_PLACE_OR_PERSON,
        instead(CLEAN_RUN, doing(do.Call), act(do.Call, by=CallBy.SURNAME)),
        visit={"waiting": (OTHER_ROWAN, ROWAN)},
    ),
    Pair(
        CriticalItem.WRONG_PLACE_OR_PERSON,  # filed under nobody
        without(CLEAN_RUN, doing(do.OpenAtConsole)),
        visit={"console_left_over": ""},
    ),
    Pair(CriticalItem.TARGET_OUTSIDE, LOW),
    Pair(
        CriticalItem.METAL,
        CLEAN_RUN,
        before(CLEAN_RUN, doing(do.Explain), act(do.TakeItemOut, item="ring")),
        {"items": (RING,)},
    ),
    Pair(
        CriticalItem.OTHERS_INSIDE,
        CLEAN_RUN,
        before(CLEAN_RUN, LEAVE, act(do.SendCompanionOut)),
        {"companion": "father"},
    ),
    Pair(
        CriticalItem.NOT_WATCHED,
        instead(CLEAN_RUN, doing(do.LookAt), act(do.LookAt, gaze=Gaze.SCREEN)),
    ),
    Pair(CriticalItem.RETAKE, before(CLEAN_RUN, doing(do.OpenImage), *AGAIN)),
    Pair(CriticalItem.RETAKE, before(LOW, doing(do.OpenImage), *AGAIN), LOW),
    Pair(
        CriticalItem.NOT_RECORDED,
        GRADED_N,
        instead(GRADED_N, RECORD, act(do.WriteRecord, **{**RIGHT_RECORD, "rejected_runs": 1})),
    ),
    Pair(
        CriticalItem.NOT_RECORDED,
        without(GRADED_N, RECORD),
        instead(GRADED_N, RECORD, act(do.WriteRecord, **{**RIGHT_RECORD, "rejected_runs": 1})),
    ),
    Pair(  # a run let go of and never graded, beside the one that is shown
        CriticalItem.NOT_RECORDED,
        LET_GO,
        instead(LET_GO, RECORD, act(do.WriteRecord, **{**RIGHT_RECORD, "runs": 2})),
    ),
    Pair(CriticalItem.NOT_RECORDED, without(LOW, RECORD), LOW),  # a cut image graded A
    Pair(  # written before anything was exposed
        CriticalItem.NOT_RECORDED,
        before(without(LOW, RECORD), LEAVE, act(do.WriteRecord, **RIGHT_RECORD)),
        LOW,
    ),
    Pair(  # written before the image was graded N
        CriticalItem.NOT_RECORDED,
        before(without(GRADED_N, RECORD), doing(do.GradeImage), act(do.WriteRecord, **EARLY)),
        instead(GRADED_N, RECORD, act(do.WriteRecord, **{**RIGHT_RECORD, "rejected_runs": 1})),
    ),
]


def judged(pair: Pair, acts: Sequence[Act], rules: LocalRules | None = None) -> Score:
    """The score of the acts under the pair's conditions."""
    where = context(replace(VISIT, **pair.visit), rules or pair.rules)
    return score(play(acts, where)[0])


def items(found: Score) -> set[CriticalItem]:
    """Critical items that failed."""
    assert all(f.sentence.endswith(".") for f in found.critical)
    return {f.item for f in found.critical}


def test_every_item_has_a_pair():
    """All ten critical items are tried below."""
    assert {p.item for p in PAIRS} == set(CriticalItem)
    assert len(CriticalItem) == 10


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.item.value)
def test_one_attempt_fails_it(pair):
    """The first of the pair fails the item, and no points make up for it."""
    found = judged(pair, pair.fails)
    assert pair.item in items(found)
    assert not found.mastered and not found.success


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.item.value)
def test_the_other_does_not(pair):
    """The second one, under the same conditions, does not."""
    assert pair.item not in items(judged(pair, pair.passes))


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.item.value)
def test_an_item_counts_only_if_the_local_rules_say_so(pair):
    """Left out of the rules' list it fails nothing; alone in the list it still does."""
    others = tuple(i for i in CriticalItem if i is not pair.item)
    assert pair.item not in items(judged(pair, pair.fails, LocalRules(critical_items=others)))
    alone = LocalRules(critical_items=(pair.item,))
    assert items(judged(pair, pair.fails, alone)) == {pair.item}


def test_a_clean_run_fails_none():
    """With everything done rightly no critical item fails."""
    assert critical_fails(play(CLEAN_RUN)[0]) == ()


def test_what_was_confirmed_with_somebody_else_does_not_count():
    """After the person was sent back the next one has to state everything again."""
    acts = before(
        CLEAN_RUN,
        doing(do.AskPregnancy),
        act(do.SendBack),
        act(do.Call, by=CallBy.FULL_NAME),
    )
    assert [f.item for f in critical_fails(play(acts)[0])] == [CriticalItem.IDENTITY]
