"""What an appointment came to: as data, as text, and when it counts as passed."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache

import pytest

from trainer.engine.appointment.state import AppointmentState, Context, open_appointment
from trainer.engine.appointment.step import step
from trainer.models import appointment_commands as do
from trainer.models.appointment_commands import Command
from trainer.models.appointment_words import Instruction, PregnancyAnswer, Topic, WithholdReason
from trainer.models.learning import ToothNumbering
from trainer.models.protocol import age_group
from trainer.physics.dose import DOSE_CAUTION, dose_of
from trainer.services.appointment import context_of
from trainer.services.appointment_report import (
    appointment_data,
    appointment_text,
    course_text,
    ending,
)
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.command_list import CommandList, load_commands
from trainer.services.scoring import score_data, score_of, score_text
from trainer.services.solutions import SOLUTIONS
from trainer.services.workbench import open_workbench

CASE = "lower-third-molar"


@cache
def context(name: str = CASE) -> Context:
    """What stays fixed in a shipped case's appointment."""
    return context_of(open_workbench(name))


@cache
def solution(name: str = CASE) -> CommandList:
    """The shipped solution of a case."""
    return load_commands(SOLUTIONS / f"{name.replace('-', '_')}.yaml")


def played(commands: Iterable[Command], where: Context | None = None) -> AppointmentState:
    """The state after the commands."""
    state = open_appointment(where or context(), solution().seed)
    for command in commands:
        state = step(state, command).state
    return state


@cache
def solved() -> AppointmentState:
    """The demo case's solution, done."""
    return played(solution().commands)


def without(which: Callable[[Command], bool]) -> AppointmentState:
    """The solution with some commands left out."""
    return played(c for c in solution().commands if not which(c))


def test_a_solution_passes_and_says_so() -> None:
    """All required structures are held, nothing critical failed, the head line says it."""
    found = ending(solved())
    assert found.passed and not found.withheld
    assert [h.holds for h in found.held] == [True] * len(solved().context.case.required)
    text = appointment_text(solved())
    assert "5 of 5 required structures are held, and the question can be answered." in text
    assert text.count("[ok]") == 5 and "[!!]" not in text
    assert "none failed" in text


def test_the_score_stands_in_text_and_data() -> None:
    """As the judgement gives it: beside the critical items, apart from any supervisor's rating."""
    found = score_of(solved())
    assert appointment_data(solved())["score"] == score_data(found)
    text = appointment_text(solved())
    assert "Points: 100 of 100 (mark 90)" in text
    assert "Global rating: the supervisor's, never the program's" in text
    assert all(f"  {line}" in text for line in score_text(found).splitlines())


def test_texts_go_by_the_language_and_numbering_of_the_local_rules() -> None:
    """The title in German; behind the two digits of a tooth its other number."""
    rules = replace(context().rules, language="de", tooth_numbering=ToothNumbering.UNIVERSAL)
    text = appointment_text(played(solution().commands, replace(context(), rules=rules)))
    assert text.startswith("Unterer rechter Weisheitszahn")
    assert "[ok] tooth 48 (32)" in text
    assert "(32)" not in appointment_text(solved())


def test_who_authorises_is_told_by_the_local_rules() -> None:
    """In the critical item's sentence."""
    rules = replace(context().rules, authorised_by=("the radiologist", "the clinic's head"))
    unsigned = replace(context().visit, card=replace(context().visit.card, authorised=False))
    state = played(solution().commands, replace(context(), rules=rules, visit=unsigned))
    assert "which is for the radiologist or the clinic's head to do" in appointment_text(state)


def test_all_29_steps_are_told_in_order() -> None:
    """Data and text list every step, numbered from 1 to 29."""
    data = appointment_data(solved())
    assert [s["number"] for s in data["checklist"]] == list(range(1, 30))
    text = appointment_text(solved())
    assert all(f" {s['number']} {s['name']}: " in text for s in data["checklist"])


def test_the_dose_is_the_sum_of_scouts_and_run() -> None:
    """Every exposure counts in full; the range stands with its caution and sources."""
    state, unit = solved(), solved().context.unit
    found = ending(state)
    kinds = [str(e.use.exposure.kind) for e in found.exposures]
    assert kinds == ["frontal-scout", "lateral-scout", "full"]
    assert unit.tube is not None and found.dose is not None
    group = age_group(state.context.age_years)
    alone = [
        dose_of(unit, unit.tube, unit.field(e.use.field), e.use.exposure, group)
        for e in found.exposures
    ]
    assert found.dose.kap_mgy_cm2 == pytest.approx(sum(d.kap_mgy_cm2 for d in alone), rel=1e-12)
    assert found.dose.high_usv == pytest.approx(sum(d.high_usv for d in alone), rel=1e-12)
    assert 0.0 < found.dose.low_usv < found.dose.high_usv
    text = appointment_text(state)
    assert DOSE_CAUTION in text and SHORT_CAUTION in text and "Source: " in text


def test_a_run_that_ends_early_costs_its_share() -> None:
    """Letting go after a quarter of the run leaves a quarter of its dose."""
    press = next(c for c in solution().commands if isinstance(c, do.PressSwitch))
    before = [c for c in solution().commands if c.at_s <= press.at_s]
    early = played([*before, do.ReleaseSwitch(press.at_s + 4.0)])
    whole, part = ending(solved()).exposures[-1], ending(early).exposures[-1]
    assert whole.dose is not None and part.dose is not None
    assert part.use.share == pytest.approx(0.25)
    assert part.dose.kap_mgy_cm2 == pytest.approx(0.25 * whole.dose.kap_mgy_cm2)
    assert "25 % of it" in appointment_text(early)


def test_a_unit_without_a_tube_tells_no_dose() -> None:
    """The exposures are listed, the dose is said to be unknown."""
    plain = replace(context(), unit=replace(context().unit, tube=None))
    state = played(solution().commands, plain)
    assert ending(state).dose is None
    assert appointment_data(state)["dose"] == {}
    assert "no dose can be estimated" in appointment_text(state)


def test_a_slip_stands_with_consequence_and_mending() -> None:
    """A tongue that nobody spoke of is told as E18, with what it does and what to do."""
    state = without(lambda c: isinstance(c, do.Instruct) and c.what is Instruction.TONGUE_UP)
    (slip,) = appointment_data(state)["slips"]
    assert slip["code"] == "E18" and slip["spoils"] is None
    text = appointment_text(state)
    assert slip["consequence"] in text and slip["fix"] in text
    assert ending(state).passed


def test_a_critical_item_takes_the_pass_away() -> None:
    """Without the open questions on identity nothing else helps."""
    state = without(lambda c: isinstance(c, do.AskIdentity))
    found = ending(state)
    assert not found.passed
    assert all(h.holds for h in found.held)
    assert "identity not confirmed" in appointment_text(state)


def test_a_wrong_place_takes_the_pass_away() -> None:
    """A field left where it stood does not hold what is required."""
    state = without(lambda c: isinstance(c, do.Adjust) and "chin_height_mm" in c.values)
    found = ending(state)
    assert not found.passed and not all(h.holds for h in found.held)
    assert "[!!]" in appointment_text(state)


def test_what_is_not_finished_does_not_pass() -> None:
    """Without its last command the appointment is told as unfinished."""
    state = played(solution().commands[:-1])
    assert not ending(state).passed
    assert "The appointment is not finished." in appointment_text(state)


def stopped(answers_no: bool) -> AppointmentState:
    """The possible pregnancy, stopped after the practitioner was asked."""
    where = context("possible-pregnancy")
    visit = where.visit
    answers = replace(visit.answers, after_pregnancy=False)
    pregnancy = PregnancyAnswer.NO if answers_no else visit.pregnancy
    where = replace(where, visit=replace(visit, answers=answers, pregnancy=pregnancy))
    asked = solution("possible-pregnancy").commands
    at = next(n for n, c in enumerate(asked) if isinstance(c, do.AskPractitioner))
    assert asked[at].topic is Topic.PREGNANCY
    end_s = asked[at].at_s
    more = (do.Withhold(end_s + 5.0, WithholdReason.PREGNANCY, "Noted."), do.Finish(end_s + 9.0))
    return played([*asked[: at + 1], *more], where)


def test_an_examination_that_was_rightly_stopped_passes() -> None:
    """The practitioner says no: withholding is right, and no radiation was used."""
    state = stopped(answers_no=False)
    found = ending(state)
    assert found.withheld and found.passed
    text = appointment_text(state)
    assert "Rightly stopped: no radiation was used." in text and "none was used" in text


def test_an_examination_that_was_stopped_for_nothing_does_not_pass() -> None:
    """A plain no left the way free; stopping then is not what was asked."""
    found = ending(stopped(answers_no=True))
    assert found.withheld and not found.passed


@pytest.mark.parametrize("name", ["possible-pregnancy", "whole-lower-jaw", CASE])
@pytest.mark.parametrize("reason", list(WithholdReason))
def test_stopping_at_once_does_not_pass(name: str, reason: WithholdReason) -> None:
    """Who has asked nobody anything has found no reason to stop, whatever is said."""
    stopped_at_once = played([do.Withhold(1.0, reason), do.Finish(2.0)], context(name))
    found = ending(stopped_at_once)
    assert found.withheld and not found.passed


@pytest.mark.parametrize(
    ("asked", "reason", "passes"),
    [
        (True, WithholdReason.NOT_AUTHORISED, True),
        (False, WithholdReason.NOT_AUTHORISED, False),
        (True, WithholdReason.OTHER, False),
    ],
)
def test_a_refused_signature_has_to_be_asked_for(
    asked: bool, reason: WithholdReason, passes: bool
) -> None:
    """Without a signature stopping is right once the practitioner has refused it, so said."""
    where = context("whole-lower-jaw")
    visit = where.visit
    where = replace(where, visit=replace(visit, answers=replace(visit.answers, authorises=False)))
    ask = [do.AskPractitioner(1.0, Topic.AUTHORISATION)] if asked else []
    state = played([*ask, do.Withhold(2.0, reason), do.Finish(3.0)], where)
    assert ending(state).passed is passes


def test_the_course_has_a_line_for_every_event() -> None:
    """Events stand in order, each with minutes and seconds."""
    lines = course_text(solved()).splitlines()
    assert len(lines) == len(solved().log)
    assert lines[0] == "  0:02.0  Quality programme: daily check."
    assert lines[-1].endswith("The appointment is over.")


def test_the_data_is_json() -> None:
    """The summary can be written as JSON and says which case, unit and seed it is of."""
    data = json.loads(json.dumps(appointment_data(solved())))
    assert (data["case"], data["unit"], data["seed"]) == (CASE, "alder-bench", solution().seed)
    assert data["passed"] is True and data["caution"] == SHORT_CAUTION
    assert {"kind", "field", "share", "kap_mgy_cm2", "effective_high_usv"} <= set(
        data["exposures"][0]
    )
