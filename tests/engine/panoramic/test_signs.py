"""Placing for a panoramic picture: limits, faults and the signs that the layer's geometry gives.

The signs are those of courses on panoramic technique (tables of errors), in outline as in Izzetti
et al., Applied Sciences 2021; the note on turned heads is the training reference's own.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.engine.advice import advise, play_of_controls
from trainer.engine.criteria import is_well_placed, judge
from trainer.engine.panoramic.layer import FRONT_TEETH, SIDE_TEETH
from trainer.engine.panoramic.signs import (
    FAULT_WORDS,
    SIGN_OF,
    SIGN_WORDS,
    faults_at_start,
    faults_in,
    signs_seen,
)
from trainer.engine.panoramic.slack import NAMES, layer_limits, layer_slacks
from trainer.engine.placement import Placement, place
from trainer.engine.proof.target import contact_in_field, slacks, target_of, turns
from trainer.models.panorama import PanoramaFault, PanoramaSign
from trainer.services.workbench import Workbench, open_workbench

GOOD = {"forward_mm": 0.0, "yaw_deg": 0.0, "sideways_mm": 0.0}


@pytest.fixture(scope="module")
def bench() -> Workbench:
    return open_workbench("panoramic-overview")


def placed(bench: Workbench, **changes: float) -> Placement:
    """A placement of the case, well placed but for the changes."""
    setup = bench.case.start.with_values(GOOD | changes)
    return place(bench.case, bench.meshes.head, bench.points, bench.unit, setup)


def ratios(found: Placement) -> tuple[float, float, float]:
    """Width over height of front, left and right teeth."""
    assert found.layer is not None
    front, left, right = (found.layer.mean_ratio(t) for t in (FRONT_TEETH, *SIDE_TEETH))
    assert front is not None and left is not None and right is not None
    return front, left, right


def test_the_mean_head_stands_in_the_layer_when_it_is_well_placed(bench: Workbench) -> None:
    """The front teeth are shown within 5 % as wide as high, both sides alike, most teeth sharply.

    That is what the layer is for; the shipped one was fitted to the mean head.
    """
    found = placed(bench)
    front, left, right = ratios(found)
    assert front == pytest.approx(1.0, abs=0.05)
    assert left == pytest.approx(right, rel=1e-3)
    assert found.layer is not None
    sharp = [t for t in found.layer.teeth if t.smear_mm <= 0.4]
    assert len(sharp) >= 0.75 * len(found.layer.teeth)
    assert is_well_placed(bench.case, found)
    assert faults_in(bench.case, found) == () == signs_seen(found)


@pytest.mark.parametrize(
    ("changes", "fault", "sign"),
    [
        ({"forward_mm": 6.0}, PanoramaFault.TOO_FAR_FORWARD, PanoramaSign.NARROW_FRONT),
        ({"forward_mm": -6.0}, PanoramaFault.TOO_FAR_BACK, PanoramaSign.WIDE_FRONT),
        ({"yaw_deg": -8.0, "sideways_mm": 2.0}, PanoramaFault.TURNED, PanoramaSign.ONE_SIDE_WIDER),
        ({"yaw_deg": 8.0, "sideways_mm": -2.0}, PanoramaFault.TURNED, PanoramaSign.ONE_SIDE_WIDER),
        ({"sideways_mm": 5.0}, PanoramaFault.OFF_THE_MIDLINE, PanoramaSign.ONE_SIDE_WIDER),
        ({"pitch_deg": 8.0, "forward_mm": 6.7}, PanoramaFault.CHIN_UP,
         PanoramaSign.FLAT_TOOTH_ROW),
        ({"pitch_deg": -8.0, "forward_mm": -6.2}, PanoramaFault.CHIN_DOWN,
         PanoramaSign.STEEP_TOOTH_ROW),
        ({"roll_deg": 6.0, "sideways_mm": -4.8}, PanoramaFault.LEANING,
         PanoramaSign.ONE_SIDE_HIGHER),
    ],
)  # fmt: skip
def test_each_fault_gives_its_published_sign(
    bench: Workbench, changes: dict[str, float], fault: PanoramaFault, sign: PanoramaSign
) -> None:
    """One fault at a time: it is found, it weighs, and the geometry shows the sign of the table."""
    found = placed(bench, **changes)
    assert faults_in(bench.case, found) == (fault,)
    assert SIGN_OF[fault] is sign
    assert sign in signs_seen(found)
    assert not is_well_placed(bench.case, found)


def test_a_turned_head_is_narrow_where_it_comes_nearer_to_the_detector(bench: Workbench) -> None:
    """Face to the right: the left side comes forward and outward, and is the narrower one."""
    _, left, right = ratios(placed(bench, yaw_deg=-8.0))
    assert left < right
    _, left, right = ratios(placed(bench, yaw_deg=8.0))
    assert right < left


def test_the_chin_moves_the_ends_of_the_tooth_row(bench: Workbench) -> None:
    """Chin down, the molars stand higher against the incisors (a smile); chin up, lower."""

    def rise(found: Placement) -> float:
        heights = {
            s.structure.id: s.margins_mm for s in found.structures if s.structure.id[:5] == "tooth"
        }
        up, *_ = (w for w in heights["tooth-16"] if str(w) == "down")
        return heights["tooth-16"][up] - heights["tooth-11"][up]

    assert (
        rise(placed(bench, pitch_deg=-8.0))
        > rise(placed(bench))
        > rise(placed(bench, pitch_deg=8.0))
    )


def test_the_start_of_the_case_has_the_three_faults_it_says(bench: Workbench) -> None:
    """Turned, too far forward, tongue low: the case's aim names them, and nothing else is asked."""
    at_start = place(bench.case, bench.meshes.head, bench.points, bench.unit, bench.case.start)
    assert set(faults_at_start(bench.case, at_start)) == {
        PanoramaFault.TURNED,
        PanoramaFault.TOO_FAR_FORWARD,
        PanoramaFault.TONGUE_LOW,
    }
    assert at_start.layer is not None
    assert at_start.layer.ahead_mm == pytest.approx(6.0, abs=0.5)
    assert at_start.attitude.yaw_off_deg == pytest.approx(-8.0)


def test_the_same_tilt_is_taken_in_a_volume_and_fails_here(bench: Workbench) -> None:
    """A tilt that a volume forgives (it can be resliced) decides over a panoramic picture.

    Training reference, 2.3 and the list of capabilities, row 5.
    """
    volume = open_workbench("kyphosis")
    tilt = {"pitch_deg": -12.0}
    found = place(
        volume.case, volume.meshes.head, volume.points, volume.unit,
        volume.case.start.with_values(tilt),
    )  # fmt: skip
    assert not any(f.weighs for f in judge(volume.case, found) if "attitude" in f.criterion)
    flat = placed(bench, **tilt)
    failed = [f for f in judge(bench.case, flat) if f.weighs and not f.met]
    assert "attitude-pitch" in {f.criterion for f in failed}


def test_every_fault_and_sign_has_words() -> None:
    """Each fault has words and a sign, each sign words; signs without words would be no answer."""
    assert set(FAULT_WORDS) == set(SIGN_OF) == set(PanoramaFault)
    assert set(SIGN_WORDS) == set(PanoramaSign) == set(SIGN_OF.values())


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-12.0, 12.0), st.floats(-12.0, 12.0), st.floats(-12.0, 12.0),
    st.floats(-10.0, 10.0), st.floats(-10.0, 10.0), st.sampled_from([0.0, 4.0, 8.0]),
)  # fmt: skip
def test_what_is_to_spare_agrees_with_the_placement(
    pitch: float, yaw: float, roll: float, forward: float, sideways: float, gap: float
) -> None:
    """The many-setups form finds the same places, angles and verdict as placing one by one."""
    bench = open_workbench("panoramic-overview")
    case, head, unit = bench.case, bench.meshes.head, bench.unit
    values = {
        "pitch_deg": pitch, "yaw_deg": yaw, "roll_deg": roll, "forward_mm": forward,
        "sideways_mm": sideways, "jaw_gap_mm": gap,
    }  # fmt: skip
    found = placed(bench, **values)
    setup = found.setup
    limits = layer_limits(case, head)
    assert limits is not None and found.layer is not None
    spare = layer_slacks(
        limits, unit, setup, turns(setup, {}), contact_in_field(unit, setup, {}, 1)
    )[0]
    assert len(spare) == len(NAMES)
    assert spare[0] == pytest.approx(2.0 - abs(found.layer.ahead_mm), abs=1e-6)
    assert spare[1] == pytest.approx(2.0 - abs(found.layer.left_mm), abs=1e-6)
    for n, angle in enumerate(("pitch", "yaw", "roll"), start=2):
        off = abs(getattr(found.attitude, f"{angle}_off_deg"))
        assert spare[n] == pytest.approx(45.0 * np.deg2rad(4.0 - off), abs=1e-6)
    whole = slacks(target_of(case, head, unit), setup, {})[0]
    assert (whole >= 0.0).all() == is_well_placed(case, found)


@settings(max_examples=15, deadline=None)
@given(st.floats(-12.0, 12.0), st.floats(-10.0, 10.0), st.floats(-8.0, 8.0))
def test_advice_puts_the_head_into_the_layer(yaw: float, forward: float, pitch: float) -> None:
    """Whatever of it is off, the first advice reaches what the case asks, and never by the jaw."""
    bench = open_workbench("panoramic-overview")
    values = {"yaw_deg": round(yaw), "forward_mm": round(forward), "pitch_deg": round(pitch)}
    setup = bench.case.start.with_values(GOOD | values)
    found = advise(bench.case, bench.meshes.head, bench.unit, setup)
    if not found:
        assert is_well_placed(bench.case, placed(bench, **values))
        return
    first = found[0]
    assert first.reaches_all and "jaw_gap_mm" not in first.changes
    after = place(
        bench.case, bench.meshes.head, bench.points, bench.unit, setup.with_values(first.changes)
    )
    assert is_well_placed(bench.case, after)


def test_the_play_of_controls_ends_at_the_limits(bench: Workbench) -> None:
    """Well placed, the face may turn by the case's 4 degrees, and the head go by its 2 mm."""
    setup = bench.case.start.with_values(GOOD)
    play = play_of_controls(bench.case, bench.meshes.head, bench.unit, setup)
    assert play["yaw_deg"] == (-4.0, 4.0)
    low, high = play["forward_mm"] or (0.0, 0.0)
    assert (low, high) in ((-1.0, 2.0), (-2.0, 1.0), (-2.0, 2.0))


def test_nothing_of_it_is_told_of_a_volume() -> None:
    """A case for a volume has no layer, no faults, no signs, and its attitude never weighs."""
    volume = open_workbench("both-jaws")
    found = place(volume.case, volume.meshes.head, volume.points, volume.unit, volume.case.start)
    assert found.layer is None
    assert faults_in(volume.case, found) == () == signs_seen(found)
    assert faults_at_start(volume.case, found) == ()
    assert layer_limits(volume.case, volume.meshes.head) is None


def test_a_setup_in_a_field_without_layer_has_all_to_spare(bench: Workbench) -> None:
    """Limits of a layer say nothing where the field has none."""
    limits = layer_limits(bench.case, bench.meshes.head)
    assert limits is not None
    plain = replace(bench.unit, fields=tuple(replace(f, layer=None) for f in bench.unit.fields))
    spare = layer_slacks(limits, plain, bench.case.start, np.eye(3), np.zeros((3, 3)))
    assert spare.shape == (3, 5) and np.isinf(spare).all()
