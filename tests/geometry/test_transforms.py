"""Named-frame transforms and the one rotation order."""

import numpy as np
import pytest
from hypothesis import given
from scipy.spatial.transform import Rotation
from strategies import angles_rad, points_mm, rigid

from trainer.errors import FrameError
from trainer.geometry.transforms import (
    apply,
    attitude_rotation,
    chain,
    identity,
    inverse,
    shift,
    turn_about,
    turn_distance_mm,
)
from trainer.models.frames import Frame, RigidTransform

S, P, G = Frame.SKULL, Frame.SUPPORT, Frame.GANTRY
FORWARD, LEFT, UP = np.array([0, -1.0, 0]), np.array([1.0, 0, 0]), np.array([0, 0, 1.0])


@given(rigid(S, G), points_mm())
def test_there_and_back(pose, pts):
    """A transform followed by its inverse leaves points where they were."""
    np.testing.assert_allclose(apply(inverse(pose), apply(pose, pts)), pts, rtol=0, atol=1e-9)


@given(rigid(S, P), rigid(P, G), points_mm())
def test_chain_is_one_after_the_other(first, second, pts):
    """A chain moves points as its steps do one after the other."""
    np.testing.assert_allclose(
        apply(chain(first, second), pts), apply(second, apply(first, pts)), rtol=0, atol=1e-9
    )


def test_wrong_chain_names_both_frames():
    """A chain whose inner frames differ raises and names both."""
    with pytest.raises(FrameError, match="gantry is not support"):
        chain(identity(S, G), identity(P, G))


@pytest.mark.parametrize(
    "matrix", [np.eye(3) * 1.01, np.diag([1.0, 1.0, -1.0]), np.full((3, 3), np.nan), np.eye(2)]
)
def test_only_rotations_are_taken(matrix):
    """Scaling, mirroring, broken numbers and wrong shapes are refused."""
    with pytest.raises(FrameError):
        RigidTransform(S, G, matrix, np.zeros(3))


def test_signs_of_the_attitude():
    """Chin up lifts the face, face left turns it to +x, top left leans the crown to +x."""
    a = np.deg2rad(10)
    assert (attitude_rotation(a, 0, 0) @ FORWARD)[2] == pytest.approx(np.sin(a))
    assert (attitude_rotation(0, a, 0) @ FORWARD)[0] == pytest.approx(np.sin(a))
    assert (attitude_rotation(0, 0, a) @ UP)[0] == pytest.approx(np.sin(a))


@given(angles_rad(), angles_rad(), angles_rad())
def test_rotation_order_against_scipy(pitch, yaw, roll):
    """The order is yaw about z, then pitch about x, then roll about y, as SciPy's intrinsic ZXY."""
    # reference: scipy.spatial.transform.Rotation, capital letters = intrinsic axes
    expected = Rotation.from_euler("ZXY", [yaw, -pitch, roll]).as_matrix()
    np.testing.assert_allclose(attitude_rotation(pitch, yaw, roll), expected, rtol=0, atol=1e-12)


def test_many_attitudes_at_once():
    """Arrays of angles give one matrix each."""
    many = attitude_rotation(np.array([0.1, 0.2]), np.array([0.0, 0.3]), 0.05)
    np.testing.assert_array_equal(many[1], attitude_rotation(0.2, 0.3, 0.05))


@given(rigid(S, P), points_mm(1))
def test_turning_keeps_the_pivot(pose, pts):
    """Turning about a point leads that point to its goal."""
    turned = turn_about(S, P, pose.rotation, pts[0], [1.0, 2.0, 3.0])
    np.testing.assert_allclose(apply(turned, pts[0]), [1.0, 2.0, 3.0], rtol=0, atol=1e-9)


def test_shift_moves_along_the_axes():
    """A shift of +x, +y, +z goes left, back and up (DICOM PS3.3 C.7.6.2.1.1, LPS)."""
    np.testing.assert_array_equal(apply(shift(S, G, [1, 2, 3]), np.zeros(3)), [1, 2, 3])


# Project reference, tolerance arithmetic "own arithmetic": d = 2 r sin(angle / 2), two decimals.
TURN_TABLE = {
    30: (0.52, 1.05, 1.57, 2.62, 5.23),
    45: (0.79, 1.57, 2.36, 3.93, 7.84),
    60: (1.05, 2.09, 3.14, 5.23, 10.46),
    75: (1.31, 2.62, 3.93, 6.54, 13.07),
    90: (1.57, 3.14, 4.71, 7.85, 15.69),
}


@pytest.mark.parametrize("radius", TURN_TABLE)
def test_shift_by_turning(radius):
    """A turn at a distance moves a point by the chord; the table holds to 0.01 mm."""
    angles = np.deg2rad([1, 2, 3, 5, 10])
    np.testing.assert_allclose(turn_distance_mm(radius, angles), TURN_TABLE[radius], atol=0.0051)
    # and a point really moved by that rotation goes as far
    for angle, expected in zip(angles, TURN_TABLE[radius], strict=True):
        moved = attitude_rotation(0, angle, 0) @ (radius * LEFT) - radius * LEFT
        assert np.linalg.norm(moved) == pytest.approx(expected, abs=0.0051)
