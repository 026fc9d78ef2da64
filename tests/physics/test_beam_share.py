"""How much of something the beam goes through."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.physics.beam_share import LOOKED_AT, beam_share
from trainer.physics.scan import ScanGeometry, centred_scan

S, D, RADIUS = 400.0, 600.0, 40.0
ONE = np.ones(1)


def scan_of(views: int = LOOKED_AT, arc_rad: float = 2.0 * math.pi) -> ScanGeometry:
    """A beam that just holds a cylinder of 40 mm radius; 80 mm high at the axis."""
    half_mm = D * math.tan(math.asin(RADIUS / S))
    columns = 2 * math.floor(half_mm / 0.5)
    return centred_scan(
        source_to_axis_mm=S,
        source_to_detector_mm=D,
        views=views,
        rows=240,
        columns=columns,
        pixel_mm=0.5,
        arc_rad=arc_rad,
    )


@pytest.mark.parametrize("away_mm", [45.0, 60.0, 90.0])
def test_a_point_beside_the_field_is_lit_when_its_ray_meets_the_field(away_mm: float) -> None:
    """The share of views in which the line from the source passes the axis within the radius.

    Closed form: the distance of that line from the axis is S r |sin| / |source - point|.
    """
    scan = scan_of()
    mean, ever = beam_share(np.array([[away_mm, 0.0, 0.0]]), ONE, scan)
    source = S * np.stack([np.sin(scan.angles_rad), np.cos(scan.angles_rad)], axis=1)
    to_point = source - [away_mm, 0.0]
    off = np.abs(source[:, 0] * 0.0 - source[:, 1] * away_mm) / np.hypot(*to_point.T)
    assert mean == pytest.approx(float((off <= RADIUS).mean()), abs=2.5 / LOOKED_AT)
    assert 0.0 < mean < 1.0
    assert ever == 1.0


def test_what_is_in_the_field_is_always_in_the_beam_and_what_is_far_above_never() -> None:
    """Inside: 1 and 1; 100 mm above the central ray: 0 and 0; half and half: the mean."""
    scan = scan_of()
    held, above = np.array([10.0, -5.0, 3.0]), np.array([0.0, 0.0, 100.0])
    assert beam_share(held[None], ONE, scan) == (1.0, 1.0)
    assert beam_share(above[None], ONE, scan) == (0.0, 0.0)
    both = beam_share(np.stack([held, above]), np.array([0.25, 0.75]), scan)
    assert both == pytest.approx((0.25, 0.25))


def test_the_side_where_the_tube_passes_matters_in_half_a_turn() -> None:
    """The beam widens with distance: the far side's edge is met sooner than the near side's."""
    scan = scan_of(arc_rad=math.pi)  # from behind over the left to the front
    left, right = ([[x, 0.0, 44.0]] for x in (70.0, -70.0))
    assert beam_share(np.array(right), ONE, scan)[0] > beam_share(np.array(left), ONE, scan)[0]
