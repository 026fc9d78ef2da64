"""Rigid transforms between named frames, and the one rotation order of the program."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import FrameError
from trainer.models.frames import Frame, RigidTransform

Array = NDArray[np.float64]


def identity(source: Frame, target: Frame) -> RigidTransform:
    """The transform between two frames that coincide."""
    return RigidTransform(source, target, np.eye(3), np.zeros(3))


def shift(source: Frame, target: Frame, translation_mm: ArrayLike) -> RigidTransform:
    """The transform between two parallel frames; a source point moves by ``translation_mm``."""
    return RigidTransform(source, target, np.eye(3), np.asarray(translation_mm, float))


def turn_about(
    source: Frame, target: Frame, rotation: Array, pivot_mm: ArrayLike, pivot_goes_to_mm: ArrayLike
) -> RigidTransform:
    """The transform that turns about a source point and leads that point to a target point [mm]."""
    pivot, goal = np.asarray(pivot_mm, float), np.asarray(pivot_goes_to_mm, float)
    return RigidTransform(source, target, rotation, goal - rotation @ pivot)


def chain(*steps: RigidTransform) -> RigidTransform:
    """The steps one after the other, first one first.

    Raises
    ------
    FrameError
        If a step does not start where the one before it ends; both frames are named.
    """
    total = steps[0]
    for step in steps[1:]:
        if step.source is not total.target:
            raise FrameError(
                f"cannot go on from {total.source}→{total.target} with {step.source}→{step.target}:"
                f" {total.target} is not {step.source}"
            )
        total = RigidTransform(
            total.source,
            step.target,
            step.rotation @ total.rotation,
            step.rotation @ total.translation_mm + step.translation_mm,
        )
    return total


def inverse(transform: RigidTransform) -> RigidTransform:
    """The way back."""
    back = transform.rotation.T
    return RigidTransform(
        transform.target, transform.source, back, -back @ transform.translation_mm
    )


def apply(transform: RigidTransform, points_mm: ArrayLike) -> Array:
    """Points (n, 3) or (3,) of the source frame [mm], in the target frame.

    Many points come back with each coordinate contiguous in memory, which makes the steps that
    follow on single coordinates several times faster.
    """
    points = np.asarray(points_mm, float)
    if points.ndim == 1:
        return transform.rotation @ points + transform.translation_mm
    return (transform.rotation @ points.T + transform.translation_mm[:, None]).T


def attitude_rotation(pitch_rad: ArrayLike, yaw_rad: ArrayLike, roll_rad: ArrayLike) -> Array:
    """Rotation(s) of the head: yaw about z, then pitch about x, then roll about y.

    Each turn is about the axis that the earlier ones have moved along (the head's own), so the
    matrix is ``Rz(yaw) @ Rx(-pitch) @ Ry(roll)``. Signs as in `models.frames`: chin up, face to
    the left, top of the head to the left are positive.

    Returns
    -------
    (..., 3, 3) for angles of shape (...).
    """
    pitch, yaw, roll = np.broadcast_arrays(
        *(np.asarray(a, float) for a in (pitch_rad, yaw_rad, roll_rad))
    )
    cp, sp = np.cos(-pitch), np.sin(-pitch)
    cy, sy = np.cos(yaw), np.sin(yaw)
    cr, sr = np.cos(roll), np.sin(roll)
    rows = [
        [cy * cr - sy * sp * sr, -sy * cp, cy * sr + sy * sp * cr],
        [sy * cr + cy * sp * sr, cy * cp, sy * sr - cy * sp * cr],
        [-cp * sr, sp, cp * cr],
    ]
    return np.stack([np.stack(r, axis=-1) for r in rows], axis=-2)


def turn_distance_mm(radius_mm: ArrayLike, angle_rad: ArrayLike) -> Array:
    """How far a point moves that lies ``radius_mm`` from the axis it is turned about (chord)."""
    return np.asarray(2.0 * np.asarray(radius_mm, float) * np.sin(np.asarray(angle_rad) / 2.0))
