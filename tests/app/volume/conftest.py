"""A volume to look through: one ball in air, with a real head's structures about it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.volumes import ball_volume, placement_of

from trainer.app.volume.volume_view import VolumeView
from trainer.models.images import RecordedVolume
from trainer.models.setup import Setup
from trainer.services.workbench import DEMO_CASE, Workbench, open_workbench

BALL_MM = (4.0, -6.0, 3.0)


@pytest.fixture(scope="module")
def bench() -> Workbench:
    """The demo case."""
    return open_workbench(DEMO_CASE)


@pytest.fixture(scope="module")
def setup(bench: Workbench) -> Setup:
    """Nearly right: the wisdom tooth is in the field, not all of it with its margin."""
    return replace(
        bench.case.start,
        chin_height_mm=-14.0,
        pitch_deg=5.0,
        field_sideways_mm=-30.5,
        field_forward_mm=-37.0,
    )


@pytest.fixture(scope="module")
def volume(bench: Workbench, setup: Setup) -> RecordedVolume:
    """A ball at `BALL_MM`."""
    return ball_volume(bench, setup, BALL_MM)


@pytest.fixture
def view(qtbot, bench, setup, volume) -> VolumeView:
    """The volume on the screen, outlines not allowed."""
    found = VolumeView(bench.meshes.head, bench.case.attitude.reference_plane)
    qtbot.addWidget(found)
    found.resize(700, 520)
    found.show()
    found.show_volume(volume, placement_of(bench, setup))
    qtbot.waitUntil(lambda: all(p.found for p in found.pictures.values()))
    return found
