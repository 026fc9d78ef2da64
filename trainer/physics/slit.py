"""Where source and slit stand while a panoramic picture is taken, and where columns fall.

The slit's picture is as wide as the slit. While the arm goes on by a step, the film goes on by one
column, so each column gathers what the slit saw of one place of the layer from several sides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.layer import front_middle_mm, middle_points, place_at
from trainer.models.device import Beam, FieldSize
from trainer.models.frames import Frame
from trainer.physics.views import ViewGeometry

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SlitRun:
    """The steps of one picture, from the patient's right to the left, in the field frame.

    Attributes
    ----------
    along_mm : (n,)
        Way along the layer's middle at each step.
    views : tuple of n ViewGeometry
        What the slit sees at each step; every one is ``columns`` wide.
    columns : int
        Columns of the film: n + ``wide`` - 1.
    wide : int
        Columns of the slit.
    pixel_mm : float
        On the detector.
    magnification : float
        Of the layer's middle.
    """

    along_mm: Array
    views: tuple[ViewGeometry, ...]
    columns: int
    wide: int
    pixel_mm: float
    magnification: float

    def column_of(self, along_mm: Array | float) -> Array:
        """The column that a place of the layer's middle is shown in."""
        step = self.pixel_mm / self.magnification
        return np.asarray((np.asarray(along_mm) - self.along_mm[0]) / step + (self.wide - 1) / 2.0)


def slit_run(field: FieldSize, beam: Beam, ray_mm: float, pixel_mm: float) -> SlitRun:
    """The steps of a panoramic picture with pixels of that edge on the detector.

    ``ray_mm`` is the central ray's height in the field frame. The field has a layer.
    """
    layer = field.layer
    assert layer is not None
    large = beam.source_to_detector_mm / beam.source_to_axis_mm
    step = pixel_mm / large
    along, _, _ = middle_points(layer, step)
    places, outwards = place_at(layer, along)
    wide = max(1, round(layer.slit_mm / pixel_mm))
    rows = max(1, math.floor((beam.detector_below_mm + beam.detector_above_mm) / pixel_mm))
    front = front_middle_mm(field, layer) + [0.0, 0.0, ray_mm]
    up = np.array([0.0, 0.0, 1.0])
    views = []
    for place, outward in zip(places, outwards, strict=True):
        middle = front + [place[0], place[1], 0.0]
        ray = np.array([outward[0], outward[1], 0.0])
        left = np.array([-outward[1], outward[0], 0.0])  # along the middle, to the patient's left
        foot = middle + (beam.source_to_detector_mm - beam.source_to_axis_mm) * ray
        top = foot + (beam.detector_above_mm - pixel_mm / 2.0) * up
        views.append(
            ViewGeometry(
                frame=Frame.FIELD,
                source_mm=middle - beam.source_to_axis_mm * ray,
                first_pixel_mm=top - (wide - 1) / 2.0 * pixel_mm * left,
                row_step_mm=-pixel_mm * up,
                column_step_mm=pixel_mm * left,
                shape=(rows, wide),
                left_is_patients="right",
            )
        )
    return SlitRun(along, tuple(views), len(along) + wide - 1, wide, pixel_mm, large)


def row_of(run: SlitRun, beam: Beam, ray_mm: float, up_mm: float, outside_mm: float) -> float:
    """The row in which something is shown: at a height in the field, so far outside of the layer.

    What stands nearer to the detector is shown less large.
    """
    source = beam.source_to_axis_mm
    shown = (up_mm - ray_mm) * beam.source_to_detector_mm / (source + outside_mm)
    return (beam.detector_above_mm - shown) / run.pixel_mm - 0.5
