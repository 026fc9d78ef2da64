"""Line integrals of balls and upright rods, from closed forms: bodies whose volume is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.physics.scan import ScanGeometry, centred_scan

Array = NDArray[np.float64]

# Water near 60 keV [1/mm]: NIST XAAMDI.
WATER_PER_MM = 0.0206
# What the reference figures were measured with: a ball of 60 mm, SID 500, SDD 750, 180 views of
# 160 x 160 pixels of 1.9 mm, voxels of 1.25 mm.
BALL_MM, VOXEL_MM = 60.0, 1.25


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball: its middle (3,) and radius [mm], and what it adds to attenuation [1/mm]."""

    middle_mm: tuple[float, float, float]
    radius_mm: float
    per_mm: float


@dataclass(frozen=True, slots=True)
class Rod:
    """An endless upright rod: its middle (2,) and radius [mm], and what it adds [1/mm]."""

    middle_mm: tuple[float, float]
    radius_mm: float
    per_mm: float


def reference_scan(**more: float) -> ScanGeometry:
    """The scan of the reference figures, with some of its numbers changed."""
    numbers = {
        "source_to_axis_mm": 500.0,
        "source_to_detector_mm": 750.0,
        "views": 180,
        "rows": 160,
        "columns": 160,
        "pixel_mm": 1.9,
    }
    return centred_scan(**(numbers | more))


def lines_of(
    scan: ScanGeometry, bodies: list[Ball | Rod], moved_mm: Array | None = None
) -> NDArray[np.float32]:
    """Line integrals (views, rows, columns); ``moved_mm`` (views, 3) is where bodies have gone."""
    out = np.zeros((scan.views, scan.rows, scan.columns), np.float32)
    for number in range(scan.views):
        view = scan.view(number)
        ways = view.pixel_centres_mm() - view.source_mm
        ways /= np.linalg.norm(ways, axis=-1, keepdims=True)
        by = np.zeros(3) if moved_mm is None else moved_mm[number]
        for body in bodies:
            out[number] += body.per_mm * chords_mm(view.source_mm, ways, body, by)
    return out


def chords_mm(source_mm: Array, ways: Array, body: Ball | Rod, by_mm: Array) -> Array:
    """How far rays of unit ways (..., 3) run in a body that has moved by ``by_mm``."""
    axes = 3 if isinstance(body, Ball) else 2
    start = source_mm[:axes] - np.array(body.middle_mm) - by_mm[:axes]
    way = ways[..., :axes]
    a = (way**2).sum(axis=-1)
    b = way @ start
    square = b * b - a * (start @ start - body.radius_mm**2)
    return np.asarray(2.0 * np.sqrt(np.maximum(square, 0.0)) / a)
