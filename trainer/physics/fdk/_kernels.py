"""Adding filtered views up in a volume: a compiled kernel and its plain twin."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import ceil, floor
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Values = NDArray[np.float32]


def backproject(
    views: Values,
    turns: Array,
    scan: Array,
    x_mm: Array,
    y_mm: Array,
    z_mm: Array,
    first: int,
    end: int,
    inside: NDArray[np.bool_],
    volume: Values,
) -> None:
    """Adds filtered views to ``volume`` [y, x, z], in rows ``first`` to ``end`` along y.

    ``views`` (views, columns, rows) float32; ``turns`` (views, 2) sine and cosine of the source's
    angle; ``scan`` holds source to axis, first column, first row and step at the axis, and the
    central ray's height [mm]; columns of voxels that are not ``inside`` [y, x] are left alone.
    What falls beside the detector adds nothing.
    """
    reach, left, top, step, ray = scan[0], scan[1], scan[2], scan[3], scan[4]
    columns, rows = views.shape[1], views.shape[2]
    depth = len(z_mm)
    z_step = z_mm[1] - z_mm[0] if depth > 1 else 1.0
    blend = np.zeros(rows + 1, np.float32)
    total = np.zeros(depth, np.float32)
    for j in range(first, end):
        y = y_mm[j]
        for i in range(len(x_mm)):
            if not inside[j, i]:
                continue
            x = x_mm[i]
            total[:] = 0.0
            for n in range(len(turns)):
                sine, cosine = turns[n, 0], turns[n, 1]
                scale = reach / (reach - x * sine - y * cosine)
                column = (scale * (x * cosine - y * sine) - left) / step
                c = floor(column)
                if c < 0 or c + 1 >= columns:
                    continue
                share = column - c
                near = np.float32(scale * scale * (1.0 - share))
                far = np.float32(scale * scale * share)
                # rows fall with height: row = start + k * fall
                start = (top - scale * (z_mm[0] - ray)) / step
                fall = -scale * z_step / step
                low = max(0, ceil((rows - 1 - start) / fall))
                high = min(depth - 1, floor(-start / fall))
                if low > high:
                    continue
                r_low = max(0, floor(start + high * fall))
                r_high = min(rows - 1, floor(start + low * fall) + 2)
                for r in range(r_low, r_high + 1):
                    blend[r] = near * views[n, c, r] + far * views[n, c + 1, r]
                row0, fall0 = np.float32(start), np.float32(fall)
                for k in range(low, high + 1):
                    row = max(row0 + np.float32(k) * fall0, np.float32(0.0))
                    below = np.int32(row)
                    part = row - np.float32(below)
                    total[k] += blend[below] + part * (blend[below + 1] - blend[below])
            for k in range(depth):
                volume[j, i, k] += total[k]


@cache
def compiled_backproject() -> Callable[..., Any]:
    """`backproject` compiled by numba, kept on disk between runs; it lets other threads run."""
    from numba import njit

    compiled: Callable[..., Any] = njit(cache=True, nogil=True)(backproject)
    return compiled


def plain_backprojection(
    views: Values, turns: Array, scan: Array, x_mm: Array, y_mm: Array, z_mm: Array
) -> Array:
    """What `backproject` adds to all voxels, [y, x, z] in float64 and in whole arrays."""
    reach, left, top, step, ray = scan
    columns, rows = views.shape[1:]
    x, y = x_mm[None, :], y_mm[:, None]
    total = np.zeros((len(y_mm), len(x_mm), len(z_mm)))
    # a frame of nothing round the detector; what falls beyond it is cut off below
    framed = np.pad(views.astype(float), ((0, 0), (1, 1), (1, 1)))
    for view, (sine, cosine) in zip(framed, turns, strict=True):
        scale = reach / (reach - x * sine - y * cosine)
        column = (scale * (x * cosine - y * sine) - left) / step
        row = (top - scale[..., None] * (z_mm - ray)) / step
        across = (column >= 0) & (column < columns - 1)
        seen = across[..., None] & (row >= 0) & (row <= rows - 1)
        c = np.floor(np.clip(column, 0, columns - 1)).astype(int)[..., None]
        r = np.floor(np.clip(row, 0, rows - 1)).astype(int)
        u, v = column[..., None] - c, row - r
        near, far = ((1 - v) * view[k, r + 1] + v * view[k, r + 2] for k in (c + 1, c + 2))
        total += np.where(seen, scale[..., None] ** 2 * ((1 - u) * near + u * far), 0.0)
    return total
