"""Taking metal out of the lines of a scan before they are put together.

The oldest and plainest way (Kalender, Hebel & Ebersberger, Radiology 1987, from memory): metal is
found in a first volume, its shadow in every view is bridged by a straight line along the row, and
the metal is put back afterwards. Metal outside of the field is not found that way; of its shadow
only what lets next to nothing through is bridged. What lies close to metal is bridged with it, so
it comes out soft or lost, and the bridges leave faint streaks of their own.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation

from trainer.geometry.transforms import identity
from trainer.models.appointment_words import MetalLevel
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume
from trainer.physics.bricks import bricks_of
from trainer.physics.fdk.reconstruct import VolumeGrid
from trainer.physics.projection import line_integrals
from trainer.physics.scan import ScanGeometry

Values = NDArray[np.float32]
Mask = NDArray[np.bool_]

# As many times as water from where on a voxel counts as metal: own working value between enamel
# (hydroxyapatite 6.2, pure and at 60 keV) and titanium (16.9); both from NIST XAAMDI.
METAL_FROM = 8.0
# A line of more water [mm] than any way through a head without metal is worth: own working value.
# Hardly a photon comes through, so such a line says nothing but that there is metal.
OPAQUE_MM = 450.0
# How much of the bridge is taken: own working values.
BRIDGED_SHARE = {MetalLevel.OFF: 0.0, MetalLevel.LOW: 0.5, MetalLevel.HIGH: 1.0}


def metal_in(volume: Values) -> Mask:
    """Which voxels hold metal, from values that count water as 1."""
    return np.asarray(volume > METAL_FROM)


def opaque(lines_mm: Values) -> Mask:
    """Which pixels got next to nothing through, and one more all round, (views, rows, columns)."""
    return np.stack([binary_dilation(view > OPAQUE_MM) for view in lines_mm])


def metal_shadow(
    metal: Mask,
    grid: VolumeGrid,
    scan: ScanGeometry,
    tell: Callable[[float], None] = lambda _: None,
) -> Mask:
    """Which pixels of each view see metal, (views, rows, columns), and one more all round.

    ``tell`` is called before each view with the share that is done.
    """
    volume = LabelVolume(
        Frame.FIELD, metal.astype(np.uint8), grid.origin_mm, grid.spacing_mm, ("other", "metal")
    )
    bricks = bricks_of(volume)
    still = identity(Frame.FIELD, Frame.FIELD)
    shadow = np.empty((scan.views, scan.rows, scan.columns), bool)
    for number in range(scan.views):
        tell(number / scan.views)
        seen = line_integrals(bricks, scan.view(number), still)[1] > 0.0
        shadow[number] = binary_dilation(seen)
    return shadow


def bridged(lines: Values, shadow: Mask, level: MetalLevel) -> Values:
    """The lines with what lies in the shadow taken towards a straight line along its row.

    ``lines`` and ``shadow`` are (views, rows, columns). The line leads from the last column before
    the shadow to the first behind it; at the detector's end it is level; a row that lies wholly in
    shadow stays as it is.
    """
    share = np.float32(BRIDGED_SHARE[level])
    out = lines.copy()
    rows = shadow.any(axis=2) & ~shadow.all(axis=2)
    part, dark = lines[rows], shadow[rows]
    columns = part.shape[1]
    here = np.broadcast_to(np.arange(columns), part.shape)
    before = np.maximum.accumulate(np.where(dark, -1, here), axis=1)
    behind = np.minimum.accumulate(np.where(dark, columns, here)[:, ::-1], axis=1)[:, ::-1]
    low, high = np.where(before < 0, behind, before), np.where(behind == columns, before, behind)
    width = np.maximum(high - low, 1)
    along = ((here - low) / width).astype(np.float32)
    first, last = (np.take_along_axis(part, ends, axis=1) for ends in (low, high))
    bridge = first + along * (last - first)
    out[rows] = np.where(dark, part + share * (bridge - part), part)
    return out
