"""Pictures that are computed off the window's thread."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.appointments import BEFORE, ENTER, HOLD, OUT, PLACE, SCOUTS, TALK, VISIT, play
from trainer.app.appointment import scout_job
from trainer.app.appointment.scout_job import ScoutAsk, ScoutJobs
from trainer.errors import NotReadable
from trainer.services.scouts import person_head, take_scout


@pytest.fixture(scope="module")
def conditions():
    """What stood how when a scout was taken."""
    state, _ = play([*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT, *SCOUTS[:1]])
    return state.scouts[0].conditions


@pytest.fixture
def jobs(qtbot, real_bench):
    """Jobs that are closed at the end."""
    made = ScoutJobs(real_bench, VISIT)
    yield made
    made.close()


def test_a_fault_is_told_in_words(qtbot, jobs, conditions, monkeypatch) -> None:
    """When the phantom cannot be had the reason comes back, and the jobs are free again."""

    def missing(person, spacing_mm, tell):
        raise NotReadable("the reference is missing")

    monkeypatch.setattr(scout_job, "person_head", missing)
    ask = ScoutAsk("frontal", conditions, 1)
    with qtbot.waitSignal(jobs.failed) as failed:
        jobs.ask(ask)
    assert failed.args == [ask, "the reference is missing"]
    assert not jobs.busy


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_the_picture_is_that_of_the_service(
    qtbot, jobs, conditions, monkeypatch, real_bench
) -> None:
    """What the thread computes is the scout of `services.scouts`, pixel by pixel."""
    monkeypatch.setattr(scout_job, "SPACING_MM", 2.0)
    with qtbot.waitSignal(jobs.done, timeout=200000) as done:
        jobs.ask(ScoutAsk("frontal", conditions, 7))
    head = person_head(real_bench.case.subject.person, 2.0)
    wanted = take_scout(
        real_bench,
        conditions.setup,
        head,
        "frontal",
        np.random.default_rng(7),
        tube=real_bench.unit.tube,
        protocol=conditions.programme.protocol,
    )
    picture = done.args[1]
    np.testing.assert_array_equal(picture.projection.values, wanted.projection.values)
    assert picture.dose == wanted.dose
