"""Where a slice through a recorded volume lies: three planes through a point, and the arch.

A slice is a sheet of points: straight lines that all run down the same way, side by side along a
line or along the arch. What is left and right, in front and above goes by `axes`: the unit's own,
or the head's, so that an oblique head is put straight by slicing anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import plane_ahead
from trainer.models.images import RecordedVolume
from trainer.models.scenario import ReferencePlane
from trainer.models.structures import Head
from trainer.services.volumes.arch import Arch, to_field

Array = NDArray[np.float64]
Size = tuple[int, int]

# The unit's own axes: columns are the ways to the patient's left, to the back, and up.
UNIT_AXES = np.eye(3)


class Plane(StrEnum):
    """Which way a slice lies."""

    AXIAL = "axial"
    CORONAL = "coronal"
    SAGITTAL = "sagittal"
    ARCH = "arch"


FLAT_PLANES = (Plane.AXIAL, Plane.CORONAL, Plane.SAGITTAL)
# Along which of the axes each plane's pictures run to the right and down, and what a step deeper
# goes along; the other way where the sign is negative.
_RIGHT = {Plane.AXIAL: (0, 1.0), Plane.CORONAL: (0, 1.0), Plane.SAGITTAL: (1, -1.0)}
_DOWN = {Plane.AXIAL: (1, 1.0), Plane.CORONAL: (2, -1.0), Plane.SAGITTAL: (2, -1.0)}
DEEPER = {Plane.AXIAL: (2, -1.0), Plane.CORONAL: (1, 1.0), Plane.SAGITTAL: (0, 1.0)}


@dataclass(frozen=True, slots=True)
class Sheet:
    """The points of a slice.

    Attributes
    ----------
    columns_mm : (c, 3)
        Where the lines of each column begin, in the field frame, at row 0.
    down : (3,)
        The unit vector along which every column runs.
    rows_mm : (r,)
        How far each row lies along it, rising.
    across_mm : (c,)
        How far each column lies across, rising, as rows are counted down.
    """

    plane: Plane
    columns_mm: Array
    down: Array
    rows_mm: Array
    across_mm: Array

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return len(self.rows_mm), len(self.columns_mm)

    @property
    def pixel_mm(self) -> float:
        """From one row to the next."""
        return float(self.rows_mm[1] - self.rows_mm[0])

    def points(self) -> Array:
        """All points (r, c, 3) in the field frame [mm]."""
        return np.asarray(self.columns_mm[None] + self.rows_mm[:, None, None] * self.down)

    def point_at(self, row: float, column: float) -> Array:
        """The point (3,) at a place of the picture, counted in pixels; edges hold it inside."""
        across = np.clip(column, 0, len(self.columns_mm) - 1)
        below = int(across)
        nxt = min(below + 1, len(self.columns_mm) - 1)
        share = across - below
        start = (1.0 - share) * self.columns_mm[below] + share * self.columns_mm[nxt]
        down_mm = np.interp(row, np.arange(len(self.rows_mm)), self.rows_mm)
        return np.asarray(start + down_mm * self.down)

    def place_of(self, point_mm: Array) -> tuple[float, float]:
        """Row and column, in pixels, of the place nearest to a point of the field frame."""
        row = (point_mm - self.columns_mm[0]) @ self.down - self.rows_mm[0]
        off = self.columns_mm - point_mm
        off = off - (off @ self.down)[:, None] * self.down
        return float(row / self.pixel_mm), float((off * off).sum(axis=1).argmin())


def flat_sheet(
    plane: Plane, axes: Array, through_mm: Array, middle_mm: Array, pixel_mm: float, size: Size
) -> Sheet:
    """A flat slice.

    Parameters
    ----------
    plane : Plane
        Not the arch.
    axes : (3, 3)
        Columns are the ways to the left, to the back and up, in the field frame.
    through_mm : (3,)
        A point of the field frame that it goes through.
    middle_mm : (3,)
        What stands in the picture's middle, brought into the plane.
    pixel_mm : float
        Edge of a pixel.
    size : tuple of int
        Rows and columns.
    """
    right, down = (axes[:, i] * sign for i, sign in (_RIGHT[plane], _DOWN[plane]))
    into = np.cross(right, down)
    start = middle_mm + ((through_mm - middle_mm) @ into) * into
    rows_mm, across_mm = (_spread(n, pixel_mm) for n in size)
    return Sheet(plane, start + across_mm[:, None] * right, down, rows_mm, across_mm)


def arch_sheet(
    arch: Arch,
    axes: Array,
    off_mm: float,
    middle: tuple[float, float],
    pixel_mm: float,
    size: Size,
) -> Sheet:
    """The slice along the arch, ``off_mm`` outside of it, spread flat; the right side on the left.

    ``middle`` is what stands in the picture's middle: how far along the arch, and how high [mm].
    """
    rows_mm, across_mm = (_spread(n, pixel_mm) for n in size)
    along = middle[0] + across_mm
    columns = arch.places(along, off_mm) @ axes[:, :2].T + middle[1] * axes[:, 2]
    return Sheet(Plane.ARCH, columns, -axes[:, 2], rows_mm, along)


def moved(sheet: Sheet, point_mm: Array, right_mm: float, down_mm: float) -> Array:
    """The point (3,), so far to the right and down in the picture; on the arch, along it."""
    if sheet.plane is not Plane.ARCH:
        right = sheet.columns_mm[1] - sheet.columns_mm[0]
        step = right_mm / np.linalg.norm(right) * right + down_mm * sheet.down
        return np.asarray(point_mm + step)
    row, column = sheet.place_of(point_mm)
    # a step smaller than a column would lead back to the same
    columns = np.copysign(max(abs(right_mm) / sheet.pixel_mm, 1.0), right_mm) if right_mm else 0.0
    return sheet.point_at(row + down_mm / sheet.pixel_mm, column + columns)


def level_axes(plane: ReferencePlane, head: Head, volume: RecordedVolume) -> Array:
    """The axes (3, 3) of the head as it stood: the plane is level, its midline runs straight."""
    frame, forward = plane_ahead(plane, head)
    turn = to_field(volume, frame).rotation
    back = -(turn @ forward)
    left = turn[:, 0] - (turn[:, 0] @ back) * back
    left = left / np.linalg.norm(left)
    return np.stack([left, back, np.cross(left, back)], axis=1)


def _spread(count: int, pixel_mm: float) -> Array:
    """Middles of that many pixels about 0 [mm]."""
    return np.asarray((np.arange(count) - (count - 1) / 2.0) * pixel_mm)
