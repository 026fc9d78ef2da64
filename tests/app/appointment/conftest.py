"""Fixtures of the appointment's window: a shipped case, a clock of the test's own, no 3-D view."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from helpers.volumes import ball_volume

from trainer.app.appointment import scout_job
from trainer.app.appointment.clock import VisitClock
from trainer.app.appointment.controller import AppointmentController
from trainer.app.appointment.window import AppointmentWindow
from trainer.app.volume import volume_job
from trainer.models.images import Projection, RecordedVolume
from trainer.models.learning import HelpLevel
from trainer.models.protocol import AgeGroup, Exposure, ExposureKind
from trainer.physics.dose import dose_of
from trainer.physics.views import scout_geometry
from trainer.services.appointment import new_attempt
from trainer.services.scouts import ScoutPicture
from trainer.services.workbench import DEMO_CASE, Workbench, open_workbench


@dataclass
class Hands:
    """A clock that only the test moves."""

    now_s: float = 0.0

    def __call__(self) -> float:
        """The time."""
        return self.now_s

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        self.now_s += seconds


@pytest.fixture
def hands() -> Hands:
    """The clock's hands."""
    return Hands()


@pytest.fixture(scope="session")
def real_bench() -> Workbench:
    """The shipped case with its visit, rules and the real head."""
    return open_workbench(DEMO_CASE)


@pytest.fixture
def attempts(tmp_path: Path) -> Path:
    """A folder for this test's attempts."""
    return tmp_path / "attempts"


@pytest.fixture
def make_visit(qtbot, real_bench, hands, attempts, monkeypatch) -> Callable[..., AppointmentWindow]:
    """Makes a shown window on a new attempt; it is closed at the end."""
    monkeypatch.setenv("TRAINER_NO_3D", "1")

    def make(helped: HelpLevel = HelpLevel.LINES, bench: Workbench = real_bench):
        attempt, path = new_attempt(bench, 1, attempts, helped)
        controller = AppointmentController(attempt, VisitClock(0.0, hands))
        window = AppointmentWindow(bench, controller, path)
        qtbot.addWidget(window)
        window.show()
        window.activateWindow()
        qtbot.waitUntil(window.isActiveWindow)
        window.start()
        return window

    return make


def plain_picture(jobs, ask, tell) -> ScoutPicture:
    """A picture of nothing, with the geometry and dose of a real one; takes no time."""
    tell("drawing the picture")
    unit, setup = jobs.bench.unit, ask.conditions.setup
    geometry = scout_geometry(unit, setup, ask.view, 100)
    values = np.full(geometry.shape, 0.1)
    exposure = Exposure(ExposureKind.FRONTAL_SCOUT, unit.tube.protocols[0].id, 200)
    dose = dose_of(unit, unit.tube, unit.field(setup.field), exposure, AgeGroup.ADULT)
    shot = Projection(values, geometry.pixel_mm, geometry.left_is_patients)
    return ScoutPicture(shot, geometry, np.full(geometry.shape, 1e4), dose)


def plain_volume(bench, run, tell, is_cancelled) -> RecordedVolume:
    """Air with one ball in the field's middle; takes no time."""
    tell("putting together", 0.5)
    return ball_volume(bench, run.conditions.setup, (0.0, 0.0, 0.0))


@pytest.fixture
def quick_pictures(monkeypatch) -> None:
    """Scouts are pictures of nothing, volumes are nearly empty."""
    monkeypatch.setattr(volume_job, "compute", plain_volume)
    monkeypatch.setattr(scout_job, "compute", plain_picture)
    monkeypatch.setattr(scout_job, "person_head", lambda person, spacing_mm, tell: None)
