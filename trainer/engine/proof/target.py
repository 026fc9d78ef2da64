"""The required structures of one run as flat arrays, evaluated for many setups at once.

The recorded region is an intersection of convex sets and the distance to its edge is a concave
function, so the corners of convex hulls decide; what moves together and needs the same margin
counts by its common hull (`outline`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy.jaw import mandible_to_skull
from trainer.engine.panoramic.slack import NAMES, LayerLimits, layer_limits, layer_slacks
from trainer.engine.placement import asked_of, slack
from trainer.geometry.pose import region_place
from trainer.geometry.region import RecordedRegion, recorded_region
from trainer.geometry.transforms import apply, attitude_rotation
from trainer.models.device import Unit
from trainer.models.frames import Frame
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head, Structure

Array = NDArray[np.float64]
# New values (k,) of number controls, by key.
Changes = Mapping[str, Array]

ATTITUDE = ("pitch_deg", "yaw_deg", "roll_deg")
# Most numbers in one step of the arithmetic: what a step writes stays in the processor's cache.
AT_ONCE = 100_000


@dataclass(frozen=True, slots=True)
class Target:
    """Groups of corners that have to lie inside, those of the skull first.

    ``names``: a word for each of k groups. ``skull_mm`` and ``jaw_mm`` are corners (n, 3) and
    (m, 3) in their own frames, ``starts`` (k,) each group's first row, ``needs_mm`` (n + m,) the
    distance from the region's edge that each corner has to keep. ``layer``: what a panoramic
    picture asks beside; its names stand at the end of ``names``.
    """

    head: Head
    unit: Unit
    names: tuple[str, ...]
    skull_mm: Array
    jaw_mm: Array
    starts: NDArray[np.intp]
    needs_mm: Array
    layer: LayerLimits | None = None


def target_of(case: Case, head: Head, unit: Unit, only: Iterable[str] | None = None) -> Target:
    """The case's required structures, one group each; ``only`` those named, if given.

    Raises
    ------
    NotFound
        If the head lacks one of them.
    """
    asked = asked_of(case)
    names = [name for name in asked if only is None or name in set(only)]
    found = sorted(map(head.structure, names), key=lambda s: s.frame is Frame.MANDIBLE)
    groups = [(s.id, s.frame, s.hull_mm, asked[s.id]) for s in found]
    return _packed(head, unit, groups, layer_limits(case, head))


def target_of_structures(
    head: Head, unit: Unit, structures: Iterable[Structure], margin_mm: float
) -> Target:
    """These structures, each with the same margin."""
    found = sorted(structures, key=lambda s: s.frame is Frame.MANDIBLE)
    return _packed(head, unit, [(s.id, s.frame, s.hull_mm, margin_mm) for s in found])


def outline(target: Target) -> Target:
    """The same target with as few corners as decide: a group for each frame and margin."""
    at_skull = len(target.skull_mm)
    found = []
    for frame, corners, needs in (
        (Frame.SKULL, target.skull_mm, target.needs_mm[:at_skull]),
        (Frame.MANDIBLE, target.jaw_mm, target.needs_mm[at_skull:]),
    ):
        for need in np.unique(needs):
            same = corners[needs == need]
            hull = same[ConvexHull(same).vertices]
            found.append((f"{frame}, {need:g} mm", frame, hull, float(need)))
    return _packed(target.head, target.unit, found, target.layer)


def slacks(target: Target, setup: Setup, changes: Changes) -> Array:
    """Smallest distance over what is asked [mm] of each group, for each of n changed setups.

    ``changes`` maps any controls of attitude, shift, chin height and field shift to arrays (n,);
    all other values are the setup's. Returns (n, k), or (n, k + 5) with a layer (see
    `layer_slacks`); negative: cut, too near the edge or beyond a limit. The same as
    `placement.place` finds for each setup.

    Raises
    ------
    NotFound
        If the unit lacks the setup's field or region.
    """
    number = len(next(iter(changes.values()))) if changes else 1
    region = region_of(target.unit, setup)
    corners = from_contact(target, setup.jaw_gap_mm)
    chunk = max(1, AT_ONCE // len(corners))
    parts = []
    for first in range(0, number, chunk):
        some = {key: values[first : first + chunk] for key, values in changes.items()}
        at = _in_field(target.unit, setup, some, corners, min(chunk, number - first))
        over = slack(region, at, target.needs_mm)
        groups = np.minimum.reduceat(over, target.starts, axis=1)
        if target.layer is not None:
            contacts = contact_in_field(target.unit, setup, some, len(groups))
            turned = turns(setup, some)
            groups = np.c_[groups, layer_slacks(target.layer, target.unit, setup, turned, contacts)]
        parts.append(groups)
    return np.concatenate(parts)


def least_slack(target: Target, setup: Setup) -> float:
    """Smallest distance over what is asked [mm] for one setup."""
    return float(slacks(target, setup, {}).min())


def region_of(unit: Unit, setup: Setup) -> RecordedRegion:
    """The recorded region of a setup.

    Raises
    ------
    NotFound
        If the unit lacks the setup's field or region.
    """
    return recorded_region(unit.field(setup.field), region_place(setup, unit), unit.beam)


def from_contact(target: Target, jaw_gap_mm: float) -> Array:
    """Corners (n, 3) counted from the chin contact in skull axes, for that jaw gap [mm]."""
    jaw = mandible_to_skull(target.head.person, jaw_gap_mm)
    corners = np.concatenate([target.skull_mm, apply(jaw, target.jaw_mm)])
    return np.asarray(corners - apply(jaw, target.head.chin_contact_mm))


def turns(setup: Setup, changes: Changes) -> Array:
    """Rotations (n, 3, 3) of the head, or one (3, 3) when no angle changes."""
    angles = (changes.get(key, getattr(setup, key)) for key in ATTITUDE)
    return attitude_rotation(*(np.deg2rad(a) for a in angles))


def contact_in_field(unit: Unit, setup: Setup, changes: Changes, number: int) -> Array:
    """Where the chin contact stands in the field frame (n, 3) [mm]; as `geometry.pose` leads."""
    field, start = unit.field(setup.field), region_place(setup, unit).start_mm

    def value(key: str) -> Array | float:
        return changes.get(key, getattr(setup, key))

    at = np.empty((number, 3))
    at[:, 0] = value("sideways_mm") - value("field_sideways_mm")
    forward = value("field_forward_mm") - value("forward_mm")
    at[:, 1] = forward + unit.front_line_mm - field.diameter_mm / 2.0
    at[:, 2] = value("chin_height_mm") - start - field.height_mm / 2.0
    return at


def _in_field(unit: Unit, setup: Setup, changes: Changes, corners: Array, number: int) -> Array:
    """Corners in the field frame for each changed setup: (number, n, 3) [mm]."""
    turned = corners @ np.swapaxes(turns(setup, changes), -1, -2)
    return np.asarray(turned + contact_in_field(unit, setup, changes, number)[:, None, :])


def _packed(
    head: Head,
    unit: Unit,
    groups: list[tuple[str, Frame, Array, float]],
    layer: LayerLimits | None = None,
) -> Target:
    sizes = [len(corners) for _, _, corners, _ in groups]
    by_frame = {
        frame: [corners for _, at, corners, _ in groups if at is frame]
        for frame in (Frame.SKULL, Frame.MANDIBLE)
    }
    skull, jaw = (np.concatenate(c) if c else np.zeros((0, 3)) for c in by_frame.values())
    return Target(
        head=head,
        unit=unit,
        names=(*(name for name, _, _, _ in groups), *(NAMES if layer is not None else ())),
        skull_mm=skull,
        jaw_mm=jaw,
        starts=np.r_[0, np.cumsum(sizes)[:-1]].astype(np.intp),
        needs_mm=np.repeat([need for _, _, _, need in groups], sizes),
        layer=layer,
    )
