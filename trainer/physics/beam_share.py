"""How much of something stands in the beam of a scan, from its sample points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.physics.scan import ScanGeometry

Array = NDArray[np.float64]

# Views looked at: as many as tell a share to a percent.
LOOKED_AT = 90


def beam_share(points_mm: Array, weights: Array, scan: ScanGeometry) -> tuple[float, float]:
    """The share of something that the beam goes through.

    Parameters
    ----------
    points_mm : (n, 3)
        Samples in the field frame.
    weights : (n,)
        Their shares; sum to 1.
    scan : ScanGeometry
        Its beam is as wide and high as its detector.

    Returns
    -------
    mean : float
        The share in the beam, averaged over the views.
    ever : float
        The share that is in the beam in one view at least.
    """
    step = max(1, scan.views // LOOKED_AT)
    across, up, half = scan.across_mm, scan.up_mm, scan.step_mm / 2.0
    mean, ever = 0.0, np.zeros(len(points_mm), bool)
    angles = scan.angles_rad[::step]
    for angle in angles.tolist():
        toward = np.array([np.sin(angle), np.cos(angle)])
        along = np.array([np.cos(angle), -np.sin(angle)])
        # places as seen from the source, brought to the axis
        scale = scan.source_to_axis_mm / (scan.source_to_axis_mm - points_mm[:, :2] @ toward)
        left = (points_mm[:, :2] @ along) * scale
        high = (points_mm[:, 2] - scan.ray_mm) * scale
        lit = (across[0] - half <= left) & (left <= across[-1] + half)
        lit &= (up[-1] - half <= high) & (high <= up[0] + half)
        mean += float(weights[lit].sum())
        ever |= lit
    return mean / len(angles), float(weights[ever].sum())
