"""Slices of a recorded volume as arrays: grey values, what was recorded, the field's rim, marks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_erosion, map_coordinates
from scipy.spatial import cKDTree

from trainer.anatomy.people.landmarks import ON_MANDIBLE
from trainer.engine.placement import StructurePlacement
from trainer.geometry.region import RecordedRegion, inside
from trainer.geometry.transforms import apply, inverse
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import RecordedVolume
from trainer.models.structures import Structure
from trainer.services.volumes.arch import Arch, to_field
from trainer.services.volumes.sheets import (
    DEEPER,
    UNIT_AXES,
    Plane,
    Sheet,
    Size,
    arch_sheet,
    flat_sheet,
)

Array = NDArray[np.float64]
Values = NDArray[np.float32]
Mask = NDArray[np.bool_]

# What stands where nothing was recorded.
NOTHING_HU = -1000.0
# How much more than the field a picture holds, so that its rim and what lies beyond are seen.
ROUND_FIELD = 1.12
# A landmark is shown in slices that pass it so near: own working value.
LANDMARK_NEAR_MM = 1.0
# A point belongs to a structure when one of its cells is so near; the map of that is as fine as
# so many cells.
NEAR_CELLS, MAP_CELLS = 0.75, 0.75


@dataclass(frozen=True, slots=True)
class Sight:
    """How a volume is looked at.

    Attributes
    ----------
    point_mm : (3,)
        The point of the field frame that the flat slices go through.
    axes : (3, 3)
        Columns are the ways to the left, to the back and up.
    zoom : float
        1 for the whole field; the point moves to the middle as it grows.
    off_arch_mm : float
        How far outside of the arch its slice lies.
    """

    point_mm: Array = field(default_factory=lambda: np.zeros(3))
    axes: Array = field(default_factory=UNIT_AXES.copy)
    zoom: float = 1.0
    off_arch_mm: float = 0.0

    @property
    def place_mm(self) -> Array:
        """The point along the axes: left, back, up, from the field's middle."""
        return np.asarray(self.axes.T @ self.point_mm)

    def at_place(self, place_mm: Array) -> Sight:
        """The same with the point there."""
        return replace(self, point_mm=self.axes @ place_mm)

    def deeper(self, plane: Plane, step_mm: float) -> Sight:
        """One slice on: away from the viewer; along the arch, inwards."""
        if plane is Plane.ARCH:
            return replace(self, off_arch_mm=self.off_arch_mm - step_mm)
        axis, sign = DEEPER[plane]
        return replace(self, point_mm=self.point_mm + sign * step_mm * self.axes[:, axis])


@dataclass(frozen=True, slots=True)
class VolumeSlice:
    """A slice as a picture; row 0 is on top.

    ``values`` (r, c) as in the volume; ``recorded`` where there is something; ``rim`` the edge of
    that. ``marks`` holds the pixels of each structure that is in the slice, ``landmarks`` row and
    column of each landmark that lies in it.
    """

    sheet: Sheet
    values: Values
    recorded: Mask
    rim: Mask
    marks: Mapping[str, Mask]
    landmarks: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class _Shape:
    """A structure as a map of how far every point of a box is from its nearest cell."""

    to_own: RigidTransform
    away_mm: Values
    origin_mm: Array
    spacing_mm: float
    reach_mm: float
    middle_mm: Array
    radius_mm: float


class SlicedVolume:
    """A recorded volume with what slices need of it."""

    def __init__(
        self,
        volume: RecordedVolume,
        region: RecordedRegion,
        required: Iterable[StructurePlacement] = (),
        landmarks_mm: Mapping[str, Array] = MappingProxyType({}),
    ) -> None:
        """``landmarks_mm`` are a head's: in the skull frame with the teeth together."""
        self.volume, self.region = volume, region
        self.landmarks = {
            name: apply(to_field(volume, _frame_of_landmark(name)), point)
            for name, point in landmarks_mm.items()
        }
        self.required = {s.structure.id: s for s in required}
        self._shapes = {
            name: _shape(s.structure, to_field(volume, s.structure.frame))
            for name, s in self.required.items()
        }

    @property
    def reach_mm(self) -> float:
        """Half the width of what a picture holds at least [mm]."""
        return ROUND_FIELD * max(self.region.radius_mm, self.region.half_height_mm)

    @property
    def middle_mm(self) -> Array:
        """The middle (3,) of what is required, kept in the field; else the field's middle."""
        shapes = self._shapes.values()
        if not shapes:
            return np.zeros(3)
        middles = np.array([s.middle_mm for s in shapes])
        middle = (middles.min(axis=0) + middles.max(axis=0)) / 2.0
        radius, half = self.region.radius_mm, self.region.half_height_mm
        off = float(np.hypot(middle[0], middle[1]))
        middle[:2] *= min(1.0, 0.9 * radius / max(off, 1e-9))
        middle[2] = np.clip(middle[2], -0.9 * half, 0.9 * half)
        return middle

    def sheet(self, plane: Plane, sight: Sight, arch: Arch, size: Size) -> Sheet:
        """Where the slice lies, for a picture of that size in pixels.

        The field fits at zoom 1; from there on the picture closes in on the point.
        """
        pixel_mm = 2.0 * self.reach_mm / sight.zoom / min(size)
        share = 1.0 - 1.0 / sight.zoom
        place = sight.place_mm
        if plane is not Plane.ARCH:
            middle = share * sight.point_mm
            return flat_sheet(plane, sight.axes, sight.point_mm, middle, pixel_mm, size)
        along = arch.along_mm
        near = along[arch.nearest(place[0], place[1])]
        whole = along[arch.nearest(0.0, 0.0)]
        middle_arch = (float(whole + share * (near - whole)), float(share * place[2]))
        return arch_sheet(arch, sight.axes, sight.off_arch_mm, middle_arch, pixel_mm, size)

    def slice(self, sheet: Sheet, marked: bool = False, named: bool = False) -> VolumeSlice:
        """The slice of a sheet.

        ``marked``: with the pixels of what is required; ``named``: with landmarks.
        """
        points = sheet.points()
        recorded = inside(self.region, points)
        values = np.full(sheet.shape, NOTHING_HU, np.float32)
        values[recorded] = self._values(points[recorded])
        rim = recorded & ~binary_erosion(recorded, border_value=1)
        marks: dict[str, Mask] = {}
        if marked:
            for name, shape in self._shapes.items():
                mask = _mask(shape, sheet)
                if mask is not None:
                    marks[name] = mask
        landmarks = self._landmarks_in(sheet) if named else {}
        return VolumeSlice(sheet, values, recorded, rim, marks, landmarks)

    def _landmarks_in(self, sheet: Sheet) -> dict[str, tuple[float, float]]:
        """Those that were recorded and lie within a millimetre of the slice."""
        found = {}
        for name, point in self.landmarks.items():
            place = sheet.place_of(point)
            near = np.linalg.norm(sheet.point_at(*place) - point) <= LANDMARK_NEAR_MM
            if near and inside(self.region, point[None])[0]:
                found[name] = place
        return found

    def _values(self, points: Array) -> Values:
        """Grey values at points (n, 3), straight between voxels."""
        place = (points - self.volume.origin_mm) / self.volume.spacing_mm
        found = map_coordinates(self.volume.values, place[:, ::-1].T, order=1, mode="nearest")
        return np.asarray(found, np.float32)


def _frame_of_landmark(name: str) -> Frame:
    """Which bone it goes with."""
    plain = name.removesuffix("-left").removesuffix("-right")
    with_jaw = plain in ON_MANDIBLE or plain.startswith("lower-")
    return Frame.MANDIBLE if with_jaw else Frame.SKULL


def _shape(structure: Structure, frame_to_field: RigidTransform) -> _Shape:
    reach, spacing = NEAR_CELLS * structure.cell_mm, MAP_CELLS * structure.cell_mm
    samples = structure.samples_mm
    low = samples.min(axis=0) - 2.0 * reach
    counts = np.ceil((samples.max(axis=0) + 2.0 * reach - low) / spacing).astype(int) + 1
    x, y, z = (low[i] + spacing * np.arange(counts[i]) for i in range(3))
    grid = np.stack(np.meshgrid(z, y, x, indexing="ij"), axis=-1)[..., ::-1]
    away, _ = cKDTree(samples).query(grid.reshape(-1, 3), distance_upper_bound=3.0 * reach)
    away = np.minimum(away, 3.0 * reach).reshape(grid.shape[:3])
    middle = (samples.min(axis=0) + samples.max(axis=0)) / 2.0
    radius = float(np.linalg.norm(samples - middle, axis=1).max()) + reach
    return _Shape(
        inverse(frame_to_field),
        away.astype(np.float32),
        low,
        spacing,
        reach,
        apply(frame_to_field, middle),
        radius,
    )


def _mask(shape: _Shape, sheet: Sheet) -> Mask | None:
    """The structure's pixels; None when it is not in the slice."""
    off = sheet.columns_mm - shape.middle_mm
    height = off @ sheet.down
    aside = np.linalg.norm(off - height[:, None] * sheet.down, axis=1)
    columns = np.flatnonzero(aside <= shape.radius_mm)
    if not len(columns):
        return None
    # the same for all columns: they begin at one height
    above = np.abs(sheet.rows_mm + float(height[columns[0]]))
    rows = np.flatnonzero(above <= shape.radius_mm)
    if not len(rows):
        return None
    part = replace(sheet, columns_mm=sheet.columns_mm[columns], rows_mm=sheet.rows_mm[rows])
    own = apply(shape.to_own, part.points().reshape(-1, 3))
    place = (own - shape.origin_mm) / shape.spacing_mm
    far = 3.0 * shape.reach_mm
    away = map_coordinates(shape.away_mm, place[:, ::-1].T, order=1, mode="constant", cval=far)
    near = (away <= shape.reach_mm).reshape(len(rows), len(columns))
    if not near.any():
        return None
    mask = np.zeros(sheet.shape, bool)
    mask[np.ix_(rows, columns)] = near
    return mask
