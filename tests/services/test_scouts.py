"""Previews: right place, right side, repeatable, marked as simulated."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from trainer.anatomy.phantom import build_phantom
from trainer.engine.placement import chain_of
from trainer.geometry.transforms import apply
from trainer.physics.views import project_point, scout_geometry
from trainer.services.scouts import grey_levels, save_scouts, scout_pair
from trainer.services.workbench import open_workbench


@pytest.fixture(scope="module")
def bench():
    """The demo case."""
    return open_workbench("lower-third-molar")


@pytest.fixture(scope="module")
def phantom(bench):
    """A coarse head: enough for places, quick to make."""
    return build_phantom(bench.case.subject.person, 3.0)


@pytest.fixture(scope="module")
def centred(bench):
    """The head straight in a field in the midline."""
    return replace(bench.case.start, field_sideways_mm=0.0, chin_height_mm=-28.0)


def test_shares_of_the_open_beam(bench, phantom, centred):
    """Without noise every pixel gets more than nothing and at most the open beam."""
    for projection in scout_pair(bench, centred, phantom, None).values():
        assert projection.values.min() > 0.0
        assert projection.values.max() <= 1.0
        assert projection.values.min() < 0.05  # some ray meets bone and teeth


def test_a_straight_head_gives_a_symmetric_frontal_picture(bench, phantom, centred):
    """Head and unit in the midline: the frontal picture equals its mirror image."""
    values = scout_pair(bench, centred, phantom, None)["frontal"].values
    assert np.abs(values - values[:, ::-1]).mean() < 2e-3


def test_a_head_moved_left_moves_to_the_pictures_right(bench, phantom, centred):
    """Frontal pictures are read facing the patient: the patient's left is at the right."""
    still, moved = (
        scout_pair(bench, s, phantom, None)["frontal"].values
        for s in (centred, replace(centred, sideways_mm=15.0))
    )
    columns = np.arange(still.shape[1])
    middles = [float((-np.log(v)).sum(axis=0) @ columns / -np.log(v).sum()) for v in (still, moved)]
    assert middles[1] > middles[0] + 5


def test_an_upper_incisor_stands_where_geometry_puts_it(bench, phantom, centred):
    """Lifting the chin support lifts the teeth in the lateral picture by the projected amount."""
    head = bench.meshes.head
    rows, seen = [], []
    for height in (-28.0, -18.0):
        setup = replace(centred, chin_height_mm=height)
        view = scout_geometry(bench.unit, setup, "lateral")
        edge = apply(
            chain_of(head, bench.unit, setup).skull_to_gantry,
            head.landmarks_mm["upper-incisor-edge"],
        )
        rows.append(float(project_point(view, edge)[0]))
        depth = -np.log(scout_pair(bench, setup, phantom, None)["lateral"].values)
        seen.append(depth.mean(axis=1))
    shift = rows[0] - rows[1]
    assert shift > 5
    # the whole picture moves with it: the best fit of the row profiles is that shift
    lags = np.arange(5, 40)
    a, b = seen
    fits = [np.corrcoef(a[lag + 40 : -40 + lag or None], b[40:-40])[0, 1] for lag in lags[:34]]
    assert lags[int(np.argmax(fits))] == pytest.approx(shift, abs=3)


def test_noise_repeats_with_its_seed(bench, phantom, centred):
    """The same seed gives the same noise, another one another."""
    one, same, other = (
        scout_pair(bench, centred, phantom, np.random.default_rng(s))["lateral"].values
        for s in (1, 1, 2)
    )
    np.testing.assert_array_equal(one, same)
    assert (one != other).any()


def test_files_tell_spacing_side_and_that_they_are_simulated(bench, centred, tmp_path):
    """PNG files with burned-in words, and their spacing, sides and caution beside them."""
    from PIL import Image

    frontal, lateral, table = save_scouts(bench, centred, tmp_path, 4.0, seed=1)
    facts = json.loads(table.read_text(encoding="utf-8"))
    assert facts["simulated"] is True
    assert "Not a medical device" in facts["caution"]
    assert facts["views"]["frontal"]["left_is_patients"] == "right"
    for path, name in ((frontal, "frontal"), (lateral, "lateral")):
        picture = np.asarray(Image.open(path))
        row = facts["views"][name]
        assert picture.shape == (row["rows"], row["columns"])
        assert row["pixel_mm"] > 0
        assert (picture[4:16, 4:120] == 255).sum() > 50  # the words


def test_grey_levels_rise_with_attenuation():
    """Little reaches the detector: light; all of it: black."""
    levels = grey_levels(np.array([1.0, 0.5, 0.1, 0.01, 0.0]))
    assert levels[0] == 0
    assert (np.diff(levels.astype(int)) > 0).all()
