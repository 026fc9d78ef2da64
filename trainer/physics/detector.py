"""What a detector makes of the rays that reach it: shares of the open beam, photon noise, depths.

The detector takes up all the energy of every photon, so noise is the least that a beam of so many
photons can have. Scatter, electronics and blur are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from trainer.errors import TrainerError
from trainer.models.materials import Material
from trainer.physics._kernels import compiled_mix
from trainer.physics.attenuation import linear_attenuation_per_mm
from trainer.physics.projection import THREADS
from trainer.physics.spectrum import Spectrum
from trainer.physics.views import ViewGeometry

Array = NDArray[np.float64]
Picture = NDArray[np.float32]

# Energies with less than this share of the signal do not show in 1e-4 of it.
FAINT = 1e-6
# Behind so little, single precision has no digits left for the energy of the photons.
NOTHING = 1e-30
# Pixels worked out at a time: what belongs to them stays in the cache.
TOGETHER = 8192
# From so many photons on, their quantiles follow a series; below it they are counted up.
MANY_PHOTONS = 16.0
_SPECTRUM_AT_MM = 1000.0


def transmission(
    paths_mm: NDArray[np.floating], materials: Sequence[Material], spectrum: Spectrum
) -> Picture:
    """Share of the open beam's energy that reaches each pixel; the first of `transmitted`."""
    return transmitted(paths_mm, materials, spectrum)[0]


def transmitted(
    paths_mm: NDArray[np.floating], materials: Sequence[Material], spectrum: Spectrum
) -> tuple[Picture, Picture]:
    """Share of the open beam's energy that reaches each pixel, and the grain of what arrives.

    Beer-Lambert for each energy, summed up by a detector that takes up all the energy of every
    photon. Distance from the source is left out: it cancels against the open beam.

    Parameters
    ----------
    paths_mm : (n, rows, columns)
        Length of each material [mm].
    materials : n materials
        In the same order.
    spectrum : Spectrum
        Of the open beam.

    Returns
    -------
    Two arrays (rows, columns) float32. The share is 0 to 1. The grain is ``<E^2> / <E>`` of the
    photons that arrive over the open beam's ``<E>``: what one of them adds, as `with_photon_noise`
    needs it; 1 where nothing arrives.

    Raises
    ------
    TrainerError
        If there is not one material for each layer of paths.
    """
    if len(materials) != len(paths_mm):
        raise TrainerError(f"{len(paths_mm)} layers of paths and {len(materials)} materials")
    energy = spectrum.photons * spectrum.energies_kev
    seen = energy >= FAINT * energy.max()
    photons, energies = spectrum.photons[seen], spectrum.energies_kev[seen]
    mean_kev = energy.sum() / spectrum.photons.sum()
    share = photons * energies / energy.sum()
    weights = np.stack([share, share * energies / mean_kev]).astype(np.float32)
    minus = -np.stack([linear_attenuation_per_mm(m, energies) for m in materials], axis=1)
    minus = np.ascontiguousarray(minus, np.float32)
    paths = np.asarray(paths_mm, np.float32).reshape(len(materials), -1)
    out = np.empty((2, paths.shape[1]), np.float32)
    run = compiled_mix()

    def part(first: int) -> None:
        there = np.ascontiguousarray(paths[:, first : first + TOGETHER])
        passed = np.empty((len(minus), there.shape[1]), np.float32)
        run(minus, there, passed)
        np.exp(passed, out=passed)
        run(weights, passed, out[:, first : first + TOGETHER])

    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(part, range(0, out.shape[1], TOGETHER)))
    arrives, squares = out.reshape(2, *paths_mm.shape[1:])
    grain = np.ones_like(arrives)
    np.divide(squares, arrives, out=grain, where=arrives > NOTHING)
    return arrives, grain


def open_photons(spectrum: Spectrum, mas: float, view: ViewGeometry) -> Array:
    """Photons that each pixel meets in the open beam, (rows, columns).

    ``spectrum`` counts photons per cm2 and mAs at 1 m, as `tube_spectrum` does; ``mas`` is the tube
    charge of the one picture. They thin out with the square of the distance, and a pixel that the
    ray meets at a slant catches fewer.

    Raises
    ------
    TrainerError
        If the tube charge is not positive.
    """
    if not mas > 0.0:
        raise TrainerError(f"tube charge of {mas:g} mAs: must be above 0")
    start = view.first_pixel_mm - view.source_mm
    rows, columns = (
        start @ step / view.pixel_mm + np.arange(count) * view.pixel_mm
        for step, count in zip((view.row_step_mm, view.column_step_mm), view.shape, strict=True)
    )
    depth = abs(float(start @ view.normal))
    squares = depth**2 + rows[:, None] ** 2 + columns**2
    at_one_metre = spectrum.photons.sum() * mas * (view.pixel_mm / 10.0) ** 2
    # once the square of the distance, and once depth / distance for the slant
    return np.asarray(at_one_metre * _SPECTRUM_AT_MM**2 * depth / (squares * np.sqrt(squares)))


def with_photon_noise(
    shares: NDArray[np.floating],
    photons: ArrayLike,
    random: np.random.Generator,
    grain: ArrayLike = 1.0,
) -> Picture:
    """Shares of the open beam as a limited number of photons gives them.

    The mean is the share T, the variance ``T * grain / photons``: Poisson counts of photons that
    each add ``grain / photons``. Exact for photons of one energy, and right in mean and variance
    for those of a spectrum.

    Parameters
    ----------
    shares : (rows, columns)
        As `transmitted` gives them.
    photons : float or (rows, columns)
        Photons that a pixel meets in the open beam.
    random : Generator
        One number is drawn for each pixel, row by row.
    grain : float or (rows, columns)
        As `transmitted` gives it; 1 for photons of one energy.

    Raises
    ------
    TrainerError
        If there are no photons.
    """
    number, grains = np.asarray(photons, float), np.asarray(grain, float)
    if not (number > 0.0).all():
        raise TrainerError(f"{number.min()} photons in the open beam: must be above 0")
    values = np.asarray(shares, float)
    each = grains / number
    return (photon_counts(values / each, random.random(values.shape)) * each).astype(np.float32)


def photon_counts(means: ArrayLike, quantiles: ArrayLike) -> Array:
    """Poisson-distributed whole numbers of those means at those quantiles, 0 to below 1.

    One quantile makes one count, and a hair more or less of either almost never changes it. So two
    machines whose pictures differ in their last digits still show the same noise, which drawing by
    rejection would not give: there one number that falls out differently shifts all that follow.

    From 16 photons on a series in the normal quantile (Cornish-Fisher, as in Giles, ACM Trans.
    Math. Softw. 42:7, 2016), below by adding up probabilities.
    """
    mean, quantile = np.broadcast_arrays(np.asarray(means, float), np.asarray(quantiles, float))
    counts = np.zeros(mean.shape)
    many = mean >= MANY_PHOTONS
    m, w = mean[many], ndtri(np.maximum(quantile[many], 2.0**-54))
    root = np.sqrt(m)
    series = m + root * w + (2.0 + w * w) / 6.0 - w * (2.0 + w * w) / (72.0 * root)
    counts[many] = np.maximum(np.floor(series), 0.0)
    counts[~many] = _counted_up(mean[~many], quantile[~many])
    return counts


def _counted_up(mean: Array, quantile: Array) -> Array:
    """Smallest numbers whose cumulative probability is above the quantile; for small means."""
    number = np.zeros(mean.shape)
    term = np.exp(-mean)
    total = term.copy()
    open_ = np.flatnonzero(quantile >= total)
    # the last digits may never add up to 1: what is left there is less than 1e-16
    for n in range(1, 100):
        if not len(open_):
            break
        term[open_] *= mean[open_] / n
        total[open_] += term[open_]
        number[open_] = n
        open_ = open_[(quantile[open_] >= total[open_]) & (term[open_] > 1e-17)]
    return number


def optical_depth(shares: NDArray[np.floating], photons: ArrayLike = np.inf) -> Picture:
    """``-log`` of the shares, never infinite: behind metal a pixel may count no photon at all.

    Such a pixel counts as if half a photon had come, of the number ``photons`` that it meets in the
    open beam. Without a number, as if the share were that of ``NOTHING``.
    """
    least = np.maximum(0.5 / np.asarray(photons, float), NOTHING)
    return np.asarray(-np.log(np.maximum(shares, least)), np.float32)
