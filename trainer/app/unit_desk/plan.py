"""What is drawn of a unit, as lines in millimetres: from above and from the side.

From above the patient's left is on the right and the back below, as in axial slices; from the side
the patient looks to the right. Every line has a kind, from which its look follows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.layer import front_middle_mm, groove_at_mm, middle_points
from trainer.models.device import FieldSize, LightAxis, LightPlace, MovingPart, Region, Unit

Array = NDArray[np.float64]

# A grown head from above, and how far its middle stands behind the chin's front: about 155 wide and
# 195 long (Farkas's means for adults, from memory), rounded; only for the eye.
HEAD_MM, HEAD_BEHIND_MM = (78.0, 98.0), 80.0
# How far the axis' mark and the light planes reach, only for the eye.
AXIS_MM, LIGHT_BEYOND_MM, LAYER_STEP_MM = 14.0, 30.0, 2.0
ROUND = np.linspace(0.0, 2.0 * math.pi, 73)


class LineKind(StrEnum):
    """What a line stands for."""

    FIELD = "field"
    BEAM = "beam"
    DETECTOR = "detector"
    PART = "part"
    LIGHT = "light"
    HEAD = "head"
    SUPPORT = "support"
    ZERO = "zero"
    AXIS = "axis"
    LAYER = "layer"


@dataclass(frozen=True, slots=True)
class Line:
    """A line of points (n, 2): to the right and upwards in the drawing [mm]; with a word to it."""

    kind: LineKind
    points: Array
    word: str = ""


def from_above(unit: Unit, field: FieldSize) -> tuple[Line, ...]:
    """The unit with its arm parked; the axis in the middle."""
    beam, parked = unit.beam, math.radians(unit.turn.from_deg)
    toward = np.array([math.sin(parked), -math.cos(parked)])  # to the source
    along = np.array([math.cos(parked), math.sin(parked)])
    source = beam.source_to_axis_mm * toward
    foot = source - beam.source_to_detector_mm * toward + beam.detector_offset_mm * along
    radius = field.diameter_mm / 2.0
    half = fan_half_mm(unit, field)
    ends = [foot - half * along, foot + half * along]
    chin = np.array([0.0, unit.support_forward_mm])
    circle = np.stack([np.sin(ROUND), np.cos(ROUND)], axis=1)
    head = chin + [0.0, -HEAD_BEHIND_MM] + circle * HEAD_MM
    lines = [
        Line(LineKind.HEAD, head, "a grown head"),
        Line(
            LineKind.FIELD,
            radius * np.stack([np.sin(ROUND), np.cos(ROUND)], axis=1),
            f"field {field.id}",
        ),
        Line(LineKind.BEAM, np.stack([ends[0], source, ends[1]]), "source"),
        Line(LineKind.DETECTOR, np.stack(ends), "detector"),
        Line(LineKind.SUPPORT, chin + np.array([[-12.0, 0.0], [12.0, 0.0]]), "chin support"),
    ]
    lines += [Line(LineKind.PART, _box_above(part, parked), part.id) for part in unit.moving_parts]
    cross = AXIS_MM * np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
    lines.append(Line(LineKind.AXIS, cross, "turning axis"))
    lines += _lights_above(unit, field)
    if field.layer is not None:
        _, places, _ = middle_points(field.layer, LAYER_STEP_MM)
        backwards = front_middle_mm(field, field.layer)[:2] + places
        lines.append(Line(LineKind.LAYER, backwards * [1.0, -1.0], "sharp layer"))
    return tuple(lines)


def _lights_above(unit: Unit, field: FieldSize) -> list[Line]:
    """Light planes that are seen as lines from above: the midline, and those that face forward."""
    radius = field.diameter_mm / 2.0
    reach = radius + LIGHT_BEYOND_MM
    ahead = _ahead_mm(field)
    found = []
    for light in unit.lights:
        if light.axis is LightAxis.SIDEWAYS:
            ends = np.array([[0.0, -reach], [0.0, reach]])
        elif light.axis is LightAxis.FORWARD and light.place in ahead:
            at = ahead[light.place]
            ends = np.array([[-reach, at], [reach, at]])
        else:
            continue
        found.append(Line(LineKind.LIGHT, ends, f"light: {light.id}"))
    return found


def _ahead_mm(field: FieldSize) -> dict[LightPlace, float]:
    """Where the planes that face forward stand ahead of the axis, by what they mark."""
    radius = field.diameter_mm / 2.0
    return {
        LightPlace.FIELD_FRONT: radius,
        LightPlace.FIELD_CENTRE: 0.0,
        LightPlace.GROOVE: -groove_at_mm(field),
    }


def from_the_side(unit: Unit, field: FieldSize, region: Region) -> tuple[Line, ...]:
    """The unit from the patient's right with the arm parked; heights from the zero plane."""
    beam, place = unit.beam, unit.regions[region]
    radius, ray = field.diameter_mm / 2.0, place.central_ray_mm
    floor, roof = place.start_mm, place.start_mm + field.height_mm
    parked = math.radians(unit.turn.from_deg)
    behind = -math.cos(parked)
    source = np.array([behind * beam.source_to_axis_mm, ray])
    far = behind * (beam.source_to_axis_mm - beam.source_to_detector_mm)
    low, high = (np.array([far, ray + off]) for off in
                 (-beam.detector_below_mm, beam.detector_above_mm))  # fmt: skip
    chin = unit.support_forward_mm
    travel = unit.travel["chin_height_mm"]
    box = [[-radius, floor], [radius, floor], [radius, roof], [-radius, roof], [-radius, floor]]
    wide = beam.source_to_axis_mm
    lines = [
        Line(LineKind.ZERO, np.array([[-wide, 0.0], [wide, 0.0]]), "zero plane"),
        Line(LineKind.FIELD, np.array(box), f"field {field.id}"),
        Line(LineKind.BEAM, np.stack([low, source, high]), "source"),
        Line(LineKind.BEAM, np.stack([source, [far, ray]])),
        Line(LineKind.DETECTOR, np.stack([low, high]), "detector"),
        Line(LineKind.SUPPORT, np.array([[chin, travel.lowest], [chin, travel.highest]]),
             "chin support's travel"),
    ]  # fmt: skip
    heights = {LightPlace.ZERO_PLANE: 0.0, LightPlace.FIELD_FLOOR: floor,
               LightPlace.FIELD_ROOF: roof,
               LightPlace.FIELD_CENTRE: (floor + roof) / 2.0}  # fmt: skip
    for light in unit.lights:
        if light.place in heights and light.axis is LightAxis.HEIGHT:
            z = heights[light.place]
            ends = np.array([[chin - 40.0, z], [chin + 90.0, z]])
            word = "" if light.place is LightPlace.ZERO_PLANE else f"light: {light.id}"
            lines.append(Line(LineKind.LIGHT, ends, word))
    ahead = _ahead_mm(field)
    for light in unit.lights:
        if light.axis is LightAxis.FORWARD and light.place in ahead:
            x = ahead[light.place]
            ends = np.array([[x, floor - LIGHT_BEYOND_MM], [x, roof + LIGHT_BEYOND_MM]])
            lines.append(Line(LineKind.LIGHT, ends, f"light: {light.id}"))
    axis = np.array([[0.0, floor - AXIS_MM], [0.0, roof + AXIS_MM]])
    lines.append(Line(LineKind.AXIS, axis, "turning axis"))
    for part in unit.moving_parts:
        lines.append(Line(LineKind.PART, _box_beside(part, parked), part.id))
    return tuple(lines)


def fan_half_mm(unit: Unit, field: FieldSize) -> float:
    """Half the width of the detector that is drawn: its own, a slit's, or what the field needs."""
    if field.layer is not None:
        return field.layer.slit_mm / 2.0
    if unit.beam.detector_width_mm is not None:
        return unit.beam.detector_width_mm / 2.0
    share = min(0.99, field.diameter_mm / 2.0 / unit.beam.source_to_axis_mm)
    return unit.beam.source_to_detector_mm * math.tan(math.asin(share))


def told(unit: Unit, field: FieldSize, region: Region) -> str:
    """The drawing in words, for who does not see it."""
    beam, place = unit.beam, unit.regions[region]
    height = unit.travel["unit_height_mm"]
    enlarged = beam.source_to_detector_mm / beam.source_to_axis_mm
    return (
        f"Drawn to scale with the arm parked. Source {beam.source_to_axis_mm:g} mm from the axis, "
        f"detector {beam.source_to_detector_mm - beam.source_to_axis_mm:g} mm beyond it: what "
        f"stands at the axis is enlarged {enlarged:.2f} times. Field {field.id} for the "
        f"{region}: {place.start_mm:g} to {place.start_mm + field.height_mm:g} mm above the zero "
        f"plane, central ray at {place.central_ray_mm:g} mm. The zero plane can stand "
        f"{height.lowest:g} to {height.highest:g} mm above the floor."
    )


def _box_above(part: MovingPart, parked: float) -> Array:
    angle = parked + math.radians(part.angle_deg)
    out = np.array([math.sin(angle), -math.cos(angle)])
    across = np.array([math.cos(angle), math.sin(angle)])
    near, far, half = part.nearest_mm, part.farthest_mm, part.half_width_mm
    corners = [(near, -half), (far, -half), (far, half), (near, half), (near, -half)]
    return np.array([a * out + b * across for a, b in corners])


def _box_beside(part: MovingPart, parked: float) -> Array:
    """A part's shadow from the side."""
    ends = _box_above(part, parked)[:, 1]
    left, right = float(ends.min()), float(ends.max())
    low, high = part.bottom_mm, part.top_mm
    return np.array([[left, low], [right, low], [right, high], [left, high], [left, low]])
