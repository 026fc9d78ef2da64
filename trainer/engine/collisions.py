"""Whether what turns about the person would hit the person, what it would hit and where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.soft.torso import neck_bend, torso_part
from trainer.engine.placement import Chain
from trainer.geometry.swept import swept_distance
from trainer.geometry.transforms import apply
from trainer.models.clearance import BodyPlace, Clearance
from trainer.models.device import Turn, Unit
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue

Array = NDArray[np.float64]

PLACES = tuple(BodyPlace)
# Where one part of the body ends and the next begins: shares of the shoulders' half breadth, and
# heights and depths against the chin contact and the ears. Only for the words.
SHOULDER_SHARE = 0.3
FACE_FORWARD_MM, BACK_OF_HEAD_MM, TOP_UP_MM, CHIN_REACH_MM = 60.0, 35.0, 85.0, 30.0


@dataclass(frozen=True, slots=True, eq=False)
class BodyPoints:
    """The body's surface as points, each moved by head, lower jaw and torso by its shares.

    ``rest_mm`` (n, 3): where they are with the head neutral and the teeth together, skull frame for
    the skin, torso frame for the torso. ``jaw_share`` and ``torso_share`` (n,): how far each goes
    with lower jaw and torso, the rest with the skull. ``place`` (n,): its number in `PLACES`.
    """

    rest_mm: Array
    jaw_share: Array
    torso_share: Array
    place: NDArray[np.int8]


def body_points(meshes: HeadMeshes) -> BodyPoints:
    """The points of head and torso; a torso of the head's own person if the meshes have none."""
    chin = meshes.head.chin_contact_mm
    by_frame = {p.frame: p for p in meshes.coarse if p.tissue is Tissue.SKIN}
    skin = by_frame[Frame.SKULL]
    torso = by_frame.get(Frame.TORSO) or torso_part(meshes.head.person)[1]
    of_skin, of_torso = (p.vertices_mm.astype(np.float64) for p in (skin, torso))
    follows = skin.jaw_share if skin.jaw_share is not None else np.zeros(len(of_skin))
    bent = neck_bend(torso, skin, chin).torso_share(of_skin[:, 2])
    return BodyPoints(
        np.concatenate([of_skin, of_torso]),
        np.concatenate([follows * (1.0 - bent), np.zeros(len(of_torso))]),
        np.concatenate([bent, np.ones(len(of_torso))]),
        np.concatenate([_places_of_head(of_skin, chin), _places_of_torso(torso)]),
    )


def clearance(
    body: BodyPoints, unit: Unit, steps: Chain, turn: Turn | None = None
) -> Clearance | None:
    """Where the unit's moving parts come nearest to the body while they turn.

    ``steps`` is the chain of the setup. ``turn`` says from where to where a protocol turns, else
    the unit's own. ``None`` for a unit without moving parts.
    """
    if not unit.moving_parts:
        return None
    at = _in_gantry(body, steps)
    # the axis stands in the field's centre
    about_axis = at + np.append(steps.gantry_to_field.translation_mm[:2], 0.0)
    found: list[tuple[float, int, str]] = []
    for part in unit.moving_parts:
        away = swept_distance(about_axis, part, turn or unit.turn)
        nearest = int(np.argmin(away))
        found.append((float(away[nearest]), nearest, part.name))
    distance, number, name = min(found)
    x, y, z = at[number].tolist()
    return Clearance(distance, name, PLACES[body.place[number]], (x, y, z))


def _in_gantry(body: BodyPoints, steps: Chain) -> Array:
    on_skull = apply(steps.skull_to_gantry, body.rest_mm)
    jaw, torso = body.jaw_share[:, None], body.torso_share[:, None]
    return np.asarray(
        on_skull
        + jaw * (apply(steps.mandible_to_gantry, body.rest_mm) - on_skull)
        + torso * (apply(steps.torso_to_gantry, body.rest_mm) - on_skull)
    )


def _places_of_torso(torso: DisplayPart) -> NDArray[np.int8]:
    x, y = torso.vertices_mm[:, 0], torso.vertices_mm[:, 1]
    share = x / np.abs(x).max()
    inner = np.where(y > y.mean(), _number(BodyPlace.UPPER_BACK), _number(BodyPlace.CHEST))
    found = np.where(share > SHOULDER_SHARE, _number(BodyPlace.LEFT_SHOULDER), inner)
    return np.where(share < -SHOULDER_SHARE, _number(BodyPlace.RIGHT_SHOULDER), found).astype(
        np.int8
    )


def _places_of_head(points_mm: Array, chin_mm: Array) -> NDArray[np.int8]:
    x, y, z = points_mm.T
    # the first that is true counts
    rules = (
        (z > TOP_UP_MM, BodyPlace.TOP_OF_HEAD),
        ((z < chin_mm[2] + CHIN_REACH_MM) & (y < chin_mm[1] + CHIN_REACH_MM), BodyPlace.CHIN),
        ((z < chin_mm[2]) | ((z < chin_mm[2] / 2.0) & (y > 0.0)), BodyPlace.NECK),
        (y < -FACE_FORWARD_MM, BodyPlace.FACE),
        (y > BACK_OF_HEAD_MM, BodyPlace.BACK_OF_HEAD),
        (x > 0.0, BodyPlace.LEFT_OF_HEAD),
    )
    numbers = [np.full(len(x), _number(place)) for _, place in rules]
    conditions = [np.asarray(true) for true, _ in rules]
    return np.select(conditions, numbers, _number(BodyPlace.RIGHT_OF_HEAD)).astype(np.int8)


def _number(place: BodyPlace) -> int:
    return PLACES.index(place)
