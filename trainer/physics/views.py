"""Where source and detector stand for a picture, and where a point falls on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import FrameError, NotFound, TrainerError
from trainer.geometry.pose import gantry_to_field, region_place
from trainer.models.device import Unit
from trainer.models.frames import Frame
from trainer.models.setup import Setup

Array = NDArray[np.float64]
ScoutView = Literal["frontal", "lateral"]


@dataclass(frozen=True, slots=True)
class ViewGeometry:
    """A point source and a flat detector of square pixels.

    ``source_mm``, ``first_pixel_mm`` (the centre of pixel [0, 0]) and the steps to the next row and
    column are (3,) in ``frame``; ``shape`` is rows, columns. Row 0 is the picture's top, column 0
    its left, where ``left_is_patients`` side or direction lies.

    Raises
    ------
    TrainerError
        If the pixels are not square, or the source lies in the detector's plane.
    """

    frame: Frame
    source_mm: Array
    first_pixel_mm: Array
    row_step_mm: Array
    column_step_mm: Array
    shape: tuple[int, int]
    left_is_patients: str

    def __post_init__(self) -> None:
        down, along = self.row_step_mm, self.column_step_mm
        size = float(np.linalg.norm(along))
        square = abs(np.linalg.norm(down) - size) <= 1e-9 * size and abs(down @ along) <= (
            1e-9 * size * size
        )
        if not (size > 0.0 and square):
            raise TrainerError("a view needs square pixels")
        if abs((self.first_pixel_mm - self.source_mm) @ self.normal) < 1e-9:
            raise TrainerError("the source of a view lies in the plane of its detector")

    @property
    def pixel_mm(self) -> float:
        """A pixel's edge on the detector [mm]."""
        return float(np.linalg.norm(self.column_step_mm))

    @property
    def normal(self) -> Array:
        """Unit vector along the detector's normal, (3,)."""
        across = np.cross(self.column_step_mm, self.row_step_mm)
        return np.asarray(across / np.linalg.norm(across))

    def pixel_centres_mm(self) -> Array:
        """Centres of all pixels, (rows, columns, 3), in ``frame`` [mm]."""
        rows, columns = np.indices(self.shape)[..., None]
        return np.asarray(
            self.first_pixel_mm + rows * self.row_step_mm + columns * self.column_step_mm
        )


def scout_geometry(unit: Unit, setup: Setup, view: ScoutView, pixels: int = 400) -> ViewGeometry:
    """Source and detector of a scout, in the gantry frame.

    The rotation axis stands in the field's centre, as it does for the scan, and the central ray at
    the height the region says. Frontal: the tube is behind the head and the picture is read as the
    patient is seen from the front, the patient's right on its left. Lateral: the tube is on the
    patient's right and the face looks to the picture's right. The usual ways for a frontal and a
    lateral picture of the skull: common practice, no source.

    The pictured area is the detector: as high as the unit says, and as wide as its widest field
    needs, from ``r = SID sin(atan(W / 2 / SDD))``. ``pixels`` counts along its longer side.

    Raises
    ------
    NotFound
        If the unit lacks the field or region, or there is no such view.
    """
    beam = unit.beam
    height_mm = beam.detector_below_mm + beam.detector_above_mm
    radius_mm = max(f.diameter_mm for f in unit.fields) / 2.0
    half_fan = math.asin(radius_mm / beam.source_to_axis_mm)
    width_mm = 2.0 * beam.source_to_detector_mm * math.tan(half_fan)
    pixel_mm = max(height_mm, width_mm) / pixels
    rows, columns = (max(1, math.ceil(side / pixel_mm - 1e-9)) for side in (height_mm, width_mm))

    axis = -gantry_to_field(setup, unit).translation_mm
    axis[2] = region_place(setup, unit).central_ray_mm
    forward, left, up = np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0]), np.eye(3)[2]
    if view == "frontal":
        ray, right, left_is = forward, left, "right"
    elif view == "lateral":
        ray, right, left_is = left, forward, "back"
    else:
        raise NotFound(f"no scout {view!r}; there are frontal and lateral")
    source = axis - beam.source_to_axis_mm * ray
    foot = source + beam.source_to_detector_mm * ray  # where the central ray meets the detector
    middle = foot + (beam.detector_above_mm - beam.detector_below_mm) / 2.0 * up
    first = middle + pixel_mm * ((rows - 1) / 2.0 * up - (columns - 1) / 2.0 * right)
    return ViewGeometry(
        frame=Frame.GANTRY,
        source_mm=source,
        first_pixel_mm=first,
        row_step_mm=-pixel_mm * up,
        column_step_mm=pixel_mm * right,
        shape=(rows, columns),
        left_is_patients=left_is,
    )


def project_point(geometry: ViewGeometry, points_mm: ArrayLike) -> Array:
    """Where points fall on the detector: (..., 2) of row and column, whole at pixel centres.

    ``points_mm`` (..., 3) in the view's frame [mm]. What does not lie ahead of the source is
    ``nan``; what falls beside the detector is outside of 0 to shape - 1.
    """
    ways = np.asarray(points_mm, float) - geometry.source_mm
    to_plane = (geometry.first_pixel_mm - geometry.source_mm) @ geometry.normal
    depths = ways @ geometry.normal
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.where(depths * to_plane > 0.0, to_plane / depths, np.nan)
    on_detector = geometry.source_mm + scale[..., None] * ways - geometry.first_pixel_mm
    steps = np.stack([geometry.row_step_mm, geometry.column_step_mm], axis=-1)
    return np.asarray(on_detector @ steps / geometry.pixel_mm**2)


def magnification(geometry: ViewGeometry, point_mm: ArrayLike) -> float:
    """How much larger things at that point, (3,) in the view's frame [mm], are on the detector."""
    to_plane = (geometry.first_pixel_mm - geometry.source_mm) @ geometry.normal
    return float(to_plane / ((np.asarray(point_mm, float) - geometry.source_mm) @ geometry.normal))


def pixel_place(geometry: ViewGeometry, pixel: ArrayLike) -> Array:
    """Where a pixel's centre stands, (3,) in the view's frame [mm]: undoes `project_point`.

    ``pixel`` is row and column, whole at pixel centres; any place on the picture may be asked for.
    """
    row, column = np.asarray(pixel, float)
    return np.asarray(
        geometry.first_pixel_mm + row * geometry.row_step_mm + column * geometry.column_step_mm
    )


def beside_centre(geometry: ViewGeometry, pixel: ArrayLike, centre_mm: ArrayLike) -> Array:
    """How far what is seen at a pixel lies from a centre if it is as deep as the centre, (3,) [mm].

    One picture does not tell depth: what lies nearer to the source is really nearer to the central
    ray, by as much as its `magnification` differs. ``centre_mm`` (3,) is in the view's frame.
    """
    centre = np.asarray(centre_mm, float)
    way = pixel_place(geometry, pixel) - geometry.source_mm
    depth = (centre - geometry.source_mm) @ geometry.normal
    return np.asarray(geometry.source_mm + depth / (way @ geometry.normal) * way - centre)


def seen_in_both(
    one: ViewGeometry, one_px: ArrayLike, other: ViewGeometry, other_px: ArrayLike
) -> tuple[Array, float]:
    """The point that two pixels of two views show, (3,) [mm], and how far their rays miss it.

    The middle between the rays where they pass each other, and half their distance there [mm].
    A large miss says that the two marks are not on the same thing.

    Raises
    ------
    FrameError
        If the views are not in one frame.
    TrainerError
        If both rays run the same way.
    """
    if one.frame is not other.frame:
        raise FrameError(f"two views in different frames: {one.frame} and {other.frame}")
    ways = np.stack(
        [pixel_place(g, px) - g.source_mm for g, px in ((one, one_px), (other, other_px))]
    )
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    between = other.source_mm - one.source_mm
    across = np.cross(ways[0], ways[1])
    if across @ across < 1e-9:
        raise TrainerError("two rays that run the same way show no depth")
    first = np.cross(between, ways[1]) @ across / (across @ across)
    second = np.cross(between, ways[0]) @ across / (across @ across)
    ends = np.stack([one.source_mm + first * ways[0], other.source_mm + second * ways[1]])
    return ends.mean(axis=0), float(np.linalg.norm(ends[1] - ends[0]) / 2.0)


def shift_from_marks(
    frontal: ViewGeometry,
    frontal_px: ArrayLike,
    lateral: ViewGeometry,
    lateral_px: ArrayLike,
    centre_mm: ArrayLike,
) -> Array:
    """The move that brings what is marked on both scouts to the field's centre, (3,) [mm].

    For the person against the field; the field against the person moves the other way. Exact when
    both marks are on the same point.

    Parameters
    ----------
    frontal : ViewGeometry
        Of the frontal scout.
    frontal_px : (2,)
        Row and column marked on it.
    lateral : ViewGeometry
        Of the lateral scout, in the same frame.
    lateral_px : (2,)
        Row and column marked on that one.
    centre_mm : (3,)
        The field's centre in that frame.

    Raises
    ------
    FrameError, TrainerError
        As `seen_in_both`.
    """
    point, _ = seen_in_both(frontal, frontal_px, lateral, lateral_px)
    return np.asarray(np.asarray(centre_mm, float) - point)
