"""Hints and predictions: when they can be had, and that neither changes anything else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.appointments import (
    CLEAN_RUN,
    RULES,
    VISIT,
    act,
    before,
    context,
    doing,
    play,
    real_case,
    without,
)

from trainer.engine.advice import advise
from trainer.engine.appointment.hints import OVER, READY
from trainer.engine.appointment.learner import prediction_of
from trainer.errors import NotAllowedNow, NotValid
from trainer.models import appointment_commands as do
from trainer.models.appointment_events import HintGiven, Predicted
from trainer.models.learning import HelpLevel, Prediction

ASK = act(do.AskHint)
SAID = Prediction(frozenset({"tooth-48"}), 70, True)
SAY = act(do.Predict, prediction=SAID)
AGAIN = [act(do.MakeReady), act(do.PressSwitch, after_s=4.0), act(do.Wait, after_s=19.0)]


def hint(acts, where=None):
    """The words of a hint asked for after some acts."""
    _, steps = play([*acts, ASK], where, help=HelpLevel.ON_REQUEST)
    (event,) = steps[-1].events
    assert isinstance(event, HintGiven)
    return event.words


def until(which):
    """The clean run up to the first act that is meant."""
    spot = next(i for i, a in enumerate(CLEAN_RUN) if which(a))
    return CLEAN_RUN[:spot]


@pytest.mark.parametrize("help", [h for h in HelpLevel if h is not HelpLevel.ON_REQUEST])
def test_hints_come_at_their_own_help_level_only(help):
    """Elsewhere the command is refused in words, in an exam too."""
    with pytest.raises(NotAllowedNow, match="no hints on request"):
        play([ASK], help=help)


def test_a_hint_at_the_unit_is_the_engines_advice():
    """Its words are those of the smallest movement, and after it everything is inside."""
    case, unit, head, _ = real_case()

    def advising(setup):
        found = advise(case, head, unit, setup)
        return found[0].sentence if found else ""

    where = replace(context(VISIT, RULES), advising=advising)
    acts = until(doing(do.Adjust, values={"chin_height_mm": -28.0}))
    state = play(acts, where)[0]
    best = advise(case, head, unit, state.setup)[0]
    assert hint(acts, where) == best.sentence
    mended = [*acts, act(do.Adjust, values=best.changes)]
    placed = where.placing(play(mended, where)[0].setup)
    assert placed.all_required_inside
    assert hint(mended, where) != best.sentence


def test_elsewhere_a_hint_names_the_first_step_that_lacks():
    """In the order of the work: request, room, person, image, record."""
    assert hint([]).startswith("Request read. ")
    room = without(until(doing(do.Call)), doing(do.Clean, what=do.Hygiene.SURFACES))
    assert "cleaning the surfaces" in hint(room)
    assert hint(until(doing(do.Call))) == "Call the person."
    assert hint(until(doing(do.AskIdentity))).startswith("Identity. ")
    assert hint(until(doing(do.OpenAtConsole))) == "Have the person take their place."
    assert hint(until(doing(do.Look))).startswith("Programme. ") is False
    assert hint(until(doing(do.PressSwitch))) == READY
    assert hint(until(doing(do.OpenImage))).startswith("Image checked. ")
    assert hint(until(doing(do.Finish))) == OVER


def test_a_hint_changes_nothing_but_the_log():
    """The state after it differs in time and log only."""
    acts = until(doing(do.Look))
    one = play(acts, help=HelpLevel.ON_REQUEST)[0]
    two = play([*acts, act(do.AskHint, after_s=0.0)], help=HelpLevel.ON_REQUEST)[0]
    assert replace(two, log=one.log, context=one.context) == one
    assert len(two.log) == len(one.log) + 1


@pytest.mark.parametrize(
    "acts",
    [
        [*CLEAN_RUN, SAY],
        before(CLEAN_RUN, doing(do.OpenImage), SAY),
        before(CLEAN_RUN, doing(do.Finish), SAY),
        [act(do.Withhold, reason=do.WithholdReason.OTHER), SAY],
    ],
)
def test_a_prediction_can_be_made_once_there_is_something_to_predict(acts):
    """After a run, at the end, after the end, after stopping; it is kept as said."""
    state, steps = play(acts)
    assert prediction_of(state) == SAID
    assert [e for s in steps for e in s.events if isinstance(e, Predicted)] == [Predicted(SAID)]


def test_there_is_nothing_to_predict_before_a_run():
    """A scout is no image yet."""
    with pytest.raises(NotAllowedNow, match="nothing to predict"):
        play([*until(doing(do.PressSwitch)), SAY])


def test_a_prediction_stands():
    """A second one is refused, after the end too, and the first is kept."""
    with pytest.raises(NotAllowedNow, match="it stands"):
        play([*CLEAN_RUN, SAY, SAY])
    with pytest.raises(NotAllowedNow, match="it stands"):
        play([*before(CLEAN_RUN, doing(do.OpenImage), SAY), SAY])


def test_a_new_run_makes_a_prediction_void():
    """What was said of the image before says nothing of the next one."""
    acts = [*until(doing(do.CheckImage)), SAY, *AGAIN]
    assert prediction_of(play(acts)[0]) is None
    other = act(do.Predict, prediction=Prediction(frozenset(), 10, False))
    assert prediction_of(play([*acts, other])[0]) == other.values["prediction"]


def test_only_what_is_required_can_be_predicted():
    """Another name is refused by name."""
    strange = act(do.Predict, prediction=Prediction(frozenset({"tooth-11"}), 10, False))
    with pytest.raises(NotValid, match="tooth-11: not among the required"):
        play([*CLEAN_RUN, strange])


def test_nothing_else_can_be_done_after_the_end():
    """The prediction is the only command that the end leaves."""
    with pytest.raises(NotAllowedNow, match="is over"):
        play([*CLEAN_RUN, act(do.Wait)])
    with pytest.raises(NotAllowedNow, match="is over"):
        play([*CLEAN_RUN, ASK], help=HelpLevel.ON_REQUEST)


@pytest.mark.parametrize("percent", [-1, 101])
def test_a_percent_is_one(percent):
    """Beyond 0 to 100 it is refused."""
    with pytest.raises(NotValid, match="must be 0 to 100"):
        Prediction(frozenset(), percent, True)
