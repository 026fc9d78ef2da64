"""The views of a scan: where the source stands, and what the rays cross."""

from __future__ import annotations

import math

import numpy as np
import pytest
from helpers.balls import BALL_MM, WATER_PER_MM, Ball, lines_of, reference_scan
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import TrainerError
from trainer.geometry.transforms import identity
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume
from trainer.physics.bricks import bricks_of
from trainer.physics.projection import line_integrals
from trainer.physics.views import project_point


@given(st.floats(0.0, 6.28), st.integers(0, 11))
def test_source_and_detector_face_each_other_across_the_axis(first: float, number: int) -> None:
    """Source, axis and the detector's middle lie on one line, at their distances."""
    scan = reference_scan(views=12, first_rad=first)
    view = scan.view(number)
    middle = view.pixel_centres_mm().mean(axis=(0, 1))
    assert np.linalg.norm(view.source_mm) == pytest.approx(500.0)
    assert np.linalg.norm(middle - view.source_mm) == pytest.approx(750.0)
    np.testing.assert_allclose(middle / 250.0, -view.source_mm / 500.0, atol=1e-9)


def test_the_source_goes_from_the_back_over_the_patients_left() -> None:
    """At 0 it stands behind the patient (+y), a quarter turn later on the left (+x)."""
    scan = reference_scan(views=4, first_rad=-math.pi / 4.0)
    np.testing.assert_allclose(scan.view(0).source_mm, [0.0, 500.0, 0.0], atol=1e-9)
    np.testing.assert_allclose(scan.view(1).source_mm, [500.0, 0.0, 0.0], atol=1e-9)
    # from behind, the patient's left is on the picture's right and up is at its top
    left_and_up = project_point(scan.view(0), [[20.0, 0.0, 0.0], [0.0, 0.0, 20.0]])
    assert left_and_up[0, 1] > 80.0
    assert left_and_up[1, 0] < 79.0


@given(st.integers(0, 35), st.floats(-40, 40), st.floats(-40, 40), st.floats(-40, 40))
def test_places_at_the_axis_are_where_points_fall(
    number: int, x: float, y: float, z: float
) -> None:
    """The kernels' formulas for column and row give the pixel that the view's rays meet."""
    scan = reference_scan(views=36)
    angle = scan.angles_rad[number]
    scale = 500.0 / (500.0 - x * math.sin(angle) - y * math.cos(angle))
    column = (scale * (x * math.cos(angle) - y * math.sin(angle)) - scan.across_mm[0]) / (
        scan.step_mm
    )
    row = (scan.up_mm[0] - scale * z) / scan.step_mm
    np.testing.assert_allclose(project_point(scan.view(number), [x, y, z]), [row, column])


def test_a_ball_is_crossed_as_its_closed_form_says() -> None:
    """Check 9: the ray through the middle of a ball of 60 mm adds up 2.4720.

    Closed form 2 r mu. Check 10: a voxel ball's projection is within 0.5 % RMS of the largest line
    and 0.3 % in total (RTK: 0.35 % and 1.0003).
    """
    scan = reference_scan(views=4, rows=161, columns=161)
    exact = lines_of(scan, [Ball((0, 0, 0), BALL_MM, WATER_PER_MM)])
    assert exact[:, 80, 80] == pytest.approx(2.4720, rel=1e-5)
    z, y, x = np.ogrid[-63.5:64, -63.5:64, -63.5:64]
    ball = (x * x + y * y + z * z <= BALL_MM**2).astype(np.uint8)
    volume = LabelVolume(Frame.FIELD, ball, np.full(3, -63.5), 1.0, ("air", "water"))
    still = identity(Frame.FIELD, Frame.FIELD)
    bricks = bricks_of(volume)
    found = np.stack([line_integrals(bricks, scan.view(i), still)[1] for i in range(4)])
    apart = WATER_PER_MM * found - exact
    assert np.sqrt(np.mean(apart**2)) < 0.005 * exact.max()
    assert WATER_PER_MM * found.sum() == pytest.approx(exact.sum(), rel=0.003)


def test_an_arc_is_told_whole_enough_or_too_short() -> None:
    """A whole turn, half a turn and the fan, and half a turn alone."""
    fan = reference_scan().half_fan_rad
    whole = reference_scan()
    enough = reference_scan(arc_rad=math.pi + 2.0 * fan)
    short = reference_scan(arc_rad=math.pi)
    assert (whole.is_whole_turn, whole.arc_is_enough) == (True, True)
    assert (enough.is_whole_turn, enough.arc_is_enough) == (False, True)
    assert not short.arc_is_enough
    assert not whole.stopped_after(100).is_whole_turn


@pytest.mark.parametrize(
    "wrong",
    [
        {"source_to_axis_mm": 800.0},
        {"views": 0},
        {"pixel_mm": 0.0},
        {"arc_rad": 7.0},
    ],
)
def test_what_is_no_scan_is_refused(wrong: dict[str, float]) -> None:
    """An axis behind the detector, no views, no pixels and more than a turn are told."""
    with pytest.raises((TrainerError, ZeroDivisionError)):
        reference_scan(**wrong)
    with pytest.raises(TrainerError):
        reference_scan().stopped_after(0)
