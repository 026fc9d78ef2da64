"""Shapes to voxels, block by block.

A shape is looked at coarsely first, so that blocks wholly inside or outside cost nearly nothing. In
the others its distance is taken on a lattice, interpolated to the voxels, and taken again, exactly,
at voxels so near the surface that interpolation could change their side. So sides are exact, depths
below the surface right to a few hundredths of a millimetre where the surface bends gently, and
the cost goes with the surface and hardly with the voxels.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import Shape

Array = NDArray[np.float64]
Distances = NDArray[np.float32]
Labels = NDArray[np.uint8]
Where = tuple[slice, slice, slice]
# New labels of a block, from its old ones and a shape's distances there [mm].
Rule = Callable[[Labels, Distances], Labels]

# Edge of a block and of the lattice's cells, at most [mm].
BLOCK_MM, LATTICE_MM = 20.0, 1.6
# Interpolated distances below this share of the lattice's step are taken exactly instead: where a
# distance changes by at most 1 mm a mm, interpolation in a cube errs by at most sqrt(3)/2 steps
# (half its diagonal: the mean distance to the corners, weighted, is never more).
EXACT_BELOW = 0.87
# Looks along a block's edge at the first glance, and how much a distance may overstate the true one
# before a block is wrongly left out (on skin and skull 1.5 and 2.5 give the same voxels).
LOOKS, TRUST = 6, 1.5
# Distance that stands for all of a block which lies wholly inside [mm].
DEEP_MM = 1e3


@dataclass(frozen=True, slots=True)
class VoxelGrid:
    """Cubic voxels: ``origin_mm`` is the first one's centre as x, y, z; ``count`` their z, y, x."""

    origin_mm: Array
    spacing_mm: float
    count: tuple[int, int, int]

    def axis_mm(self, axis: int, part: slice = slice(None)) -> Array:
        """Centres along x (0), y (1) or z (2) of the voxels in ``part`` [mm]."""
        number = np.arange(self.count[2 - axis])[part]
        return np.asarray(self.origin_mm[axis] + number * self.spacing_mm)

    def points_mm(self, where: Where) -> Array:
        """Centres (n, 3) of a block's voxels [mm], x running fastest."""
        return _lattice(*(self.axis_mm(axis, where[2 - axis]) for axis in range(3)))

    def around(self, lower_mm: Array, upper_mm: Array) -> Where:
        """The voxels whose centres lie in a box."""
        low = np.ceil((lower_mm - self.origin_mm) / self.spacing_mm).astype(int)
        high = np.floor((upper_mm - self.origin_mm) / self.spacing_mm).astype(int) + 1
        low, high = np.maximum(low, 0), np.minimum(high, self.count[::-1])
        z, y, x = (slice(int(low[i]), max(int(low[i]), int(high[i]))) for i in (2, 1, 0))
        return z, y, x


def grid_of_half(lower_mm: Array, upper_mm: Array, spacing_mm: float) -> VoxelGrid:
    """Voxels over the part of a box on the patient's left.

    The first centres lie half a voxel from the midline, so that the mirrored half joins on; along y
    and z centres lie at whole multiples of the spacing, so that grids of one spacing agree.
    """
    low = np.floor(lower_mm / spacing_mm)
    high = np.ceil(upper_mm / spacing_mm)
    count = (high - low).astype(int) + 1
    origin = low * spacing_mm
    origin[0] = spacing_mm / 2.0
    return VoxelGrid(origin, spacing_mm, (int(count[2]), int(count[1]), int(high[0])))


def paint(labels: Labels, grid: VoxelGrid, shape: Shape, rule: Rule) -> None:
    """Changes ``labels`` [z, y, x] in place, by ``rule``, in all blocks that hold the shape.

    The rule sees signed distances in a block: exact at the surface, of the right side elsewhere;
    blocks wholly outside are left out, so the rule must change nothing outside.
    """
    for where, distance in blocks(shape, grid):
        labels[where] = rule(labels[where], distance)


def blocks(shape: Shape, grid: VoxelGrid) -> Iterator[tuple[Where, Distances]]:
    """The blocks that are not wholly outside, and the shape's distances [z, y, x] there [mm]."""
    region = grid.around(shape.lower_mm, shape.upper_mm)
    edge = max(int(BLOCK_MM / grid.spacing_mm), 2)
    z_parts, y_parts, x_parts = (_parts(part, edge) for part in region)
    threshold = TRUST * edge * grid.spacing_mm / (LOOKS - 1) * np.sqrt(3.0) / 2.0
    for z in z_parts:
        for y in y_parts:
            # one glance at a whole row of blocks: calls are dearer than points
            glances = [_looks(grid, (z, y, x)) for x in x_parts]
            if not glances:
                continue
            look = shape.distance(np.concatenate(glances)).reshape(len(x_parts), -1)
            for x, seen in zip(x_parts, look, strict=True):
                where = z, y, x
                if np.abs(seen).min() > threshold and _one_side(seen):
                    found = _all(grid, where) if seen[0] < 0 else None
                else:
                    found = _distances(shape, grid, where)
                if found is not None:
                    yield where, found


def _parts(whole: slice, edge: int) -> list[slice]:
    starts = range(whole.start, whole.stop, edge)
    return [slice(i, min(i + edge, whole.stop)) for i in starts]


def _one_side(distances: Array) -> bool:
    inside = distances < 0.0
    return bool(inside.all() or not inside.any())


def _all(grid: VoxelGrid, where: Where) -> Distances:
    return np.full([s.stop - s.start for s in where], -DEEP_MM, np.float32)


def _lattice(x: Array, y: Array, z: Array) -> Array:
    points = np.empty((len(z), len(y), len(x), 3))
    points[..., 0], points[..., 1], points[..., 2] = x, y[:, None], z[:, None, None]
    return points.reshape(-1, 3)


def _looks(grid: VoxelGrid, where: Where) -> Array:
    ends = [grid.axis_mm(axis, where[2 - axis])[[0, -1]] for axis in range(3)]
    return _lattice(*(np.linspace(a, b, LOOKS) for a, b in ends))


def _distances(shape: Shape, grid: VoxelGrid, where: Where) -> Distances | None:
    """Distances in one block near the surface; None when it turns out to lie wholly outside."""
    axes = [grid.axis_mm(axis, where[2 - axis]) for axis in range(3)]
    cells = [int(np.ceil((a[-1] - a[0]) / LATTICE_MM)) for a in axes]
    if any(n + 1 >= len(a) for n, a in zip(cells, axes, strict=True)):
        points = _lattice(*axes)
        return shape.distance(points).reshape([len(a) for a in axes[::-1]]).astype(np.float32)
    knots = [np.linspace(a[0], a[-1], n + 1) for n, a in zip(cells, axes, strict=True)]
    values = shape.distance(_lattice(*knots)).reshape([len(k) for k in knots[::-1]])
    if np.abs(values).min() > TRUST * LATTICE_MM and _one_side(values):
        return _all(grid, where) if values[0, 0, 0] < 0 else None
    for axis in range(3):
        values = _interpolated(values, 2 - axis, knots[axis], axes[axis])
    near = np.abs(values) < EXACT_BELOW * LATTICE_MM
    if near.any():
        values[near] = shape.distance(_lattice(*axes)[near.ravel()])
    return values.astype(np.float32)


def _interpolated(values: Array, axis: int, knots: Array, at: Array) -> Array:
    """Values at ``at`` between evenly spaced ``knots`` along one axis, straight lines between."""
    place = (at - knots[0]) / (knots[1] - knots[0])
    below = np.clip(place.astype(int), 0, len(knots) - 2)
    form = [1, 1, 1]
    form[axis] = -1
    share = (place - below).reshape(form)
    low, high = values.take(below, axis), values.take(below + 1, axis)
    return np.asarray(low + share * (high - low))
