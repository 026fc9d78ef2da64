"""The acts as data."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.appointments import BEFORE, TALK, VISIT, act, context, play
from trainer.app.appointment.act_list import acts_of
from trainer.app.appointment.acts import Phase
from trainer.app.appointment.acts_before import known_items
from trainer.engine.appointment.state import open_appointment
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import WornItem
from trainer.models.appointment_words import CallBy, Support, WornPlace

# What forms, switches, controls and pictures of the window do, and the clock.
NOT_BUTTONS = {
    do.Explain, do.EnterProgramme, do.Adjust, do.PlaceSpacer, do.TakeSpacerOut, do.GradeImage,
    do.DecideRetake, do.WriteRecord, do.Finish, do.TakeScout, do.MarkTarget, do.NameCut,
    do.PressSwitch, do.ReleaseSwitch, do.LookAt, do.Wait, do.AskHint, do.Predict, do.NameSign,
}  # fmt: skip


def all_acts(state):
    """Every act of every phase."""
    return [a for p in Phase for g in acts_of(p, state) for a in g.acts]


def test_every_kind_of_command_can_be_done() -> None:
    """Buttons, forms and switches together offer all commands of the engine."""
    ring = WornItem("ring", "ear ring", WornPlace.EARS)
    visit = replace(VISIT, items=(ring,), companion="a friend")
    state, _ = play([act(do.Call, by=CallBy.FULL_NAME), act(do.AskAboutMetal)], context(visit))
    taken, _ = play(
        [
            act(do.Call, by=CallBy.FULL_NAME),
            act(do.AskAboutMetal),
            act(do.TakeItemOut, item="ring"),
        ],
        context(visit),
    )
    kinds = {a.kind for s in (state, taken) for a in all_acts(s)}
    assert kinds | NOT_BUTTONS == set(do.COMMANDS)
    assert not kinds & NOT_BUTTONS


def test_every_act_is_a_command() -> None:
    """Kind and values of every act make a command that the engine knows."""
    state, _ = play(BEFORE)
    for found in all_acts(state):
        assert isinstance(found.kind(at_s=1.0, **found.values), do.Command)
        assert found.label


@pytest.mark.parametrize("phase", list(Phase))
def test_names_are_used_once(phase: Phase) -> None:
    """Within a phase no two acts have one name."""
    state, _ = play([*BEFORE, *TALK])
    names = [a.name for g in acts_of(phase, state) for a in g.acts]
    assert len(names) == len(set(names))


def test_what_is_hidden_is_not_offered_before_it_is_found() -> None:
    """A hidden thing appears only after its place was looked at."""
    stud = WornItem("stud", "tongue stud", WornPlace.TONGUE, hidden=True)
    where = context(replace(VISIT, items=(stud,)))
    come = [act(do.Call, by=CallBy.FULL_NAME), act(do.AskAboutMetal)]
    state, _ = play(come, where)
    assert known_items(state) == ()
    state, _ = play([*come, act(do.LookForMetal, place=WornPlace.TONGUE)], where)
    assert known_items(state) == ("stud",)


def test_a_support_on_the_unit_can_be_taken_off() -> None:
    """The same button fits a support or takes it off, as the unit stands."""
    state = open_appointment(context(), 1)
    acts = {a.name: a for a in all_acts(state)}
    assert acts[f"support-{Support.BITE_PIECE}"].kind is do.TakeSupportOff
    assert acts[f"support-{Support.CHIN_REST}"].kind is do.FitSupport
