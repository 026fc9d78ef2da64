"""The sharp layer of a panoramic picture: where points lie against it, and how they look there.

The narrow beam stands square to the layer's middle, so it turns about the centre of the arc that it
is on. The film passes the slit as fast as the image of the layer's middle does. With the source
``S`` from the middle, the detector ``L`` from the source and the beam turning about a centre ``r``
inside of the middle, what lies ``d`` outside of it (towards the detector) passes the slit at a
speed in proportion to ``(r + d) L / (S + d)``, the film at ``r L / S``. So it is shown

    width  r L / (S (r + d))    height  L / (S + d)    width / height  q = r (S + d) / (S (r + d))

and is smeared over ``slit * |q - 1|`` on the film (after Tronje, Welander, McDavid & Morris, "Image
distortion in rotational panoramic radiography", Acta Radiol. Diagn. 1981-82; from memory, worked
out here). What stands outside of the layer looks narrow, what stands inside wide, and the layer is
thin where the radius is small: in front.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.models.device import Beam, FieldSize, LayerArc, SharpLayer

Array = NDArray[np.float64]

# Smear on the film at which the layer ends: own working value, about 2.5 line pairs per mm.
SHARP_MM = 0.4


@dataclass(frozen=True, slots=True)
class AgainstLayer:
    """Where n points lie against a layer; arrays (n,), lengths in mm.

    ``along_mm``: way along the middle to the nearest place, to the patient's left above 0.
    ``outside_mm``: distance from the middle, towards the detector above 0. ``radius_mm``: the
    radius that the beam turns by there. ``width_ratio``: shown width over shown height.
    ``smear_mm``: on the film.
    """

    along_mm: Array
    outside_mm: Array
    radius_mm: Array
    width_ratio: Array
    smear_mm: Array


@dataclass(frozen=True, slots=True)
class _Piece:
    """An arc on the patient's left: where it starts, which way it heads, and its centre."""

    arc: LayerArc
    start_mm: float
    heading: float
    centre_mm: Array


def against_layer(layer: SharpLayer, beam: Beam, points_mm: Array) -> AgainstLayer:
    """How (n, 2) or (n, 3) points lie against the layer.

    Points are counted from the layer's front middle: to the patient's left, and backwards [mm].
    Beyond the last arc its end is the nearest place.
    """
    sides = np.where(points_mm[:, 0] < 0.0, -1.0, 1.0)
    x, y = np.abs(points_mm[:, 0]), points_mm[:, 1]
    nearest = np.full(len(x), np.inf)
    along, outside, radius = (np.zeros(len(x)) for _ in range(3))
    for piece in _pieces(layer):
        r = piece.arc.radius_mm
        dx, dy = x - piece.centre_mm[0], y - piece.centre_mm[1]
        # heading 0 stands straight ahead of the centre
        turned = np.arctan2(dx, -dy) - piece.heading
        angle = np.clip(turned, 0.0, piece.arc.length_mm / r)
        out = np.hypot(dx, dy) - r
        end = np.abs(turned - angle) > 0.0
        foot_x = piece.centre_mm[0] + r * np.sin(piece.heading + angle)
        foot_y = piece.centre_mm[1] - r * np.cos(piece.heading + angle)
        far = np.hypot(x - foot_x, y - foot_y)
        off = np.where(
            end,
            (x - foot_x) * np.sin(piece.heading + angle)
            - (y - foot_y) * np.cos(piece.heading + angle),
            out,
        )
        near = far < nearest
        nearest = np.where(near, far, nearest)
        along = np.where(near, piece.start_mm + r * angle, along)
        outside = np.where(near, off, outside)
        radius = np.where(near, r, radius)
    ratio = width_ratio(beam, radius, outside)
    return AgainstLayer(sides * along, outside, radius, ratio, layer.slit_mm * np.abs(ratio - 1.0))


def groove_at_mm(field: FieldSize) -> float:
    """Where the groove stands in the field frame, along its second axis (backwards).

    At the field's front edge for a field without a layer.
    """
    behind = field.layer.groove_behind_mm if field.layer is not None else 0.0
    return behind - field.diameter_mm / 2.0


def front_middle_mm(field: FieldSize, layer: SharpLayer) -> Array:
    """The layer's front middle in the field frame, (3,): `against_layer` counts from there."""
    return np.array([0.0, layer.front_behind_mm - field.diameter_mm / 2.0, 0.0])


def width_ratio(beam: Beam, radius_mm: Array | float, outside_mm: Array | float) -> Array:
    """Shown width over shown height of what lies so far outside of the layer's middle.

    Without limit at the centre of the turn and beyond it, where it is shown the wrong way round.
    """
    source = beam.source_to_axis_mm
    past = np.asarray(radius_mm) + np.asarray(outside_mm)
    with np.errstate(divide="ignore"):
        ratio = radius_mm * (source + np.asarray(outside_mm)) / (source * past)
    return np.where(past > 0.0, ratio, np.inf)


def sharp_limits_mm(layer: SharpLayer, beam: Beam, radius_mm: float) -> tuple[float, float]:
    """How far inside (below 0) and outside of its middle the layer reaches for a radius [mm].

    From ``slit |q - 1| = SHARP_MM``; without limit where nothing on that side is smeared so much.
    """
    most, source = SHARP_MM / layer.slit_mm, beam.source_to_axis_mm
    ends = []
    for over, way in ((most, -1.0), (-most, 1.0)):
        # q = 1 + e  =>  d = r S e / (r - S (1 + e))
        past = radius_mm - source * (1.0 + over)
        ends.append(radius_mm * source * over / past if past < 0.0 else way * np.inf)
    return ends[0], ends[1]


def middle_points(layer: SharpLayer, step_mm: float) -> tuple[Array, Array, Array]:
    """Places along the layer's middle, from the patient's right end to the left one.

    Returns the way along it (n,), the places (n, 2), counted as in `against_layer`, and the unit
    vectors (n, 2) that point outwards, square to it. ``step_mm`` is the way between two of them.
    """
    pieces = list(_pieces(layer))
    length = pieces[-1].start_mm + pieces[-1].arc.length_mm
    half = np.arange(0.0, length + 1e-9, step_mm)
    along = np.concatenate([-half[:0:-1], half])
    places, ways = place_at(layer, along)
    return along, places, ways


def place_at(layer: SharpLayer, along_mm: Array) -> tuple[Array, Array]:
    """The places (n, 2) so far along the layer's middle, and the ways (n, 2) square outwards.

    Beyond the ends of the layer the last arc goes on.
    """
    side = np.where(along_mm < 0.0, -1.0, 1.0)
    way = np.abs(along_mm)
    places, ways = np.zeros((len(way), 2)), np.zeros((len(way), 2))
    for piece in _pieces(layer):
        here = way >= piece.start_mm
        angle = piece.heading + (way - piece.start_mm) / piece.arc.radius_mm
        out = np.stack([np.sin(angle), -np.cos(angle)], axis=1)
        places[here] = (piece.centre_mm + piece.arc.radius_mm * out)[here]
        ways[here] = out[here]
    mirror = np.stack([side, np.ones_like(side)], axis=1)
    return places * mirror, ways * mirror


def _pieces(layer: SharpLayer) -> Iterator[_Piece]:
    at, heading, start = np.zeros(2), 0.0, 0.0
    for arc in layer.arcs:
        out = np.array([np.sin(heading), -np.cos(heading)])
        centre = at - arc.radius_mm * out
        yield _Piece(arc, start, heading, centre)
        heading += arc.length_mm / arc.radius_mm
        start += arc.length_mm
        at = centre + arc.radius_mm * np.array([np.sin(heading), -np.cos(heading)])
