"""The words of a debrief."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from tests.engine.debrief.attempts import BAD, attempt
from tests.helpers.appointments import CLEAN_RUN, act, play
from trainer.engine.appointment.step import step
from trainer.models import appointment_commands as do
from trainer.models.learning import Prediction
from trainer.services import debrief as module
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.debrief import (
    READ_IN_S,
    critical_line,
    debrief,
    debrief_text,
    dose_line,
    movement_line,
    points_line,
    reading_s,
    sections,
    worked_course,
    worked_setups,
)
from trainer.services.workbench import DEMO_CASE, open_workbench


@cache
def bench():
    """The shipped case that the attempts are at."""
    return open_workbench(DEMO_CASE)


def lines_of(found, title: str) -> tuple[str, ...]:
    """The lines of a section."""
    return next(s.lines for s in sections(found) if s.title == title)


@pytest.mark.parametrize("name", [*BAD, "clean"])
def test_every_debrief_is_read_in_time(name: str) -> None:
    """At 200 words a minute the whole text takes at most 90 seconds: 300 words."""
    text = debrief_text(debrief(attempt(name), bench()))
    assert len(text.split()) <= 300
    assert reading_s(text) <= READ_IN_S == 90.0
    assert SHORT_CAUTION in text


@pytest.mark.parametrize("name", ["low", "clean", "nothing done"])
def test_all_parts_are_there(name: str) -> None:
    """Result, blocks, prediction, three facts, one aim, movement, radiation, caution."""
    found = debrief(attempt(name), bench())
    titles = [s.title for s in sections(found)]
    assert titles == ["Result", "Points by block", "Your prediction", "Three facts", "One aim",
                      "The movement that would have helped", "Radiation", ""]  # fmt: skip
    assert len(lines_of(found, "Three facts")) == 3
    assert len(lines_of(found, "One aim")) == 1
    assert len(lines_of(found, "Points by block")) == 6


def test_points_and_critical_items_are_two_things() -> None:
    """Neither line holds the other's number, and the points do not fall with a critical item."""
    found = debrief(attempt("low"), bench())
    assert critical_line(found.score) == "One critical item failed: not yet, whatever the points."
    assert points_line(found.score) == f"{found.score.percent:g} of 100 points; the mark is 90."
    shares = [b.weight * b.earned for b in found.score.blocks]
    assert sum(shares) == pytest.approx(found.score.percent, abs=0.051)
    clean = debrief(attempt("clean"), bench())
    assert critical_line(clean.score) == "Critical items: none failed."


def test_the_dose_stands_beside_the_published_range() -> None:
    """Small fields, adults: 5 to 652 uSv (Ludlow et al., Dentomaxillofac Radiol 2015)."""
    told = dose_line(attempt("clean"))
    assert told.startswith("2 scouts and 1 run together: about ")
    assert "with a small field, adults: 5 to 652 µSv (Ludlow et al." in told
    assert "no patient's dose or risk" in told
    assert dose_line(attempt("nothing done")) == "None was used."


def test_a_large_field_is_set_beside_its_own_class() -> None:
    """An 80 mm wide field is compared with medium fields: 9 to 560 uSv (the same paper)."""
    assert "adults: 9 to 560 µSv" in dose_line(attempt("large field"))


def test_a_prediction_is_set_beside_what_came() -> None:
    """What was said and what is so stand together; skipped, that is noted."""
    state = attempt("low")
    assert lines_of(debrief(state, bench()), "Your prediction") == ("You made none.",)
    cut = frozenset({"tooth-48", "canal-at-48"})
    said = do.Predict(at_s=state.at_s + 1.0, prediction=Prediction(cut, 80, True))
    found = debrief(step(state, said).state, bench())
    points, structures, answer = lines_of(found, "Your prediction")
    assert points == f"Points: you said 80, it is {found.score.percent:g}."
    assert structures == "Inside or cut: 3 of 5 right."  # the crown is held, four are cut
    assert answer == "Answers the question: you said yes, it does not."


def test_without_an_image_only_points_are_compared() -> None:
    """Nothing was inside or cut; the prediction of points still counts."""
    said = act(do.Predict, prediction=Prediction(frozenset(), 10, False))
    state, _ = play([*BAD["nothing done"], said])
    found = debrief(state, bench())
    assert lines_of(found, "Your prediction")[1:] == ()
    assert "nothing to move" in movement_line(found)


def test_a_solution_of_another_content_is_not_shown(monkeypatch) -> None:
    """Where the case has been changed since, there is no worked solution to compare with."""
    changed = replace(bench(), files=bench().files[:1])
    assert worked_setups(changed) == ()
    assert worked_course(changed) == ()
    monkeypatch.setattr(module, "solution_files", dict)
    assert worked_setups(bench()) == ()


def test_a_clean_run_of_the_case_passes() -> None:
    """The attempts here are the shipped case's own, so its placing gives the same result."""
    assert play(CLEAN_RUN)[0].context.case == bench().case
