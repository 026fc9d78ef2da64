"""Naming the sign of a fault: once for each, told right or wrong only after the end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.engine.appointment.signs import asked_faults, named_signs
from trainer.engine.appointment.state import AppointmentState, open_appointment
from trainer.engine.appointment.step import step
from trainer.engine.criteria import is_well_placed
from trainer.engine.judgement.score import score
from trainer.errors import NotAllowedNow
from trainer.models.appointment_commands import Command, NameSign, TakeScout
from trainer.models.appointment_events import SignNamed
from trainer.models.appointment_words import RetakeCause, ScoutKind
from trainer.models.panorama import PanoramaFault, PanoramaSign
from trainer.models.slips import SlipCode
from trainer.services.appointment import context_of
from trainer.services.appointment_report import ending
from trainer.services.command_list import load_commands
from trainer.services.debrief import debrief
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import Workbench, open_workbench


@pytest.fixture(scope="module")
def bench() -> Workbench:
    return open_workbench("panoramic-overview")


@pytest.fixture(scope="module")
def commands() -> tuple[Command, ...]:
    return load_commands(SOLUTIONS / "panoramic_overview.yaml").commands


def played(bench: Workbench, commands: tuple[Command, ...]) -> AppointmentState:
    """The state after the commands."""
    state = open_appointment(context_of(bench), 1)
    for command in commands:
        state = step(state, command).state
    return state


def naming(fault: PanoramaFault, sign: PanoramaSign) -> NameSign:
    return NameSign(at_s=1.0, fault=fault, sign=sign)


def signs_row(state: AppointmentState):
    """The row of the score about signs."""
    rows = {i.key: i for b in score(state).blocks for i in b.items}
    return rows.get("signs")


def test_a_sign_is_named_once_and_not_told_right_or_wrong(bench: Workbench) -> None:
    """The event holds what was named; a second try for the same fault is refused."""
    state = open_appointment(context_of(bench), 1)
    wrong = naming(PanoramaFault.TURNED, PanoramaSign.WIDE_FRONT)
    after = step(state, wrong)
    assert after.events == (SignNamed(PanoramaFault.TURNED, PanoramaSign.WIDE_FRONT),)
    assert named_signs(after.state) == {PanoramaFault.TURNED: PanoramaSign.WIDE_FRONT}
    with pytest.raises(NotAllowedNow, match="head turned is named already"):
        step(after.state, naming(PanoramaFault.TURNED, PanoramaSign.ONE_SIDE_WIDER))


def test_only_faults_of_the_start_are_asked(bench: Workbench) -> None:
    """Of a fault that is not there nothing is asked; of a case for a volume none at all."""
    state = open_appointment(context_of(bench), 1)
    assert len(asked_faults(state)) == 3
    with pytest.raises(NotAllowedNow, match="Nothing is asked"):
        step(state, naming(PanoramaFault.SLUMPED, PanoramaSign.PALE_MIDDLE))
    volume = open_appointment(context_of(open_workbench("both-jaws")), 1)
    assert asked_faults(volume) == ()
    with pytest.raises(NotAllowedNow):
        step(volume, naming(PanoramaFault.TURNED, PanoramaSign.ONE_SIDE_WIDER))


def test_signs_earn_their_share(bench: Workbench, commands: tuple[Command, ...]) -> None:
    """All three named: all of it. One wrong and one left out: a third, and the right ones told."""
    full = signs_row(played(bench, commands))
    assert (full.value, full.limit, full.points) == (3.0, 3.0, full.most)
    some = tuple(
        replace(c, sign=PanoramaSign.WIDE_FRONT)
        if isinstance(c, NameSign) and c.fault is PanoramaFault.TOO_FAR_FORWARD
        else c
        for c in commands
        if not (isinstance(c, NameSign) and c.fault is PanoramaFault.TONGUE_LOW)
    )
    part = signs_row(played(bench, some))
    assert part.points == pytest.approx(part.most / 3.0)
    assert "front teeth narrow and unsharp" in part.sentence
    assert "dark band over the upper roots" in part.sentence


def test_a_volume_has_no_row_for_signs_or_groove() -> None:
    """Both belong to panoramic pictures; there the middle of the field does not count."""
    state = open_appointment(context_of(open_workbench("both-jaws")), 1)
    keys = {i.key for b in score(state).blocks for i in b.items}
    assert not keys & {"signs", "groove"}


def test_a_panoramic_unit_takes_no_scout(bench: Workbench, commands: tuple[Command, ...]) -> None:
    """Asked for one it refuses, and the step of scouts is not needed."""
    state = open_appointment(context_of(bench), 1)
    for command in commands:
        if command.at_s > next(c.at_s for c in commands if type(c).__name__ == "MakeReady") + 5:
            break
        state = step(state, command).state
    with pytest.raises(NotAllowedNow, match="no scouts"):
        step(state, TakeScout(at_s=state.at_s + 20.0, kind=ScoutKind.FRONTAL))
    steps = {s.number: s for s in ending(played(bench, commands)).steps}
    assert steps[20].done == "not-needed"


@pytest.mark.parametrize(
    ("key", "value", "code"),
    [
        ("forward_mm", 6.0, SlipCode.TOO_FAR_FORWARD_OR_BACK),
        ("sideways_mm", 5.0, SlipCode.OFF_TO_A_SIDE),
        ("yaw_deg", -8.0, SlipCode.HEAD_TURNED),
        ("roll_deg", 6.0, SlipCode.HEAD_LEANING),
        ("pitch_deg", 9.0, SlipCode.CHIN_UP),
        ("pitch_deg", -9.0, SlipCode.CHIN_DOWN),
    ],
)
def test_a_head_beyond_the_limits_spoils_the_picture(
    bench: Workbench, commands: tuple[Command, ...], key: str, value: float, code: SlipCode
) -> None:
    """Everything else done well, one value off: the picture does not answer, for that cause."""
    last = max(n for n, c in enumerate(commands) if key in getattr(c, "values", {}))
    moved = replace(commands[last], values={**commands[last].values, key: value})
    found = ending(played(bench, (*commands[:last], moved, *commands[last + 1 :])))
    assert not found.passed
    slips = [f.slip for f in found.slips if f.slip.code is code]
    assert slips and slips[0].spoils is RetakeCause.HEAD_POSITION and slips[0].panoramic


def test_a_tongue_nobody_spoke_of_is_a_slip_but_no_retake(
    bench: Workbench, commands: tuple[Command, ...]
) -> None:
    """The commonest fault is not the costliest: it is told and does not spoil the picture.

    Tongue 55.7 and 62.5 % of pictures (Dhillon et al., 2012; study of preparation); what leads to
    retakes is too far forward, turned, chin down, too far back (Rondon et al., 2014).
    """
    silent = tuple(c for c in commands if getattr(c, "what", "") != "tongue-up")
    found = ending(played(bench, silent))
    assert [f.slip.code for f in found.slips] == [SlipCode.TONGUE_OR_LIPS]
    assert found.slips[0].slip.spoils is None
    assert found.passed


def test_the_debrief_says_what_brings_the_head_into_the_layer(
    bench: Workbench, commands: tuple[Command, ...]
) -> None:
    """A turned head, all structures inside: the one movement is told, and is computed again."""
    last = max(n for n, c in enumerate(commands) if "yaw_deg" in getattr(c, "values", {}))
    turned = replace(commands[last], values={**commands[last].values, "yaw_deg": -9.0})
    state = played(bench, (*commands[:last], turned, *commands[last + 1 :]))
    found = debrief(state, bench)
    moved = found.movement
    assert moved is not None and set(moved.changes) == {"yaw_deg"}
    assert moved.sentence.startswith("Turn the face to the patient's left")
    placing = state.context.placing
    assert not is_well_placed(bench.case, placing(moved.before))
    assert is_well_placed(bench.case, placing(moved.after))
    assert "Published for one panoramic picture" in found.dose
    assert not found.passed


def test_a_head_beside_the_layer_is_told_once(
    bench: Workbench, commands: tuple[Command, ...]
) -> None:
    """As a slip, and not again as the step of centring that it belongs to."""
    last = max(n for n, c in enumerate(commands) if "forward_mm" in getattr(c, "values", {}))
    ahead = replace(commands[last], values={**commands[last].values, "forward_mm": 6.0})
    facts = debrief(played(bench, (*commands[:last], ahead, *commands[last + 1 :])), bench).facts
    assert sum("ahead of the groove" in f.sentence for f in facts) == 1
    assert facts[0].sentence.startswith("Front teeth not in the groove")
