"""Sampled distances read at many points: a compiled kernel and its plain twin.

`read` walks from point to point in plain Python made of floats and arrays, which `compiled_read`
hands to numba; numba is met there only. `plain_read` does the same in whole arrays.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import floor, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

Array = NDArray[np.float64]


def read(
    points: Array,
    mirrored: bool,
    moves: NDArray[np.float32],
    moves_origin: Array,
    moves_step: float,
    values: NDArray[np.int8],
    origin: Array,
    spacing: float,
    unit: float,
    out: Array,
) -> None:
    """Fills ``out`` (n,) with the field's distance at each of the ``points`` (n, 3) [mm].

    A ``mirrored`` field holds the side of +x and is asked by the distance from x = 0. ``moves``
    [x, y, z, xyz] leads the points to where the field was sampled; an empty one leaves them.
    ``values`` [z, y, x] count in ``unit`` mm. Between grid points both run straight; beyond the
    values' box, the way to the box is added.
    """
    moved = moves.shape[0] > 0
    mx, my, mz = moves.shape[0] - 1, moves.shape[1] - 1, moves.shape[2] - 1
    nx, ny, nz = values.shape[2] - 1, values.shape[1] - 1, values.shape[0] - 1
    for n in range(points.shape[0]):
        x, y, z = points[n, 0], points[n, 1], points[n, 2]
        if mirrored:
            x = abs(x)
        if moved:
            u = min(max((x - moves_origin[0]) / moves_step, 0.0), float(mx))
            v = min(max((y - moves_origin[1]) / moves_step, 0.0), float(my))
            w = min(max((z - moves_origin[2]) / moves_step, 0.0), float(mz))
            i, j, k = min(floor(u), mx - 1), min(floor(v), my - 1), min(floor(w), mz - 1)
            u, v, w = u - i, v - j, w - k
            dx = dy = dz = 0.0
            for a in range(2):
                p = u if a else 1.0 - u
                for b in range(2):
                    q = p * (v if b else 1.0 - v)
                    for c in range(2):
                        r = q * (w if c else 1.0 - w)
                        dx += r * moves[i + a, j + b, k + c, 0]
                        dy += r * moves[i + a, j + b, k + c, 1]
                        dz += r * moves[i + a, j + b, k + c, 2]
            x, y, z = x + dx, y + dy, z + dz
            if mirrored:
                x = abs(x)
        x, y, z = (x - origin[0]) / spacing, (y - origin[1]) / spacing, (z - origin[2]) / spacing
        u = min(max(x, 0.0), float(nx))
        v = min(max(y, 0.0), float(ny))
        w = min(max(z, 0.0), float(nz))
        away = sqrt((x - u) ** 2 + (y - v) ** 2 + (z - w) ** 2) * spacing
        i, j, k = min(floor(u), nx - 1), min(floor(v), ny - 1), min(floor(w), nz - 1)
        u, v, w = u - i, v - j, w - k
        near = (values[k, j, i] * (1.0 - u) + values[k, j, i + 1] * u) * (1.0 - v) + (
            values[k, j + 1, i] * (1.0 - u) + values[k, j + 1, i + 1] * u
        ) * v
        far = (values[k + 1, j, i] * (1.0 - u) + values[k + 1, j, i + 1] * u) * (1.0 - v) + (
            values[k + 1, j + 1, i] * (1.0 - u) + values[k + 1, j + 1, i + 1] * u
        ) * v
        out[n] = (near * (1.0 - w) + far * w) * unit + away


@cache
def compiled_read() -> Callable[..., Any]:
    """`read` compiled by numba, kept on disk between runs; it lets other threads run."""
    from numba import njit

    compiled: Callable[..., Any] = njit(cache=True, nogil=True)(read)
    return compiled


def plain_read(
    points: Array,
    mirrored: bool,
    moves: NDArray[np.float32],
    moves_origin: Array,
    moves_step: float,
    values: NDArray[np.int8],
    origin: Array,
    spacing: float,
    unit: float,
    out: Array,
) -> None:
    """What `read` does, in whole arrays."""
    p = points.copy()
    fold = np.array([mirrored, False, False])
    p = np.where(fold, np.abs(p), p)
    if len(moves):
        at = ((p - moves_origin) / moves_step).T
        p = p + np.stack(
            [
                map_coordinates(m, at, np.float64, 1, mode="nearest")
                for m in np.moveaxis(moves, 3, 0)
            ],
            1,
        )
        p = np.where(fold, np.abs(p), p)
    at = (p - origin) / spacing
    held = np.clip(at, 0.0, np.array(values.shape[::-1]) - 1.0)
    away = np.linalg.norm(at - held, axis=1) * spacing
    out[:] = map_coordinates(values, held.T[::-1], np.float64, 1) * unit + away
