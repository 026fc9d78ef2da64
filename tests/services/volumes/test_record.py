"""The volume that a run records: right place, right side, honest about itself, kept."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from helpers.appointments import BEFORE, ENTER, HOLD, OUT, PLACE, SCOUTS, TALK, play
from helpers.heads import coarse_phantom

from trainer.errors import TrainerError
from trainer.geometry.transforms import apply
from trainer.models.appointment_words import MetalLevel
from trainer.models.images import RecordedVolume
from trainer.models.motion import MotionCause, Movement, MovementKind
from trainer.services.head_store import cache_folder
from trainer.services.volumes import record as module
from trainer.services.volumes.record import (
    RecordingCancelled,
    ask_of_run,
    default_programme,
    record_volume,
    still_ask,
)
from trainer.services.volumes.scan import Effort, VolumeAsk
from trainer.services.volumes.words import volume_text
from trainer.services.workbench import Workbench, open_workbench

# Voxels of 1 mm: coarse, and quick.
QUICK = Effort(views_per_turn=60, most_rays=1.0e5, finest_head_mm=1.0)
HEAD_MM = 3.0


@pytest.fixture(scope="module")
def bench() -> Workbench:
    """The demo case: a lower right third molar in a field of 40 mm."""
    return open_workbench("lower-third-molar")


@pytest.fixture(autouse=True)
def _coarse_head(monkeypatch: pytest.MonkeyPatch) -> None:
    """The head is made once for all tests."""
    monkeypatch.setattr(
        module, "stored_phantom", lambda person, spacing_mm, folder, tell: coarse_phantom(person)
    )


@pytest.fixture(scope="module")
def ask(bench: Workbench) -> VolumeAsk:
    """A still run of the solution's setup."""
    setup = replace(
        bench.case.start,
        pitch_deg=5.0,
        chin_height_mm=-25.0,
        field_sideways_mm=-30.5,
        field_forward_mm=-37.0,
    )
    return still_ask(bench, setup, default_programme(bench, setup), 3)


def recorded(bench: Workbench, ask: VolumeAsk, **more) -> RecordedVolume:
    """A quick volume."""
    return record_volume(bench, ask, effort=QUICK, head_spacing_mm=HEAD_MM, **more)


def with_programme(ask: VolumeAsk, **more) -> VolumeAsk:
    """The same run with some of its programme changed."""
    return replace(ask, programme=replace(ask.programme, **more))


@pytest.fixture(scope="module")
def volume(bench: Workbench, ask: VolumeAsk, tmp_path_factory) -> RecordedVolume:
    """The demo's volume, computed once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        patch.setattr(module, "stored_phantom", lambda *_: coarse_phantom(ask.person))
        return recorded(bench, ask)


def value_at(volume: RecordedVolume, point_mm: np.ndarray) -> float:
    """The value of the voxel at a place in the field."""
    x, y, z = np.round((point_mm - volume.origin_mm) / volume.spacing_mm).astype(int)
    return float(volume.values[z, y, x])


def test_structures_are_where_their_transforms_say(bench: Workbench, volume) -> None:
    """The crown of 48 is hard where the volume's own transform puts it, and not in the mirror.

    With left and right or front and back exchanged there is something much softer.
    """
    crown = bench.meshes.head.structures["tooth-48-crown"]
    middle = apply(volume.mandible_to_field, crown.hull_mm).mean(axis=0)
    assert value_at(volume, middle) > 2000.0
    assert value_at(volume, middle * [-1.0, 1.0, 1.0]) < 1000.0
    assert value_at(volume, middle * [1.0, -1.0, 1.0]) < 1000.0


def test_the_scale_is_water_0_and_air_minus_1000(volume) -> None:
    """Soft tissue, the lowest tenth in this field, is near 0 within 150; enamel above 1500.

    Whole numbers of 16 bits; outside of the round field exactly 0.
    """
    inside = volume.values[:, volume.inside]
    assert abs(np.percentile(inside, 10)) < 150.0
    assert inside.max() > 1500.0
    np.testing.assert_array_equal(volume.values, np.round(volume.values))
    assert (volume.values[:, ~volume.inside] == 0.0).all()
    assert volume.inside.mean() == pytest.approx(math.pi / 4.0, abs=0.02)


def test_the_volume_is_the_fields(volume) -> None:
    """Its middle is the field's, its size 40 mm each way; it says what was ordered and computed."""
    nz, ny, nx = volume.values.shape
    size = np.array([nx, ny, nz]) * volume.spacing_mm
    np.testing.assert_allclose(size, 40.0, atol=volume.spacing_mm)
    middle = volume.origin_mm + (np.array([nx, ny, nz]) - 1) / 2.0 * volume.spacing_mm
    np.testing.assert_allclose(middle, 0.0, atol=1e-9)
    assert volume.requested_voxel_um == 100
    assert volume.spacing_mm > 0.1
    assert (volume.views, volume.views_planned) == (60, 60)
    assert volume.arc_is_enough and not volume.stopped_early and not volume.is_part


def test_the_same_run_comes_from_the_cache(
    bench: Workbench, ask: VolumeAsk, volume, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Computed anew it has the same bits; asked again, nothing is computed; another seed is new."""
    first = recorded(bench, ask)
    np.testing.assert_array_equal(first.values, volume.values)

    def refuse(*_: object) -> None:
        raise AssertionError("computed again")

    monkeypatch.setattr(module, "acquire", refuse)
    again = recorded(bench, ask)
    np.testing.assert_array_equal(again.values, first.values)
    for name in ("spacing_mm", "views", "noise_hu", "arc_rad", "metal_level", "requested_voxel_um"):
        assert getattr(again, name) == getattr(first, name)
    np.testing.assert_array_equal(
        again.mandible_to_field.rotation, first.mandible_to_field.rotation
    )
    with pytest.raises(AssertionError, match="computed again"):
        recorded(bench, replace(ask, seed=4))


def test_a_run_let_go_early_lacks_views(bench: Workbench, ask: VolumeAsk) -> None:
    """After two fifths of the time there are two fifths of the views, and too short an arc."""
    early = recorded(bench, replace(ask, recorded_s=0.4 * ask.planned_s))
    assert (early.views, early.views_planned) == (24, 60)
    assert early.stopped_early and not early.arc_is_enough
    assert early.arc_rad == pytest.approx(math.radians(144.0))
    assert "let go early" in volume_text(early) and "too short" in volume_text(early)
    with pytest.raises(TrainerError, match="before the first view"):
        recorded(bench, replace(ask, recorded_s=0.0))


def test_low_dose_is_told_and_noisier(bench: Workbench, ask: VolumeAsk, volume) -> None:
    """Half the tube charge, as this unit's low dose: noise sqrt 2 as large, as predicted."""
    low = recorded(bench, with_programme(ask, low_dose=True))
    assert low.low_dose and not volume.low_dose
    assert low.noise_hu / volume.noise_hu == pytest.approx(math.sqrt(2.0), rel=0.01)


def test_motion_spoils_the_image_the_more_the_larger(
    bench: Workbench, ask: VolumeAsk, volume
) -> None:
    """A nod of 1 and of 4 mm in the middle of the run; the error rises."""

    def moved(size_mm: float) -> RecordedVolume:
        nod = Movement(
            MovementKind.NOD, ask.planned_s / 2.0, 0.5, size_mm, (0, 0, 0, 1.0, 0, 0), False, True
        )
        cause = MotionCause(age_years=28, scripted=(nod,))
        return recorded(bench, replace(ask, cause=cause))

    errors = [
        float(np.sqrt(np.mean((moved(size).values - volume.values) ** 2))) for size in (1.0, 4.0)
    ]
    assert 50.0 < errors[0] < 0.6 * errors[1]


def test_what_is_done_is_told_and_can_be_cancelled(bench: Workbench, ask: VolumeAsk) -> None:
    """Shares rise, parts have words; cancelled work leaves nothing in the cache."""
    told: list[tuple[str, float]] = []
    recorded(bench, replace(ask, seed=9), tell=lambda part, share: told.append((part, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares) and shares[-1] == pytest.approx(1.0)
    assert {"taking the views", "putting together"} <= {part for part, _ in told}
    kept = set(cache_folder().glob("*"))
    with pytest.raises(RecordingCancelled):
        recorded(bench, replace(ask, seed=10), cancelled=lambda: len(told) > 0)
    calls = iter(range(1000))
    with pytest.raises(RecordingCancelled):
        recorded(bench, replace(ask, seed=10), cancelled=lambda: next(calls) > 40)
    assert set(cache_folder().glob("*")) == kept


def test_metal_correction_without_metal_changes_nothing(
    bench: Workbench, ask: VolumeAsk, volume
) -> None:
    """The level is told; where no metal is found the values stay."""
    corrected = recorded(bench, with_programme(ask, metal_level=MetalLevel.HIGH))
    assert corrected.metal_level is MetalLevel.HIGH
    np.testing.assert_array_equal(corrected.values, volume.values)
    assert "Metal correction: high" in volume_text(corrected)


def test_words_tell_what_was_ordered_and_computed(volume) -> None:
    """Both voxels, the views, the grain, what is left out, and the caution."""
    text = volume_text(volume)
    assert "Ordered: 100 µm. Computed coarser" in text
    assert "60 of 60 views over 360 degrees" in text
    assert "scatter" in text and "Not a medical device" in text
    as_ordered = volume_text(replace(volume, requested_voxel_um=2000))
    assert "Computed as ordered" in as_ordered


def test_a_run_of_an_appointment_is_asked_as_it_was_done(bench: Workbench) -> None:
    """Setup, programme, motion, seed and times are the run's."""
    state, _ = play([*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT, *SCOUTS])
    assert not state.runs
    from trainer.engine.motion import motion_trace, summary
    from trainer.models.appointment import Run
    from trainer.models.appointment_words import RunEnd

    conditions = state.scouts[0].conditions
    cause = MotionCause(age_years=28)
    trace = summary(motion_trace(cause, 16.0, 5), 8.0)
    run = Run(1, 100.0, 16.0, 8.0, RunEnd.RELEASED, conditions, cause, 5, trace, 8.0)
    ask = ask_of_run(bench, run)
    assert ask.setup is conditions.setup and ask.programme is conditions.programme
    assert (ask.cause, ask.planned_s, ask.recorded_s, ask.seed) == (cause, 16.0, 8.0, 5)
    assert ask_of_run(bench, replace(run, recorded_s=17.0)).recorded_s == 16.0
