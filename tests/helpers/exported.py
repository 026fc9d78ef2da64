"""Invented attempts, observations, supervised cases and a small volume, to be exported."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import Projection, RecordedVolume
from trainer.models.learning import HelpLevel, Task
from trainer.models.records import Observation, StoredAttempt, SupervisedCase
from trainer.physics.views import project_point, scout_geometry
from trainer.services.assets import SCENARIOS
from trainer.services.scoring import stored_attempt
from trainer.services.scouts import KINDS, ScoutPicture
from trainer.services.workbench import open_workbench

# Where the volume's marker lies: to the patient's left, behind and above the field's centre [mm].
MARKER_MM = np.array([9.0, 6.5, 0.5])
MARKER_VALUE = 3000.0
# The same for the scouts' marker, in the gantry frame [mm].
SCOUT_MARKER_MM = np.array([25.0, -15.0, 20.0])


def attempt(number: int, **changes: Any) -> StoredAttempt:
    """One invented attempt; the higher the number, the newer."""
    values: dict[str, Any] = {
        "id": f"attempt-{number:04d}",
        "learner_id": "5c0e9f8e-learner",
        "case_id": f"case-{number % 3}",
        "case_sha256": "ab" * 32,
        "task": Task.SINGLE_SITE,
        "help": HelpLevel.NONE,
        "hints": 0,
        "seed": number,
        "program": "0.1.0",
        "finished_at": datetime(2026, 1, 1, 9, 30, 15, 250_000, UTC) + timedelta(days=number),
        "percent": 91.5,
        "critical": (),
        "mastered": True,
        "needless_retake": False,
        "scout_pairs": 1,
        "runs": 1,
        "duration_s": 431.27,
        "score": {
            "blocks": [
                {
                    "block": "position",
                    "weight": 35,
                    "earned": 0.875,
                    "items": [
                        {
                            "key": "margin",
                            "name": "Margin kept",
                            "value": -2.5,
                            "limit": 3.0,
                            "unit": "mm",
                            "points": 4.0,
                            "most": 8.0,
                            "sentence": "The canal is cut, 2.5 mm are missing.",
                        }
                    ],
                }
            ]
        },
        "log": b'{"attempt_log": 2}\n',
        "prediction": {"cut": ["canal-right"], "percent": 85, "acceptable": False},
    }
    return StoredAttempt(**{**values, **changes})


def observation(number: int, **changes: Any) -> Observation:
    """One invented observation."""
    values: dict[str, Any] = {
        "id": f"observation-{number}",
        "learner_id": "5c0e9f8e-learner",
        "on": date(2026, 3, 1) + timedelta(days=number),
        "observer": "Hazel Rowan",
        "setting": "real procedure",
        "ratings": {"aligns and stabilises": 4, "uses the scout": 3},
        "overall": 4,
        "supervision": 4,
        "done_well": "Checked the midline from the front.",
        "aim": "Look at the person, not at the screen.",
    }
    return Observation(**{**values, **changes})


def supervised(**changes: Any) -> SupervisedCase:
    """One invented supervised case."""
    values: dict[str, Any] = {
        "id": "supervised-1",
        "learner_id": "5c0e9f8e-learner",
        "on": date(2026, 3, 4),
        "supervisor": "Hazel Rowan",
        "region": "whole jaw or both jaws",
        "field_class": "A",
        "patient_group": "adult",
        "positioned_by": "trainee",
        "prompts": 1,
        "scouts": 1,
        "exposures": 1,
        "grade": "A",
        "cause": "",
        "supervision": 4,
        "done_well": "Calm words.",
        "aim": "Chin earlier.",
    }
    return SupervisedCase(**{**values, **changes})


def small_volume() -> RecordedVolume:
    """A round field, neither square nor centred, in which one voxel is a marker."""
    spacing, shape = 0.5, (4, 70, 72)  # z, y, x
    origin = np.array([-16.0, -17.0, -1.0])
    values = np.random.default_rng(1).normal(100.0, 60.0, shape).astype(np.float32)
    y, x = np.mgrid[: shape[1], : shape[2]]
    inside = np.hypot(x - 35.5, y - 34.5) < 34.5
    values[:, ~inside] = 0.0
    column, row, level = np.round((MARKER_MM - origin) / spacing).astype(int)
    values[level, row, column] = MARKER_VALUE
    assert inside[row, column]

    def still(frame: Frame) -> RigidTransform:
        return RigidTransform(frame, Frame.FIELD, np.eye(3), np.zeros(3))

    return RecordedVolume(
        values, origin, spacing, inside, still(Frame.SKULL), still(Frame.MANDIBLE)
    )


def small_scouts() -> dict[str, ScoutPicture]:
    """Both scouts of a unit, all open beam but for one dense point (`SCOUT_MARKER_MM`)."""
    bench = open_workbench("lower_third_molar")
    pictures = {}
    for view in KINDS:
        geometry = scout_geometry(bench.unit, bench.case.start, view, pixels=120)
        shares = np.full(geometry.shape, 0.5, np.float32)
        row, column = np.round(project_point(geometry, SCOUT_MARKER_MM)).astype(int)
        shares[row, column] = 1e-3
        pictures[view] = ScoutPicture(
            Projection(shares, geometry.pixel_mm, geometry.left_is_patients),
            geometry,
            np.full(geometry.shape, 1e6),
            None,  # type: ignore[arg-type]
        )
    return pictures


def real_attempt() -> StoredAttempt:
    """The attempt of a shipped solution with the score that its log gives."""
    log = (SCENARIOS / "solutions" / "lower_third_molar.log").read_bytes()
    return stored_attempt(
        log,
        open_workbench("lower-third-molar"),
        attempt_id="solution",
        learner_id="5c0e9f8e-learner",
        finished_at=datetime(2026, 4, 1, 12, 0, tzinfo=UTC),
    )
