"""What turns about the person: who is hit, by what and where."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from trainer.engine.advice import advise
from trainer.engine.collisions import BodyPoints, body_points, clearance
from trainer.engine.criteria import FREE_PATH_MM, free_path, judge
from trainer.engine.placement import chain_of, place
from trainer.engine.points import pack_head
from trainer.geometry.transforms import apply
from trainer.models.clearance import BodyPlace
from trainer.models.device import MovingPart, Turn, Unit
from trainer.models.frames import Frame
from trainer.models.meshes import HeadMeshes
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.subject import MEANS, Person, Posture
from trainer.services.assets import SCENARIOS, UNITS, load_head
from trainer.services.scenario_io import load_case
from trainer.services.unit_io import find_unit

# Cases about a mean grown-up; the others' own persons are checked by their solutions.
CASE_FILES = [
    path
    for path in sorted(SCENARIOS.glob("*.yaml"))
    if load_case(path, UNITS).subject.person.shape in MEANS
]
LARGE = Posture(shoulder_breadth=2.0, neck_length=-2.0)
BENT = Posture(kyphosis_deg=40.0)
SHOULDERS = (BodyPlace.LEFT_SHOULDER, BodyPlace.RIGHT_SHOULDER)


@pytest.fixture(scope="module")
def solved() -> dict[str, tuple[Case, Unit, HeadMeshes, Setup]]:
    """Every shipped case as its first advice leaves it, with the mean person's head."""
    found = {}
    for path in CASE_FILES:
        case = load_case(path, UNITS)
        unit, meshes = find_unit(case.unit_id, UNITS), load_head(Person(case.subject.person.sex))
        first = advise(case, meshes.head, unit, case.start)[0]
        found[path.stem] = (case, unit, meshes, case.start.with_values(first.changes))
    return found


def posed(meshes: HeadMeshes, posture: Posture) -> HeadMeshes:
    """The head on another torso."""
    person = replace(meshes.head.person, posture=posture)
    coarse = tuple(p for p in meshes.coarse if p.frame is not Frame.TORSO)
    return replace(meshes, head=replace(meshes.head, person=person), coarse=coarse)


def only_torso(body: BodyPoints) -> BodyPoints:
    """The points that go with the torso and nothing else."""
    torso = body.torso_share == 1.0
    return BodyPoints(
        body.rest_mm[torso], body.jaw_share[torso], body.torso_share[torso], body.place[torso]
    )


def looked_for(unit: Unit, meshes: HeadMeshes, setup: Setup, turn: Turn | None = None):
    """Where the unit comes nearest to the person."""
    return clearance(body_points(meshes), unit, chain_of(meshes.head, unit, setup), turn)


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda p: p.stem)
def test_a_mean_person_is_never_hit(path: Path, solved) -> None:
    """In every shipped case as it is solved, what turns stays clear of the mean person."""
    _, unit, meshes, setup = solved[path.stem]
    found = looked_for(unit, meshes, setup)
    assert not found.touches
    assert found.distance_mm >= FREE_PATH_MM


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda p: p.stem)
def test_large_shoulders_and_a_short_neck_come_nearer(path: Path, solved) -> None:
    """Large shoulders with a short neck, and a bent back, stand more in the way."""
    _, unit, meshes, setup = solved[path.stem]
    steps = chain_of(meshes.head, unit, setup)
    mean, large, bent = (
        clearance(only_torso(body_points(posed(meshes, p))), unit, steps)
        for p in (Posture(), LARGE, BENT)
    )
    assert large.distance_mm < mean.distance_mm - 5.0
    assert bent.distance_mm < mean.distance_mm - 5.0


def test_large_shoulders_are_hit(solved) -> None:
    """Large shoulders with a short neck are hit by the detector housing in the solved cases of two
    units; the third leaves them room, until the chin stands 15 mm higher."""
    hit = set()
    for _, unit, meshes, setup in solved.values():
        found = looked_for(unit, posed(meshes, LARGE), setup)
        if found.touches:
            assert found.part == "the detector housing"
            assert found.place in SHOULDERS
            hit.add(unit.id)
    assert hit == {"alder-bench", "hornbeam-arm"}
    _, unit, meshes, setup = solved["both_jaws"]
    assert unit.id == "juniper-column"
    higher = replace(setup, chin_height_mm=setup.chin_height_mm + 15.0)
    assert not looked_for(unit, meshes, higher).touches
    assert looked_for(unit, posed(meshes, LARGE), higher).touches


def test_lowering_the_chin_frees_the_shoulders(solved) -> None:
    """The lower the chin stands against the zero plane, the farther are the shoulders, mm by mm."""
    _, unit, meshes, setup = solved["upper_front_teeth"]
    large = posed(meshes, LARGE)
    lowered = [
        looked_for(unit, large, replace(setup, chin_height_mm=setup.chin_height_mm - d))
        for d in (0.0, 10.0, 20.0, 30.0)
    ]
    assert lowered[0].touches and not lowered[-1].touches
    assert all(np.diff([c.distance_mm for c in lowered]) > 0.0)


def test_the_side_is_the_patients(solved) -> None:
    """With the field moved to one side, the shoulder on the other side is hit, and mirrored."""
    _, unit, meshes, setup = solved["upper_front_teeth"]
    large = posed(meshes, LARGE)
    straight = replace(setup, yaw_deg=0.0, roll_deg=0.0, sideways_mm=0.0, field_forward_mm=0.0)
    right, left = (
        looked_for(unit, large, replace(straight, field_sideways_mm=mm)) for mm in (40.0, -40.0)
    )
    assert (right.place, left.place) == (BodyPlace.RIGHT_SHOULDER, BodyPlace.LEFT_SHOULDER)
    assert right.at_mm[0] < 0.0 < left.at_mm[0]
    assert right.distance_mm == pytest.approx(left.distance_mm, abs=1e-3)


def test_turning_the_head_leaves_the_shoulders(solved) -> None:
    """The shoulders' points do not move when the head turns, those of the head do."""
    _, unit, meshes, setup = solved["both_jaws"]
    turned = replace(setup, yaw_deg=setup.yaw_deg - 10.0)
    alone = replace(unit, moving_parts=(MovingPart("a-post", 0.0, 1.0, 1.0, -301.0, -300.0, 0.0),))
    chains = [chain_of(meshes.head, unit, s) for s in (setup, turned)]
    np.testing.assert_array_equal(
        chains[0].torso_to_gantry.translation_mm, chains[1].torso_to_gantry.translation_mm
    )
    only = only_torso(body_points(meshes))
    one, two = (clearance(only, alone, c) for c in chains)
    assert one == two


def test_the_point_told_is_on_the_body(solved) -> None:
    """The distance is that of the point told, and the point is one of the torso's corners."""
    _, unit, meshes, setup = solved["whole_lower_jaw"]
    steps = chain_of(meshes.head, unit, setup)
    found = looked_for(unit, meshes, setup)
    body = body_points(meshes)
    corners = apply(steps.torso_to_gantry, body.rest_mm[body.torso_share == 1.0])
    assert np.linalg.norm(corners - found.at_mm, axis=1).min() < 1e-6
    detector = unit.moving_parts[1]
    off = np.hypot(*(np.array(found.at_mm) + steps.gantry_to_field.translation_mm)[:2])
    beside = max(detector.nearest_mm - off, off - np.hypot(detector.farthest_mm, 95.0), 0.0)
    below = detector.bottom_mm - found.at_mm[2]
    assert found.distance_mm == pytest.approx(np.hypot(beside, below), abs=1e-6)


def test_a_shorter_turn_never_comes_nearer(solved) -> None:
    """Half a turn with the detector in front of the patient leaves the shoulders in peace."""
    _, unit, meshes, setup = solved["both_jaws"]
    large = posed(meshes, LARGE)
    whole = looked_for(unit, large, setup)
    for start in (-90.0, 0.0, 90.0, 180.0):
        assert looked_for(unit, large, setup, Turn(start, 180.0)).distance_mm >= (
            whole.distance_mm - 1e-9
        )


def test_the_arm_over_the_head_is_seen(solved) -> None:
    """An arm that runs low over the head would hit its top."""
    _, unit, meshes, setup = solved["both_jaws"]
    low = replace(unit, moving_parts=(MovingPart("low-arm", 0.0, 300.0, 60.0, 200.0, 260.0, 0.0),))
    found = looked_for(low, meshes, setup)
    assert found.touches
    assert (found.part, found.place) == ("the low arm", BodyPlace.TOP_OF_HEAD)


def test_a_unit_without_moving_parts_hits_nobody(solved) -> None:
    """Without moving parts there is no clearance to tell, and no finding."""
    case, unit, meshes, setup = solved["both_jaws"]
    assert looked_for(replace(unit, moving_parts=()), meshes, setup) is None
    placement = place(case, meshes.head, pack_head(meshes.head), unit, setup)
    assert placement.clearance is None
    assert free_path(case, placement) == []


def test_the_finding_says_what_is_hit_and_how_deep(solved) -> None:
    """A collision decides over pass and is told as a sentence; a free path is only told."""
    case, unit, meshes, setup = solved["upper_front_teeth"]
    placement = place(case, meshes.head, pack_head(meshes.head), unit, setup)
    for posture, weighs, words in (
        (LARGE, True, "The detector housing would hit the left shoulder ("),
        (Posture(), False, "The detector housing clears the left shoulder by "),
    ):
        near = looked_for(unit, posed(meshes, posture), setup)
        told = next(
            f for f in judge(case, replace(placement, clearance=near)) if f.criterion == "free-path"
        )
        assert told.weighs is weighs and told.met is not weighs
        assert told.sentence.startswith(words)
        assert told.measured == near.distance_mm
