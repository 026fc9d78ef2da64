"""The views of a scan: source and detector on a circle about the field's axis."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.physics.views import ViewGeometry

Array = NDArray[np.float64]

WHOLE_TURN_RAD = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class ScanGeometry:
    """A point source and a flat detector that go round the z axis of the field frame.

    Attributes
    ----------
    source_to_axis_mm, source_to_detector_mm : float
        Along the central ray.
    ray_mm : float
        The central ray's height in the field frame.
    first_rad : float
        Where the source stands at the start: 0 behind the patient, rising over the patient's left.
    step_rad : float
        Between one view and the next; a view is taken in the middle of its step.
    views : int
        How many were recorded.
    rows, columns : int
        Pixels of the detector.
    pixel_mm : float
        A pixel's edge on the detector.
    top_mm, left_mm : float
        The centre of pixel [0, 0] on the detector: above the central ray, and along the columns
        from it. Seen from the source behind the patient, columns run to the patient's left.

    Raises
    ------
    TrainerError
        If a number is not positive, the detector does not stand behind the axis, or the views go
        round more than once.
    """

    source_to_axis_mm: float
    source_to_detector_mm: float
    ray_mm: float
    first_rad: float
    step_rad: float
    views: int
    rows: int
    columns: int
    pixel_mm: float
    top_mm: float
    left_mm: float

    def __post_init__(self) -> None:
        if not 0.0 < self.source_to_axis_mm < self.source_to_detector_mm < math.inf:
            raise TrainerError("a scan needs its axis between source and detector")
        if min(self.views, self.rows, self.columns) < 1 or not self.pixel_mm > 0.0:
            raise TrainerError("a scan needs views and pixels")
        if not 0.0 < self.step_rad * self.views < WHOLE_TURN_RAD + 1e-9:
            raise TrainerError("a scan goes round once at most")

    @property
    def arc_rad(self) -> float:
        """The angle that the recorded views cover."""
        return self.step_rad * self.views

    @property
    def is_whole_turn(self) -> bool:
        """Whether every line through the field is met twice."""
        return self.arc_rad > WHOLE_TURN_RAD - 0.5 * self.step_rad

    @property
    def turned_rad(self) -> Array:
        """How far the source has turned at each view, (views,), from 0 to the arc."""
        return np.asarray((np.arange(self.views) + 0.5) * self.step_rad, float)

    @property
    def angles_rad(self) -> Array:
        """Where the source stands at each view, (views,)."""
        return self.first_rad + self.turned_rad

    @property
    def to_axis(self) -> float:
        """What lengths on the detector are multiplied by to be lengths at the axis."""
        return self.source_to_axis_mm / self.source_to_detector_mm

    @property
    def step_mm(self) -> float:
        """A pixel's edge, thought to be at the axis."""
        return self.pixel_mm * self.to_axis

    @property
    def across_mm(self) -> Array:
        """Places of the columns, (columns,), at the axis."""
        places = self.left_mm + np.arange(self.columns) * self.pixel_mm
        return np.asarray(places * self.to_axis, float)

    @property
    def up_mm(self) -> Array:
        """Places of the rows, (rows,), at the axis, above the central ray; they fall."""
        places = self.top_mm - np.arange(self.rows) * self.pixel_mm
        return np.asarray(places * self.to_axis, float)

    @property
    def half_fan_rad(self) -> float:
        """Angle at the source between the central ray and the farther end of the columns."""
        return math.atan(float(np.abs(self.across_mm).max()) / self.source_to_axis_mm)

    @property
    def arc_is_enough(self) -> bool:
        """Whether every line through the field was met at least once."""
        return self.arc_rad >= math.pi + 2.0 * self.half_fan_rad - self.step_rad

    def view(self, number: int) -> ViewGeometry:
        """Source and detector of a view, in the field frame."""
        angle = float(self.angles_rad[number])
        toward = np.array([math.sin(angle), math.cos(angle), 0.0])
        along = np.array([math.cos(angle), -math.sin(angle), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        source = self.source_to_axis_mm * toward + self.ray_mm * up
        foot = source - self.source_to_detector_mm * toward
        return ViewGeometry(
            frame=Frame.FIELD,
            source_mm=source,
            first_pixel_mm=foot + self.left_mm * along + self.top_mm * up,
            row_step_mm=-self.pixel_mm * up,
            column_step_mm=self.pixel_mm * along,
            shape=(self.rows, self.columns),
            left_is_patients="",
        )

    def stopped_after(self, views: int) -> ScanGeometry:
        """The same scan, let go after so many views.

        Raises
        ------
        TrainerError
            If none is left.
        """
        return replace(self, views=min(views, self.views))


def centred_scan(
    *,
    source_to_axis_mm: float,
    source_to_detector_mm: float,
    views: int,
    rows: int,
    columns: int,
    pixel_mm: float,
    arc_rad: float = WHOLE_TURN_RAD,
    first_rad: float = 0.0,
    aside_mm: float = 0.0,
) -> ScanGeometry:
    """A scan whose detector stands about the central ray, or ``aside_mm`` along its columns."""
    return ScanGeometry(
        source_to_axis_mm=source_to_axis_mm,
        source_to_detector_mm=source_to_detector_mm,
        ray_mm=0.0,
        first_rad=first_rad,
        step_rad=arc_rad / views,
        views=views,
        rows=rows,
        columns=columns,
        pixel_mm=pixel_mm,
        top_mm=(rows - 1) / 2.0 * pixel_mm,
        left_mm=aside_mm - (columns - 1) / 2.0 * pixel_mm,
    )
