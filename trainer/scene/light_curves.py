"""Where the unit's light planes stand, and the curves they draw on the skin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.layer import groove_at_mm
from trainer.geometry.pose import gantry_to_field
from trainer.geometry.sections import plane_section
from trainer.geometry.transforms import apply
from trainer.models.device import LightAxis, LightPlace, Unit
from trainer.models.frames import RigidTransform
from trainer.models.setup import Setup

Array = NDArray[np.float64]

# Column of the gantry frame that each axis stands for (forward is -y, told by the place itself).
COLUMN = {LightAxis.SIDEWAYS: 0, LightAxis.FORWARD: 1, LightAxis.HEIGHT: 2}
WORDS = {
    LightPlace.MIDLINE: "midline",
    LightPlace.ZERO_PLANE: "zero plane",
    LightPlace.FIELD_FRONT: "front edge",
    LightPlace.FIELD_CENTRE: "field centre",
    LightPlace.FIELD_FLOOR: "lower edge",
    LightPlace.FIELD_ROOF: "upper edge",
    LightPlace.GROOVE: "front teeth",
}


@dataclass(frozen=True, slots=True)
class LightSheet:
    """A light plane that is on: points of the gantry frame whose ``column`` equals ``at_mm``."""

    id: str
    words: str
    column: int
    at_mm: float


def light_sheets(unit: Unit, setup: Setup) -> tuple[LightSheet, ...]:
    """The light planes that can be seen with this setup, in the gantry frame."""
    centre = -gantry_to_field(setup, unit).translation_mm
    field = unit.field(setup.field)
    found = []
    for light in unit.lights:
        if light.arm_turned_only and not setup.arm_turned:
            continue
        column = COLUMN[light.axis]
        at = {
            LightPlace.MIDLINE: 0.0,
            LightPlace.ZERO_PLANE: 0.0,
            LightPlace.FIELD_FRONT: centre[1] - field.diameter_mm / 2.0,
            LightPlace.FIELD_CENTRE: centre[column],
            LightPlace.FIELD_FLOOR: centre[2] - field.height_mm / 2.0,
            LightPlace.FIELD_ROOF: centre[2] + field.height_mm / 2.0,
            LightPlace.GROOVE: centre[1] + groove_at_mm(field),
        }[light.place]
        found.append(LightSheet(light.id, WORDS[light.place], column, float(at)))
    return tuple(found)


def light_names(sheets: tuple[LightSheet, ...]) -> dict[tuple[int, float], str]:
    """What is written beside each plane; planes that coincide share their words."""
    names: dict[tuple[int, float], str] = {}
    for sheet in sheets:
        key = (sheet.column, round(sheet.at_mm, 2))
        names[key] = f"{names[key]}, {sheet.words}" if key in names else sheet.words
    return {key: f"light: {words}" for key, words in names.items()}


def light_curve(
    sheet: LightSheet, vertices_mm: Array, faces: NDArray[np.int32], to_gantry: RigidTransform
) -> Array:
    """The curve of one light plane on a surface.

    Parameters
    ----------
    sheet : LightSheet
        The plane, in the gantry frame.
    vertices_mm : (n, 3)
        Corners of the surface in its own frame [mm].
    faces : (m, 3)
        Corner numbers of each triangle.
    to_gantry : RigidTransform
        From the surface's own frame. The plane is brought there, not the surface here.

    Returns
    -------
    (k, 2, 3) : start and end of each straight piece, in the gantry frame [mm].
    """
    normal = to_gantry.rotation[sheet.column]
    offset = sheet.at_mm - to_gantry.translation_mm[sheet.column]
    pieces = plane_section(vertices_mm, faces, normal, float(offset))
    return apply(to_gantry, pieces.reshape(-1, 3)).reshape(-1, 2, 3)
