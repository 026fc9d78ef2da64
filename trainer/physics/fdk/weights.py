"""What each pixel counts in a view: lines that a scan meets twice must not count twice."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import TrainerError
from trainer.physics.scan import ScanGeometry

Array = NDArray[np.float64]

# Ends of the columns that lie unequally far from the central ray by less than this are no offset.
CENTRED_WITHIN_PIXELS = 1.5


def missing_columns(scan: ScanGeometry) -> tuple[int, int]:
    """Columns by which the detector falls short on the left and right of reaching equally far.

    Both are 0 for one that stands about the central ray.
    """
    aside = float(scan.across_mm[[0, -1]].sum()) / scan.step_mm
    if abs(aside) <= CENTRED_WITHIN_PIXELS:
        return 0, 0
    return (math.ceil(aside), 0) if aside > 0.0 else (0, math.ceil(-aside))


def redundancy_weights(scan: ScanGeometry, across_mm: Array) -> Array:
    """Weight of each column in each view, (views, columns); those of one line add up to 1.

    ``across_mm`` (columns,): places at the axis; those beyond the detector count like its ends.
    A whole turn counts every line half; one with the detector moved aside by `offset_weights`; a
    shorter arc by `parker_weights`, spread over all that was recorded. An arc that is too short
    leaves lines out, which no weight can make good.

    Raises
    ------
    TrainerError
        If the detector stands aside and the turn is not a whole one.
    """
    left, right = missing_columns(scan)
    if left or right:
        if not scan.is_whole_turn:
            raise TrainerError("a detector that stands aside needs a whole turn")
        long_side = 1.0 if left else -1.0
        overlap = float(np.abs(scan.across_mm[[0, -1]]).min())
        aside = offset_weights(long_side * across_mm, overlap, scan.source_to_axis_mm)
        return np.broadcast_to(aside, (scan.views, len(across_mm)))
    if scan.is_whole_turn:
        return np.full((scan.views, len(across_mm)), 0.5)
    fan = np.arctan(across_mm / scan.source_to_axis_mm)
    spare = max((scan.arc_rad - math.pi) / 2.0, scan.half_fan_rad)
    # this scan's columns run against the fan angle of Parker's formula
    return parker_weights(scan.turned_rad[:, None], -fan[None, :], spare)


def parker_weights(turned_rad: ArrayLike, fan_rad: ArrayLike, half_fan_rad: float) -> Array:
    """Smooth weights of a short scan over ``pi + 2 half_fan_rad``.

    Parker, Med. Phys. 9:254-257, 1982. ``w(b, g) + w(b + pi + 2 g, -g) = 1``. Fan angles beyond
    the half fan count like its end.
    """
    turned, fan = np.broadcast_arrays(np.asarray(turned_rad, float), np.asarray(fan_rad, float))
    fan = np.clip(fan, -half_fan_rad, half_fan_rad)
    least = 1e-12  # where a ramp has no width it is a step, which its first view counts in
    width = 2.0 * (half_fan_rad - fan)
    rise = np.where(width > least, np.clip(turned / np.maximum(width, least), 0.0, 1.0), 1.0)
    left = math.pi + 2.0 * half_fan_rad - turned
    fall = np.clip(left / np.maximum(2.0 * (half_fan_rad + fan), least), 0.0, 1.0)
    return np.asarray((np.sin(math.pi / 2.0 * rise) * np.sin(math.pi / 2.0 * fall)) ** 2)


def offset_weights(across_mm: ArrayLike, overlap_mm: float, source_to_axis_mm: float) -> Array:
    """Weights of a detector that reaches only ``overlap_mm`` beyond the central ray on one side.

    After Cho et al. 1996 and Wang 2002 (from memory): a sine of the fan angle over the overlap,
    ``w(u) + w(-u) = 1``; 1 on the long side.
    """
    fan = np.arctan(np.asarray(across_mm, float) / source_to_axis_mm)
    share = np.clip(fan / math.atan(overlap_mm / source_to_axis_mm), -1.0, 1.0)
    return np.asarray(0.5 * (1.0 + np.sin(math.pi / 2.0 * share)))
