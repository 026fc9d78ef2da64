"""Where our frames meet VTK's conventions; nothing else in the program does.

VTK's world is right-handed and has no opinion about patients, so the gantry frame is used as it
is: +x the patient's left, +y back, +z up. No axis is flipped. What VTK decides is the camera: it
looks along its direction with "view up" on top, and what lies to the right on the screen is
``direction × up``. Seen from the front (direction +y, up +z) that is +x, the patient's left, as
when one faces the patient.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.models.frames import Frame, RigidTransform

Array = NDArray[np.float64]

# Half the height of the picture at the focal point, and the camera's distance [mm].
HALF_HEIGHT_MM = 104.0
DISTANCE_MM = 900.0
# How far the camera looks above the zero plane [mm], so that chin and field stand in the picture.
LOOKS_AT_HEIGHT_MM = 40.0
# The letters stand this far from the unit's midline, and this high over the zero plane [mm].
LETTER_REACH_MM = 100.0
LETTER_HEIGHT_MM = -32.0
LETTER_MARGIN_PX = 22.0
# Nearer than this to looking along the patient's left-right line, a letter is only told for the
# side that faces the viewer (cosine).
ALONG_SIDE = 0.94


class Look(StrEnum):
    """From where the 3-D view looks at the patient."""

    FRONT = "front"
    RIGHT_SIDE = "right side"
    LEFT_SIDE = "left side"
    RIGHT_FRONT = "right front"
    LEFT_FRONT = "left front"
    BACK = "back"


# From the focal point to the camera, in the gantry frame.
TOWARDS_CAMERA: dict[Look, tuple[float, float, float]] = {
    Look.FRONT: (0.0, -1.0, 0.0),
    Look.RIGHT_SIDE: (-1.0, 0.0, 0.0),
    Look.LEFT_SIDE: (1.0, 0.0, 0.0),
    Look.RIGHT_FRONT: (-0.62, -0.75, 0.22),
    Look.LEFT_FRONT: (0.62, -0.75, 0.22),
    Look.BACK: (0.0, 1.0, 0.0),
}


@dataclass(frozen=True, slots=True)
class CameraPlace:
    """A parallel camera in the gantry frame: where it stands, looks and what is up [mm]."""

    position_mm: Array
    looks_at_mm: Array
    up: Array
    half_height_mm: float = HALF_HEIGHT_MM


def matrix4(transform: RigidTransform) -> Array:
    """The (4, 4) matrix that VTK takes for an actor, for a transform that ends in the gantry.

    Raises
    ------
    ValueError
        If it leads to another frame: everything is shown in the gantry frame.
    """
    if transform.target is not Frame.GANTRY:
        raise ValueError(f"shown in the gantry frame, got {transform.source}→{transform.target}")
    out = np.eye(4)
    out[:3, :3] = transform.rotation
    out[:3, 3] = transform.translation_mm
    return out


def camera_place(look: Look, middle_mm: Array) -> CameraPlace:
    """The camera for a look at a point of the gantry frame [mm]."""
    towards = np.array(TOWARDS_CAMERA[look])
    towards = towards / np.linalg.norm(towards)
    at = np.asarray(middle_mm, float)
    return CameraPlace(at + DISTANCE_MM * towards, at, np.array([0.0, 0.0, 1.0]))


def set_camera(camera: Any, place: CameraPlace) -> None:
    """Put a VTK camera there, as a parallel camera."""
    camera.SetPosition(*place.position_mm)
    camera.SetFocalPoint(*place.looks_at_mm)
    camera.SetViewUp(*place.up)
    camera.ParallelProjectionOn()
    camera.SetParallelScale(place.half_height_mm)


def read_camera(camera: Any) -> CameraPlace:
    """Where a VTK camera stands."""
    return CameraPlace(
        np.array(camera.GetPosition()),
        np.array(camera.GetFocalPoint()),
        np.array(camera.GetViewUp()),
        float(camera.GetParallelScale()),
    )


def on_screen(place: CameraPlace, points_mm: Array, width_px: int, height_px: int) -> Array:
    """Gantry points (n, 3) [mm] on the screen: (n, 2) pixels from the lower left corner."""
    ahead = place.looks_at_mm - place.position_mm
    ahead = ahead / np.linalg.norm(ahead)
    right = np.cross(ahead, place.up)
    right = right / np.linalg.norm(right)
    up = np.cross(right, ahead)
    away = np.atleast_2d(points_mm) - place.looks_at_mm
    px_per_mm = height_px / (2.0 * place.half_height_mm)
    across, above = away @ right * px_per_mm, away @ up * px_per_mm
    return np.stack([width_px / 2.0 + across, height_px / 2.0 + above], axis=1)


def letter_places(place: CameraPlace, width_px: int, height_px: int) -> dict[str, Array | None]:
    """Where "R" and "L" stand on the screen: pixels from the lower left corner, or ``None``.

    Each stands at its side of the patient and is drawn in to the picture's edge. Looking along
    the patient's left-right line, only the side that faces the viewer has its letter.
    """
    ahead = place.looks_at_mm - place.position_mm
    ahead = ahead / np.linalg.norm(ahead)
    found: dict[str, Array | None] = {}
    low = np.array([LETTER_MARGIN_PX, LETTER_MARGIN_PX])
    high = np.array([width_px, height_px]) - LETTER_MARGIN_PX
    for letter, sense in (("R", -1.0), ("L", 1.0)):
        at = np.array([sense * LETTER_REACH_MM, place.looks_at_mm[1], LETTER_HEIGHT_MM])
        faces_viewer = -ahead[0] * sense
        if faces_viewer < -ALONG_SIDE:
            found[letter] = None
        else:
            found[letter] = np.clip(on_screen(place, at, width_px, height_px)[0], low, high)
    return found
