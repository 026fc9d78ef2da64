"""A small volume with a marker, scouts of a point and an examination, for all exports."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from helpers.exported import small_scouts, small_volume

from trainer.models.images import RecordedVolume
from trainer.models.subject import Sex
from trainer.services.exports.study import SimulatedStudy
from trainer.services.scouts import ScoutPicture


@pytest.fixture(scope="session")
def study() -> SimulatedStudy:
    """An examination of an invented man."""
    return SimulatedStudy(
        key="attempt-0001",
        case_id="lower_third_molar",
        alias="Alder",
        sex=Sex.MALE,
        age_years=28,
        taken_at=datetime(2026, 3, 4, 10, 11, 12, tzinfo=UTC),
        program="0.1.0",
    )


@pytest.fixture(scope="session")
def volume() -> RecordedVolume:
    """A small volume with a marker."""
    return small_volume()


@pytest.fixture(scope="session")
def scouts() -> dict[str, ScoutPicture]:
    """Both scouts of one dense point."""
    return small_scouts()
