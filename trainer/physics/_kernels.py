"""Path lengths of straight rays through voxels: a compiled kernel and its plain twin.

Both work in voxel units: voxel i of an axis reaches from i to i + 1, and lengths count voxel edges.
They find them in different ways, so that one can test the other:

- `trace` walks from voxel to voxel (Amanatides & Woo, Eurographics 1987), first over bricks of
  8 × 8 × 8, and inside mixed ones over voxels. It is plain Python made of floats and arrays, which
  `compiled_trace` hands to numba; numba is met there only.
- `plain_lengths` sorts all crossings of a ray with voxel walls and looks up the middle of each
  piece (Siddon, Med. Phys. 12:252-255, 1985).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import floor, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Stands for a ray's step along an axis it does not move on: its walls are then met at +-1e30 of
# the way, far outside of the ray, without a division by zero.
_STILL = 1e-30


def trace(
    source: Array,
    first_pixel: Array,
    row_step: Array,
    column_step: Array,
    first_row: int,
    end_row: int,
    shape: NDArray[np.int64],
    table: NDArray[np.int32],
    bricks: NDArray[np.uint8],
    lengths: NDArray[np.float32],
) -> None:
    """Fills ``lengths`` [labels, first_row:end_row, columns] with each ray's way in each label.

    ``source``, ``first_pixel`` and the steps to the next row and column (3,) are x, y, z in voxel
    units; ``shape`` (3,) counts voxels along x, y, z; ``table`` and ``bricks`` as in `BrickVolume`.
    What lies outside of the volume is not counted.
    """
    labels, columns = lengths.shape[0], lengths.shape[2]
    sums = np.zeros(labels)
    sx, sy, sz = source[0], source[1], source[2]
    for row in range(first_row, end_row):
        for column in range(columns):
            # the ray is source + t * d, t from 0 to 1
            dx = first_pixel[0] + row * row_step[0] + column * column_step[0] - sx
            dy = first_pixel[1] + row * row_step[1] + column * column_step[1] - sy
            dz = first_pixel[2] + row * row_step[2] + column * column_step[2] - sz
            if abs(dx) < 1e-12:
                dx = _STILL
            if abs(dy) < 1e-12:
                dy = _STILL
            if abs(dz) < 1e-12:
                dz = _STILL
            ix, iy, iz = 1.0 / dx, 1.0 / dy, 1.0 / dz
            ax, ay, az = -sx * ix, -sy * iy, -sz * iz
            ex, ey, ez = (shape[0] - sx) * ix, (shape[1] - sy) * iy, (shape[2] - sz) * iz
            t = max(0.0, min(ax, ex), min(ay, ey), min(az, ez))
            t_end = min(1.0, max(ax, ex), max(ay, ey), max(az, ez))
            if t >= t_end:
                continue
            # bricks: index, step, and the t of the next wall and between walls, for each axis
            bx = min(max(floor((sx + t * dx) * 0.125), 0), table.shape[2] - 1)
            by = min(max(floor((sy + t * dy) * 0.125), 0), table.shape[1] - 1)
            bz = min(max(floor((sz + t * dz) * 0.125), 0), table.shape[0] - 1)
            ux, uy, uz = (1 if dx > 0 else -1), (1 if dy > 0 else -1), (1 if dz > 0 else -1)
            px, py, pz = (1 if dx > 0 else 0), (1 if dy > 0 else 0), (1 if dz > 0 else 0)
            vx, vy, vz = abs(ix), abs(iy), abs(iz)
            wx = (8 * (bx + px) - sx) * ix
            wy = (8 * (by + py) - sy) * iy
            wz = (8 * (bz + pz) - sz) * iz
            # what is one label is summed up in one go, from where it began
            label = -1
            began = t
            while True:
                leave = min(wx, wy, wz, t_end)
                entry = table[bz, by, bx]
                if entry < 0:
                    if -1 - entry != label:
                        if label >= 0:
                            sums[label] += t - began
                        label = -1 - entry
                        began = t
                else:
                    # voxels of this brick, numbered from its corner
                    lx = min(max(floor(sx + t * dx) - 8 * bx, 0), 7)
                    ly = min(max(floor(sy + t * dy) - 8 * by, 0), 7)
                    lz = min(max(floor(sz + t * dz) - 8 * bz, 0), 7)
                    qx = (8 * bx + lx + px - sx) * ix
                    qy = (8 * by + ly + py - sy) * iy
                    qz = (8 * bz + lz + pz - sz) * iz
                    while True:
                        here = bricks[entry, lz * 64 + ly * 8 + lx]
                        if here != label:
                            if label >= 0:
                                sums[label] += t - began
                            label = int(here)
                            began = t
                        if qx <= qy and qx <= qz:
                            t = qx
                            lx += ux
                            qx += vx
                            if lx < 0 or lx > 7:
                                break
                        elif qy <= qz:
                            t = qy
                            ly += uy
                            qy += vy
                            if ly < 0 or ly > 7:
                                break
                        else:
                            t = qz
                            lz += uz
                            qz += vz
                            if lz < 0 or lz > 7:
                                break
                        if t >= leave:
                            break
                t = leave
                if t >= t_end:
                    break
                if wx <= wy and wx <= wz:
                    bx += ux
                    wx += 8 * vx
                    if bx < 0 or bx >= table.shape[2]:
                        break
                elif wy <= wz:
                    by += uy
                    wy += 8 * vy
                    if by < 0 or by >= table.shape[1]:
                        break
                else:
                    bz += uz
                    wz += 8 * vz
                    if bz < 0 or bz >= table.shape[0]:
                        break
            sums[label] += t - began
            whole = sqrt(dx * dx + dy * dy + dz * dz)
            for i in range(labels):
                lengths[i, row, column] = sums[i] * whole
                sums[i] = 0.0


@cache
def compiled_trace() -> Callable[..., Any]:
    """`trace` compiled by numba, kept on disk between runs; it lets other threads run."""
    from numba import njit

    compiled: Callable[..., Any] = njit(cache=True, nogil=True)(trace)
    return compiled


def mix(factors: NDArray[np.float32], rows: NDArray[np.float32], out: NDArray[np.float32]) -> None:
    """Fills ``out`` (k, n) with ``factors`` (k, m) times ``rows`` (m, n).

    What ``@`` does, without the threads of its library, which get in the way of our own.
    """
    for k in range(out.shape[0]):
        line = out[k]
        line[:] = np.float32(0.0)
        for m in range(rows.shape[0]):
            factor = factors[k, m]
            row = rows[m]
            for n in range(row.shape[0]):
                line[n] += factor * row[n]


@cache
def compiled_mix() -> Callable[..., Any]:
    """`mix` compiled likewise."""
    from numba import njit

    compiled: Callable[..., Any] = njit(cache=True, nogil=True)(mix)
    return compiled


def plain_lengths(source: Array, pixels: Array, labels: NDArray[np.uint8], materials: int) -> Array:
    """Each ray's way in each label, (rays, materials); what `trace` finds, in whole arrays.

    ``source`` (3,) and ``pixels`` (rays, 3) are x, y, z in voxel units; ``labels`` (nz, ny, nx).
    """
    way = pixels - source
    way = np.where(np.abs(way) < 1e-12, _STILL, way)
    sizes = np.array(labels.shape[::-1])
    walls = [(np.arange(n + 1) - source[i]) / way[:, i, None] for i, n in enumerate(sizes)]
    start = np.max([np.zeros(len(way)), *(w[:, [0, -1]].min(axis=1) for w in walls)], axis=0)
    end = np.min([np.ones(len(way)), *(w[:, [0, -1]].max(axis=1) for w in walls)], axis=0)
    missed = start >= end  # no length in the volume
    start[missed] = end[missed] = 0.0
    crossings = np.sort(np.clip(np.concatenate(walls, axis=1), start[:, None], end[:, None]))
    lengths = np.diff(crossings) * np.linalg.norm(way, axis=1, keepdims=True)
    middles = (crossings[:, 1:] + crossings[:, :-1]) / 2.0
    spots = np.floor(source + middles[..., None] * way[:, None]).astype(int)
    x, y, z = np.moveaxis(np.clip(spots, 0, sizes - 1), -1, 0)
    ray = np.broadcast_to(np.arange(len(way))[:, None], lengths.shape)
    bins = (ray * materials + labels[z, y, x]).ravel()
    found = np.bincount(bins, lengths.ravel(), minlength=len(way) * materials)
    return np.asarray(found.reshape(len(way), materials), float)
