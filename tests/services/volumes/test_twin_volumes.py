"""Twin cases: much alike, graded oppositely, and their volumes show why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers.heads import coarse_phantom

from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_words import Grade
from trainer.services.appointment import context_of
from trainer.services.assets import SCENARIOS
from trainer.services.attempt_log import parse_log, replay
from trainer.services.volumes import record as module
from trainer.services.volumes.record import ask_of_run, record_volume
from trainer.services.volumes.scan import Effort
from trainer.services.workbench import Workbench, open_workbench

QUICK = Effort(views_per_turn=90, most_rays=4.0e5, finest_head_mm=3.0)
HEAD_MM = 3.0
TWINS = ("light-motion", "canal-beside-roots")


@pytest.fixture(autouse=True)
def _coarse_head(monkeypatch: pytest.MonkeyPatch) -> None:
    """The head is made once for all tests."""
    monkeypatch.setattr(
        module, "stored_phantom", lambda person, spacing_mm, folder, tell: coarse_phantom(person)
    )


def solved(name: str) -> tuple[Workbench, AppointmentState]:
    """The case and what its solution leads to."""
    bench = open_workbench(name)
    file = name.replace("-", "_") + ".log"
    log = parse_log((SCENARIOS / "solutions" / file).read_bytes(), file)
    return bench, replay(log, context_of(bench)).state


def spoilt_by_motion(bench: Workbench, state: AppointmentState, number: int) -> float:
    """How far a run's volume is from that of a still head, over the spread of the still one."""
    ask = ask_of_run(bench, state.runs[number])
    moved, still = (
        record_volume(bench, a, effort=QUICK, head_spacing_mm=HEAD_MM)
        for a in (ask, replace(ask, cause=None))
    )
    inside = np.broadcast_to(still.inside, still.values.shape)
    off = (moved.values - still.values)[inside]
    return float(np.sqrt((off**2).mean()) / still.values[inside].std())


@pytest.mark.slow
def test_twins_need_opposite_answers_and_their_images_differ() -> None:
    """The same question to the eye, another answer: motion spoils one image at least twice as much.

    The unacceptable one is repeated after its cause was mended, and the second image is as good as
    a still head's.
    """
    light, grave = (solved(name) for name in TWINS)
    first_grades = [state.runs[0].grade for _, state in (light, grave)]
    assert first_grades == [Grade.A, Grade.N]
    little, much = (spoilt_by_motion(*twin, 0) for twin in (light, grave))
    again = spoilt_by_motion(*grave, 1)
    assert much > 2.0 * little
    assert again < 0.5 * much
