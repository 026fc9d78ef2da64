"""What a scan measures of a head: one picture a view, turned into lengths of water.

Each view has its own place of head and jaw, so what moves during the scan is seen where it stood.
All energies of the tube, photon noise, pixels and focal spot are in it; scatter, the detector's
lag and electronics, and the blur of the arm's own motion are not.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.errors import TrainerError
from trainer.models.frames import RigidTransform
from trainer.models.materials import Material
from trainer.physics.bricks import BrickVolume
from trainer.physics.detector import (
    open_photons,
    optical_depth,
    transmitted,
    with_photon_noise,
)
from trainer.physics.fdk.filtering import hann
from trainer.physics.fdk.weights import redundancy_weights
from trainer.physics.hardening import water_lines, water_per_mm
from trainer.physics.projection import head_line_integrals
from trainer.physics.scan import ScanGeometry
from trainer.physics.solids import Solid
from trainer.physics.spectrum import Spectrum, binned

Picture = NDArray[np.float32]
Pose = tuple[RigidTransform, RigidTransform]

# Edge of the focal spot. 0.5 to 0.7 mm are usual: from memory, Pauwels et al., Dentomaxillofac
# Radiol 2015.
FOCAL_SPOT_MM = 0.5
# Energies are taken together in bins: optical depths of tissue change by less than 0.05 %.
BIN_KEV = 4.0
# Most of a pixel that one pass of the blur gives to each neighbour.
MOST_TO_A_NEIGHBOUR = 0.2
# Share of the variance that linear interpolation between rows leaves, at fractions evenly spread.
ROWS_LEAVE = 2.0 / 3.0


@dataclass(frozen=True, slots=True)
class InBeam:
    """What the rays go through.

    ``skull`` and ``mandible`` are volumes as `head_line_integrals` takes them, ``filler`` what the
    skull's hold in the lower jaw's place, ``solids`` what else lies there. ``materials`` by name.
    """

    skull: tuple[BrickVolume, ...]
    mandible: tuple[BrickVolume, ...]
    filler: str
    materials: Mapping[str, Material]
    solids: tuple[Solid, ...] = ()


@dataclass(frozen=True, slots=True)
class Acquired:
    """What a scan has measured.

    ``lines_mm`` (views, rows, columns): thickness of water that weakens the beam as much [mm].
    ``noise_mm``: standard deviation that the photons' number gives to a line through the middle of
    the field, root mean square over the views; 0 without noise.
    """

    lines_mm: Picture
    noise_mm: float


def acquire(
    body: InBeam,
    scan: ScanGeometry,
    poses: Sequence[Pose],
    spectrum: Spectrum,
    mas_per_view: float,
    seed: int | None,
    tell: Callable[[float], None] = lambda _: None,
) -> Acquired:
    """All views of a scan, corrected for what water does to the beam.

    Parameters
    ----------
    body : InBeam
        What stands in the beam.
    scan : ScanGeometry
        The views.
    poses : sequence of (skull → field, mandible → field)
        Where head and jaw stand in each view.
    spectrum : Spectrum
        Per cm2 and mAs at 1 m, as `tube_spectrum` gives it.
    mas_per_view : float
        Tube charge of a view.
    seed : int or None
        Of the photon noise; without one there is none. Every view has numbers of its own, so a scan
        that is let go early shows what the whole one would have shown until then.
    tell : callable
        Called before each view with the share that is done; what it raises ends the work.

    Raises
    ------
    TrainerError
        If there is not one pose a view.
    """
    if len(poses) != scan.views:
        raise TrainerError(f"{len(poses)} poses for {scan.views} views")
    spectrum = binned(spectrum, BIN_KEV)
    lines = np.empty((scan.views, scan.rows, scan.columns), np.float32)
    middle = _nearest(scan.up_mm), _nearest(scan.across_mm)
    variances = np.zeros(scan.views)
    for number, (skull, mandible) in enumerate(poses):
        tell(number / scan.views)
        view = scan.view(number)
        names, paths = head_line_integrals(
            body.skull, body.mandible, view, skull, mandible, body.filler, body.solids
        )
        # the first is air: the open beam, which everything is measured against, crosses it too
        shares, grain = transmitted(paths[1:], [body.materials[n] for n in names[1:]], spectrum)
        shares = blurred(shares, scan)
        photons = open_photons(spectrum, mas_per_view, view)
        if seed is not None:
            variances[number] = grain[middle] / (photons[middle] * max(shares[middle], 1e-12))
            random = np.random.default_rng([seed, number])
            shares = with_photon_noise(shares, photons, random, grain)
        lines[number] = water_lines(optical_depth(shares, photons), spectrum)
    behind = float(lines[:, middle[0], middle[1]].mean())
    noise = math.sqrt(variances.mean()) / water_per_mm(spectrum, behind)
    return Acquired(lines, noise)


def blurred(shares: Picture, scan: ScanGeometry) -> Picture:
    """The picture as pixels and focal spot of finite size see it at the axis' depth.

    Both are squares; here they are a filter over the neighbours that has as large a variance,
    ``pixel^2 / 12 + (focal spot (M - 1))^2 / 12``. Beyond the ends the last pixel goes on.
    """
    spot = FOCAL_SPOT_MM * (scan.source_to_detector_mm / scan.source_to_axis_mm - 1.0)
    to_each = (scan.pixel_mm**2 + spot**2) / 24.0 / scan.pixel_mm**2
    passes = max(1, math.ceil(to_each / MOST_TO_A_NEIGHBOUR))
    part = np.float32(to_each / passes)
    out = shares
    for axis in (0, 1):
        for _ in range(passes):
            ends = np.pad(out, [(1, 1) if a == axis else (0, 0) for a in (0, 1)], mode="edge")
            low, high = (ends[2:], ends[:-2]) if axis == 0 else (ends[:, 2:], ends[:, :-2])
            out = (1 - 2 * part) * out + part * (low + high)
    return np.asarray(out, np.float32)


def voxel_noise(line_noise: float, scan: ScanGeometry, smooth: bool) -> float:
    """Standard deviation of a voxel in the middle of the field, for that of its lines.

    ``pi^2 s^2 / (M a^2)`` times the mean of ``f^2`` over the detector's frequencies, for M views of
    a whole turn and pixels a wide at the axis: ``pi^2 s^2 / (12 M a^2)`` for the ramp alone (Kak &
    Slaney 1988, ch. 3, worked out for a disc's centre). ``pi^2 / M`` is the sum of the squared
    weights, which a shorter arc has others of. Linear interpolation between columns, at fractions
    evenly spread, leaves ``(2 + cos 2 pi f) / 3`` of a frequency's variance; between rows, 2/3.
    """
    f = np.linspace(0.0, 0.5, 2001)[1:]
    left = (2.0 + np.cos(2.0 * np.pi * f)) / 3.0 * (hann(f) ** 2 if smooth else 1.0)
    counts = scan.step_rad * redundancy_weights(scan, np.zeros(1))
    squares = line_noise**2 / scan.step_mm**2 * float((f * f * left).mean() * (counts**2).sum())
    return math.sqrt(squares * ROWS_LEAVE)


def _nearest(places_mm: NDArray[np.float64]) -> int:
    return int(np.abs(places_mm).argmin())
