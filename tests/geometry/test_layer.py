"""The sharp layer: arcs, distances, and how what stands beside it looks.

The signs are those of courses on panoramic technique (tables of errors): what stands in front of
the layer looks narrow and unsharp, what stands behind it wide and unsharp, and the layer is
narrower in front than behind.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.geometry.layer import (
    SHARP_MM,
    against_layer,
    middle_points,
    place_at,
    sharp_limits_mm,
    width_ratio,
)
from trainer.models.device import Beam, LayerArc, SharpLayer

BEAM = Beam(400.0, 520.0, 60.0, 90.0)
LAYER = SharpLayer(
    groove_behind_mm=20.0,
    front_behind_mm=26.0,
    arcs=(LayerArc(22.0, 24.0), LayerArc(12.0, 60.0), LayerArc(70.0, 150.0)),
    slit_mm=4.0,
)
RADII = st.floats(15.0, 200.0)
WAYS = st.floats(-103.0, 103.0)
OFFS = st.floats(-12.0, 20.0)


def _one(x: float, y: float) -> tuple[float, float, float]:
    found = against_layer(LAYER, BEAM, np.array([[x, y]]))
    return float(found.along_mm[0]), float(found.outside_mm[0]), float(found.radius_mm[0])


def test_the_front_middle_is_where_it_starts() -> None:
    assert _one(0.0, 0.0) == pytest.approx((0.0, 0.0, 24.0))
    assert _one(0.0, -6.0) == pytest.approx((0.0, 6.0, 24.0))
    assert _one(0.0, 5.0) == pytest.approx((0.0, -5.0, 24.0))


def test_a_quarter_of_one_arc_by_hand() -> None:
    ring = SharpLayer(0.0, 0.0, (LayerArc(np.pi * 30.0 / 2.0, 30.0),), 4.0)
    places, ways = place_at(ring, np.array([np.pi * 30.0 / 2.0, -np.pi * 30.0 / 2.0]))
    assert places == pytest.approx(np.array([[30.0, 30.0], [-30.0, 30.0]]))
    assert ways == pytest.approx(np.array([[1.0, 0.0], [-1.0, 0.0]]), abs=1e-12)


@given(WAYS, OFFS)
def test_a_point_put_beside_the_middle_is_found_there(along: float, off: float) -> None:
    places, ways = place_at(LAYER, np.array([along]))
    point = (places + off * ways)[0]
    found_along, found_off, _ = _one(*point)
    assert abs(found_off) <= abs(off) + 1e-9
    if abs(point[0]) > 1.0 or abs(along) < 1e-6:
        assert found_off == pytest.approx(off, abs=1e-6)
        assert found_along == pytest.approx(along, abs=1e-6)


@given(st.floats(-60.0, 60.0), st.floats(-20.0, 90.0))
def test_left_and_right_are_mirrored(x: float, y: float) -> None:
    along, off, radius = _one(x, y)
    other = _one(-x, y)
    assert other[1:] == (off, radius)
    assert abs(other[0]) == pytest.approx(abs(along))


@given(st.floats(-60.0, 60.0), st.floats(-20.0, 90.0))
def test_no_place_of_the_middle_is_nearer(x: float, y: float) -> None:
    _, places, _ = middle_points(LAYER, 0.25)
    nearest = float(np.hypot(*(places - [x, y]).T).min())
    _, off, _ = _one(x, y)
    assert abs(off) <= nearest + 1e-9
    if _inside_its_ends(x, y):
        assert nearest - abs(off) <= 0.3


def _inside_its_ends(x: float, y: float) -> bool:
    along, _, _ = _one(x, y)
    return abs(along) < 103.9


def test_the_middle_runs_smoothly_from_right_to_left() -> None:
    along, places, ways = middle_points(LAYER, 0.5)
    assert np.diff(along) == pytest.approx(0.5)
    steps = np.hypot(*np.diff(places, axis=0).T)
    assert steps == pytest.approx(0.5, abs=2e-4)
    assert np.hypot(*ways.T) == pytest.approx(1.0)
    turned = np.arccos(np.clip((ways[1:] * ways[:-1]).sum(axis=1), -1.0, 1.0))
    assert turned.max() <= 0.5 / 24.0 + 1e-6  # no kink where arcs meet
    assert places[0, 0] < 0.0 < places[-1, 0]


@given(RADII, st.floats(0.5, 12.0))
def test_outside_looks_narrow_and_inside_wide(radius: float, off: float) -> None:
    """Courses on panoramic technique: too far forward, narrow; too far back, wide."""
    narrow, wide = width_ratio(BEAM, radius, off), width_ratio(BEAM, radius, -off)
    assert narrow < 1.0 < wide


@given(RADII)
def test_the_ratio_is_that_of_two_speeds(radius: float) -> None:
    """The same by following a point's image over the detector for a small turn."""
    source, film, turn = 400.0, 520.0, 1e-6
    for off in (-8.0, 0.0, 9.0):
        past = radius + off
        speed = past * np.sin(turn) / (source - radius + past * np.cos(turn)) * film
        belt = radius * np.sin(turn) / source * film
        assert width_ratio(BEAM, radius, off) == pytest.approx(belt / speed, rel=1e-6)


@given(RADII)
def test_the_layer_ends_where_the_smear_reaches_its_limit(radius: float) -> None:
    inside, outside = sharp_limits_mm(LAYER, BEAM, radius)
    assert inside < 0.0 < outside
    for end in (inside, outside):
        smear = LAYER.slit_mm * abs(float(width_ratio(BEAM, radius, end)) - 1.0)
        assert smear == pytest.approx(SHARP_MM)


@given(RADII, RADII)
def test_the_layer_is_narrower_where_the_beam_turns_about_a_nearer_centre(
    one: float, other: float
) -> None:
    """Courses on panoramic technique: the layer is narrower in front than behind."""
    small, large = sorted((one, other))
    near, far = (sharp_limits_mm(LAYER, BEAM, r) for r in (small, large))
    assert near[1] - near[0] <= far[1] - far[0] + 1e-9


def test_what_stands_at_the_turning_centre_has_no_width_that_could_be_told() -> None:
    assert np.isinf(width_ratio(BEAM, 24.0, -24.0))
    assert np.isinf(width_ratio(BEAM, 24.0, -30.0))
