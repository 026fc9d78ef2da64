"""The ramp filter along the rows, and what rows are taken to be beyond the detector's ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from trainer.physics.fdk.weights import missing_columns, redundancy_weights
from trainer.physics.projection import THREADS
from trainer.physics.scan import ScanGeometry

Array = NDArray[np.float64]
Rows = NDArray[np.float32]

# How far rows go on beyond the detector at most, at the axis: half a large head.
LONGEST_MM = 100.0
# Share of the columns at each end from which a row's value and slope there are taken.
EDGE_SHARE = 0.1
# A row that ends below this much water [mm] has met air.
AIR_MM = 1.0


def ramp(count: int, step_mm: float) -> Array:
    """The band-limited ramp at ``-(count - 1) … count - 1`` steps, (2 count - 1,) [1/mm2].

    Kak & Slaney, Principles of Computerized Tomographic Imaging, 1988, eq. 61 of ch. 3.
    """
    n = np.arange(-(count - 1), count)
    values = np.zeros(len(n))
    odd = n % 2 != 0
    values[odd] = -1.0 / (np.pi * n[odd] * step_mm) ** 2
    values[count - 1] = 0.25 / step_mm**2
    return values


def hann(cycles: Array) -> Array:
    """How much of each frequency is left, by cycles a pixel: 1 at 0, nothing at 0.5."""
    return np.asarray(np.cos(np.pi * cycles) ** 2)


def filtered(
    lines: Rows,
    scan: ScanGeometry,
    first_view: int,
    water_per_mm: float,
    extend: bool,
    smooth: bool,
) -> Rows:
    """Some views weighted and filtered, (views, columns, rows): rows run fastest, ready to add up.

    A detector that stands aside gains its `missing_columns`: what is filtered spills over to them.

    Parameters
    ----------
    lines : (views, rows, columns) float32
        Line integrals of consecutive views.
    scan : ScanGeometry
        Of all views.
    first_view : int
        Number of the first of them.
    water_per_mm : float
        What a millimetre of water adds to a line integral.
    extend : bool
        Whether rows that end in the body go on beyond the detector, see `extension`.
    smooth : bool
        Whether fine detail, and most of the noise with it, is held back by `hann`.
    """
    views, rows, columns = lines.shape
    left, right = missing_columns(scan)
    spare = max(left, right, int(np.ceil(LONGEST_MM / scan.step_mm)) if extend else 0)
    length = fft.next_fast_len(2 * (columns + spare + left + right), real=True)
    padded = np.zeros((views, rows, length), np.float32)
    end = spare + columns
    padded[..., spare:end] = lines
    if extend and not right:
        padded[..., end : end + spare] = extension(lines, scan.step_mm, spare, water_per_mm)
    if extend and not left:
        mirrored = extension(lines[..., ::-1], scan.step_mm, spare, water_per_mm)
        padded[..., :spare] = mirrored[..., ::-1]
    across = scan.across_mm[0] + scan.step_mm * (np.arange(end + spare) - spare)
    counts = redundancy_weights(scan, across)[first_view : first_view + views]
    padded[..., : end + spare] *= counts[:, None].astype(np.float32)
    padded[..., : end + spare] *= _slant(scan, across)
    # the kernel is even, so its transform is real; it wraps round only beyond what is kept
    half = ramp(length // 2, scan.step_mm)[length // 2 - 1 :]
    kernel = np.zeros(length)
    kernel[: len(half)] = half
    kernel[-len(half) + 1 :] = half[:0:-1]
    gain = (scan.step_mm * scan.step_rad * fft.rfft(kernel).real).astype(np.float32)
    if smooth:
        gain *= hann(fft.rfftfreq(length)).astype(np.float32)
    waves = fft.rfft(padded, axis=-1, workers=THREADS)
    waves *= gain
    done = fft.irfft(waves, n=length, axis=-1, workers=THREADS)[..., spare - left : end + right]
    return np.ascontiguousarray(done.transpose(0, 2, 1), np.float32)


def _slant(scan: ScanGeometry, across_mm: Array) -> Rows:
    """``R / sqrt(R^2 + p^2 + zeta^2)`` of each pixel, (rows, columns)."""
    squares = scan.source_to_axis_mm**2 + scan.up_mm[:, None] ** 2 + across_mm**2
    return (scan.source_to_axis_mm / np.sqrt(squares)).astype(np.float32)


def extension(lines: Rows, step_mm: float, count: int, water_per_mm: float) -> Rows:
    """What rows go on with beyond their last column, (..., count).

    Without it a row that ends in the body ends in a cliff, which the ramp turns into a bright rim.
    Each row goes on as if it had left a round body of water with the value and slope it has at its
    end (the idea of Hsieh et al., Med. Phys. 2004, from memory). Where it rises outwards the body
    is taken to be centred there.
    """
    taken = min(lines.shape[-1], max(3, round(EDGE_SHARE * lines.shape[-1])))
    edge = lines[..., -taken:].astype(np.float64) / water_per_mm
    # a chord is 2 sqrt(R^2 - (x + d)^2), d from the body's middle to the end of the row, x from
    # there on: so chord^2 + 4 x^2 is a straight line of slope -8 d
    x = (np.arange(taken) - taken + 1) * step_mm
    line = edge * edge + 4.0 * x * x
    off = x - x.mean()
    slope = line @ off / (off @ off)
    middle = np.clip(-slope / 8.0, 0.0, LONGEST_MM)
    chord = np.maximum(line.mean(axis=-1) - slope * x.mean(), 0.0)
    chord[chord < AIR_MM**2] = 0.0
    squares = (middle**2 + chord / 4.0)[..., None].astype(np.float32)
    places = middle[..., None] + step_mm * np.arange(1, count + 1)
    chords = squares - np.square(places, dtype=np.float32)
    np.maximum(chords, 0.0, out=chords)
    np.sqrt(chords, out=chords)
    # ends softly where it has to be cut off
    fade = np.ones(count, np.float32)
    last = max(1, count // 4)
    fade[-last:] = np.cos(np.linspace(0.0, np.pi / 2.0, last)) ** 2
    return np.asarray(2.0 * water_per_mm * chords * fade, np.float32)
