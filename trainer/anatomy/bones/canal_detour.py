"""The mandibular canal's way round roots and germs in its path, and through a worn jaw.

In a cloud of grid points round the canal's first course the cheapest way from mouth to mouth is
looked for (Dijkstra, Numer. Math. 1959): short, near the first course, clear of teeth and of the
bone's faces. Smoothed, it is mended by dynamic programming over small moves.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from trainer.anatomy.shapes.implicit import Shape

Array = NDArray[np.float64]

# The canal's wall keeps this far from roots and germs; what the search aims at, since smoothing
# eats some of it; how deep the wall should lie in the bone.
LEAST_ROOM_MM, SOUGHT_ROOM_MM, SOUGHT_COVER_MM = 1.0, 1.4, 0.8
HALF_MM = 1.35
MOUTH_MM = 4.5  # within this of its ends the canal opens through the bone's face
# The cloud: spacing, how far from the first course.
STEP_MM, CLOUD_MM = 1.0, 9.0
# Prices of a millimetre of way: for each millimetre from the first course, and for each (squared)
# that a tooth or the bone's face is too near.
STRAY, NEAR, TOOTH_WEIGHT = 0.15, 8.0, 2.5
SMOOTH_MM = 1.8
# The last mending: moves tried aside and up, price of bending and of nearness, smoothing in points.
MOVES_MM = np.arange(-1.2, 1.3, 0.3)
BEND, MEND_NEAR, MEND_SMOOTH = 1.0, 60.0, 0.7
FREE_END_MM = 1.5  # the mending leaves the mouths where they are


def covered(path: Array, bone: Shape) -> bool:
    """Whether the canal's wall lies in the bone all the way between its mouths."""
    inner = _run_mm(path)
    inner = np.minimum(inner, inner[-1] - inner) > MOUTH_MM
    return bool(bone(path[inner]).max() < -HALF_MM)


def led_round(path: Array, bone: Shape, teeth: list[Shape]) -> Array:
    """The path (n, 3) [mm] led round ``teeth`` within the ``bone``, its ends kept."""
    return _mended(_cheapest_way(path, bone, teeth), bone, teeth)


def _run_mm(path: Array) -> Array:
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]


def _shortfall(points: Array, bone: Shape, teeth: list[Shape]) -> Array:
    """How much nearer to a tooth or the bone's face than wanted, squared and added [mm2].

    Teeth weigh more: a canal may lie bare, but no root stands in it.
    """
    room = np.min([tooth(points) for tooth in teeth], axis=0, initial=99.0)
    tooth = np.minimum(room - HALF_MM - SOUGHT_ROOM_MM, 0.0)
    face = np.minimum(-bone(points) - HALF_MM - SOUGHT_COVER_MM, 0.0)
    return np.asarray(TOOTH_WEIGHT * tooth**2 + face**2)


def _cheapest_way(path: Array, bone: Shape, teeth: list[Shape]) -> Array:
    course = cKDTree(path)
    low, high = path.min(axis=0) - CLOUD_MM, path.max(axis=0) + CLOUD_MM
    axes = [np.arange(a, b, STEP_MM) for a, b in zip(low, high, strict=True)]
    cloud = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    off = course.query(cloud.reshape(-1, 3))[0].reshape(cloud.shape[:-1])
    near = off < CLOUD_MM
    number = np.full(near.shape, -1)
    number[near] = np.arange(near.sum())
    points = cloud[near]
    price = 1.0 + STRAY * off[near] + NEAR * _shortfall(points, bone, teeth)
    rows, columns, costs = [], [], []
    for way in itertools.product((0, 1), (-1, 0, 1), (-1, 0, 1)):
        if way <= (0, 0, 0):
            continue
        steps = list(zip(way, near.shape, strict=True))
        here = tuple(slice(max(-d, 0), n - max(d, 0)) for d, n in steps)
        there = tuple(slice(max(d, 0), n - max(-d, 0)) for d, n in steps)
        both = near[here] & near[there]
        i, j = number[here][both], number[there][both]
        rows.append(i)
        columns.append(j)
        costs.append(STEP_MM * float(np.linalg.norm(way)) * (price[i] + price[j]) / 2.0)
    edges = (np.concatenate(costs), (np.concatenate(rows), np.concatenate(columns)))
    graph = csr_array(edges, shape=(len(points), len(points)))
    start, end = cKDTree(points).query(path[[0, -1]])[1]
    came = dijkstra(graph, directed=False, indices=start, return_predecessors=True)[1]
    found = [end]
    while found[-1] != start:
        found.append(came[found[-1]])
    return _smooth(np.vstack([path[0], points[found[-2:0:-1]], path[-1]]), len(path))


def _smooth(corners: Array, count: int) -> Array:
    """``count`` points on the corners' line with its steps ironed out, ends kept."""
    run = _run_mm(corners)
    fine = np.linspace(0.0, run[-1], max(int(run[-1] / 0.25), 8))
    line = np.column_stack([np.interp(fine, run, c) for c in corners.T])
    # reflecting the line through its ends keeps them where they are
    pad = min(int(4 * SMOOTH_MM / 0.25), len(line) - 1)
    before, after = 2 * line[0] - line[pad:0:-1], 2 * line[-1] - line[-2 : -pad - 2 : -1]
    longer = np.vstack([before, line, after])
    line = gaussian_filter1d(longer, SMOOTH_MM / 0.25, axis=0)[pad : pad + len(line)]
    run = _run_mm(line)
    at = np.linspace(0.0, run[-1], count)
    found = np.column_stack([np.interp(at, run, c) for c in line.T])
    found[[0, -1]] = corners[[0, -1]]
    return found


def _mended(path: Array, bone: Shape, teeth: list[Shape]) -> Array:
    """The path with small moves aside and up where it comes too near."""
    along = np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    up = np.array([0.0, 0.0, 1.0]) - along * along[:, 2:]
    up /= np.maximum(np.linalg.norm(up, axis=1), 1e-6)[:, None]
    aside = np.cross(along, up)
    run = _run_mm(path)
    ease = np.clip(np.minimum(run, run[-1] - run) / FREE_END_MM, 0.0, 1.0)
    a, b = (g.ravel() for g in np.meshgrid(MOVES_MM, MOVES_MM, indexing="ij"))
    fan = path[:, None] + ease[:, None, None] * (
        a[None, :, None] * aside[:, None] + b[None, :, None] * up[:, None]
    )
    price = MEND_NEAR * _shortfall(fan.reshape(-1, 3), bone, teeth).reshape(len(path), -1)
    price += STRAY * np.hypot(a, b)
    chosen = _cheapest_columns(price, BEND * ((a[:, None] - a) ** 2 + (b[:, None] - b) ** 2))
    moved = gaussian_filter1d(np.column_stack([a[chosen], b[chosen]]), MEND_SMOOTH, axis=0,
                              mode="nearest") * ease[:, None]  # fmt: skip
    return np.asarray(path + moved[:, :1] * aside + moved[:, 1:] * up)


def _cheapest_columns(price: Array, change: Array) -> NDArray[np.intp]:
    """For each row the column on the cheapest way through all rows; ``change`` (k, k) is what going
    from one column to another costs."""
    total, came = price[0], []
    for row in price[1:]:
        ways = total[:, None] + change
        came.append(np.argmin(ways, axis=0))
        total = ways.min(axis=0) + row
    at = [int(np.argmin(total))]
    for step in reversed(came):
        at.append(int(step[at[-1]]))
    return np.array(at[::-1])
