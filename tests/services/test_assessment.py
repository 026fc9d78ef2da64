"""What the assessment of a setup tells about the way of the unit's moving parts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.models.frames import Frame
from trainer.models.subject import Posture
from trainer.services.assessment import assess, assessment_data, assessment_text
from trainer.services.workbench import Workbench, open_workbench


@pytest.fixture(scope="module")
def bench() -> Workbench:
    """A shipped case."""
    return open_workbench("upper-front-teeth")


def with_posture(bench: Workbench, posture: Posture) -> Workbench:
    """The case with a patient of another posture."""
    meshes = bench.meshes
    head = replace(meshes.head, person=replace(meshes.head.person, posture=posture))
    coarse = tuple(p for p in meshes.coarse if p.frame is not Frame.TORSO)
    return replace(bench, meshes=replace(meshes, head=head, coarse=coarse))


def test_a_free_path_is_told(bench: Workbench) -> None:
    """Text and data say which part comes nearest, where, and by how much it stays clear."""
    done = assess(bench, bench.case.start)
    near = assessment_data(done)["clearance"]
    assert near["touches"] is False and near["distance_mm"] > 0.0
    assert f"The {near['part'].removeprefix('the ')} clears the {near['place']} by " in (
        assessment_text(done)
    )


def test_a_collision_is_told(bench: Workbench) -> None:
    """Large shoulders, a short neck and a chin held high: the text warns, the data agree."""
    large = with_posture(bench, Posture(shoulder_breadth=2.5, neck_length=-2.5))
    done = assess(large, replace(bench.case.start, chin_height_mm=20.0))
    near = assessment_data(done)["clearance"]
    assert near["touches"] is True and near["distance_mm"] < 0.0
    assert near["place"] in ("left shoulder", "right shoulder")
    assert "[!!] The detector housing would hit the" in assessment_text(done)
