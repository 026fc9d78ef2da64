"""Tube and protocol data: what they refuse, and what an exposure takes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import NotFound, TrainerError
from trainer.models.protocol import (
    AgeGroup,
    Exposure,
    ExposureKind,
    Protocol,
    Tube,
    VoxelFactor,
    age_group,
    exposure_mas,
)

ADULT = Protocol("adult", "Adult", 40.0, 360.0, 5.0, 15.0)
SCOUT_SHARES = {ExposureKind.FRONTAL_SCOUT: 0.004, ExposureKind.LATERAL_SCOUT: 0.002}
TUBE = Tube(
    kvp=90.0,
    aluminium_mm=3.0,
    copper_mm=0.0,
    protocols=(ADULT, Protocol("short", "Short turn", 40.0, 180.0, 2.5, 7.5)),
    voxel_factors=(VoxelFactor(100, 1.5), VoxelFactor(300, 1.0)),
    low_dose_factor=0.5,
    scout_factors=SCOUT_SHARES,
)


@pytest.mark.parametrize(
    ("exposure", "mas"),
    [
        (Exposure(ExposureKind.FULL, "adult", 200), 40.0),
        (Exposure(ExposureKind.FULL, "adult", 100), 60.0),
        (Exposure(ExposureKind.FULL, "adult", 101), 40.0),
        (Exposure(ExposureKind.FULL, "adult", 100, low_dose=True), 30.0),
        (Exposure(ExposureKind.FULL, "short", 200), 20.0),
        (Exposure(ExposureKind.FRONTAL_SCOUT, "adult", 100, low_dose=True), 0.16),
        (Exposure(ExposureKind.LATERAL_SCOUT, "short", 100), 0.08),
    ],
)
def test_charge_of_an_exposure(exposure: Exposure, mas: float) -> None:
    """A scan multiplies its protocol's charge; a scout takes its share of a whole turn."""
    assert exposure_mas(TUBE, exposure) == pytest.approx(mas, rel=1e-12)


def test_current_comes_from_charge_and_time() -> None:
    """40 mAs in 5 s are 8 mA, and half of both is the same current."""
    assert [p.current_ma for p in TUBE.protocols] == [8.0, 8.0]


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ({"turn_mas": 0.0}, "turn_mas 0"),
        ({"turn_mas": float("nan")}, "turn_mas nan"),
        ({"beam_on_s": -1.0}, "beam_on_s -1"),
        ({"rotation_deg": 90.0}, "180 to 360"),
        ({"rotation_deg": 361.0}, "180 to 360"),
        ({"scan_s": 4.0}, "must not be above scan_s 4"),
    ],
)
def test_impossible_protocols_are_refused(values: dict[str, float], text: str) -> None:
    """Charge and time are positive, a rotation is a half to a whole turn, pulses fit the scan."""
    with pytest.raises(TrainerError, match=text):
        replace(ADULT, **values)


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ({"kvp": 0.0}, "kvp"),
        ({"copper_mm": -0.1}, "copper"),
        ({"protocols": ()}, "protocols"),
        ({"protocols": (ADULT, ADULT)}, "different names"),
        ({"voxel_factors": ()}, "voxel edges"),
        ({"voxel_factors": (VoxelFactor(200, 1.0), VoxelFactor(100, 1.0))}, "must rise"),
        ({"voxel_factors": (VoxelFactor(100, 1.0), VoxelFactor(200, 1.1))}, "finer voxels"),
        ({"voxel_factors": (VoxelFactor(100, 0.0),)}, "finer voxels"),
        ({"low_dose_factor": 1.2}, "low_dose_factor"),
        ({"low_dose_factor": 0.0}, "low_dose_factor"),
        ({"scout_factors": {ExposureKind.FRONTAL_SCOUT: 0.1}}, "lateral-scout"),
        ({"scout_factors": SCOUT_SHARES | {ExposureKind.FRONTAL_SCOUT: 1.0}}, "below 1"),
    ],
)
def test_impossible_tubes_are_refused(values: dict[str, object], text: str) -> None:
    """A tube that breaks a rule says which."""
    with pytest.raises(TrainerError, match=text):
        replace(TUBE, **values)


def test_what_a_tube_lacks_is_named() -> None:
    """An unknown protocol and too coarse a voxel are refused with what there is."""
    with pytest.raises(NotFound, match="it has adult, short"):
        TUBE.protocol("child")
    with pytest.raises(NotFound, match="300 um"):
        TUBE.voxel_factor(301)


def test_only_the_volume_is_no_scout() -> None:
    """Frontal and lateral previews are scouts, the full exposure is none."""
    assert [k.is_scout for k in ExposureKind] == [True, True, False]


@given(st.floats(0.0, 110.0))
def test_age_groups(age_years: float) -> None:
    """Below 16 years a subject counts as a child."""
    assert age_group(age_years) is (AgeGroup.CHILD if age_years < 16 else AgeGroup.ADULT)
