"""Whether mean heads can be placed: every tooth and joint in some field, nothing hit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from trainer.anatomy.jaw import mandible_to_skull
from trainer.engine.collisions import body_points, clearance
from trainer.engine.placement import chain_of
from trainer.engine.unit_check.beam import AXIS, DETECTOR
from trainer.engine.unit_check.finding import Finding, KeyPath
from trainer.geometry.pose import field_centre_from_support, skull_to_support
from trainer.geometry.transforms import apply, chain
from trainer.models.controls import NUMBER_KEYS
from trainer.models.device import FieldSize, MovingPart, Region, Unit
from trainer.models.frames import Frame
from trainer.models.meshes import HeadMeshes
from trainer.models.setup import Setup
from trainer.models.structures import Head

# What each region is for: teeth by quadrant (FDI), and the joints.
UPPER, LOWER = ("tooth-1", "tooth-2"), ("tooth-3", "tooth-4")
TARGETS: dict[Region, tuple[str, ...]] = {
    Region.UPPER_JAW: UPPER,
    Region.LOWER_JAW: LOWER,
    Region.BOTH_JAWS: UPPER + LOWER,
    Region.JOINTS: ("condyle-",),
}
# How wide and how far outwards a detector is taken to reach here, at least: own working values.
HALF_MM, FAR_MM = 10.0, 500.0
TOOTH_ID_LENGTH = len("tooth-11")
TRAVEL: tuple[KeyPath, ...] = tuple(
    ("travel", key)
    for key in ("chin_height_mm", "field_sideways_mm", "field_forward_mm", "sideways_mm",
                "forward_mm")
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Target:
    """A tooth or joint as an upright cylinder, against the support of a head that looks ahead."""

    id: str
    x_mm: float
    y_mm: float
    radius_mm: float
    bottom_mm: float
    top_mm: float


def head_findings(unit: Unit, heads: Sequence[HeadMeshes]) -> Iterator[Finding]:
    """What of the heads cannot be brought into a field, and what hits them there."""
    for meshes in heads:
        yield from _out_of_reach(unit, meshes.head)
    for meshes in heads:
        yield from _hits(unit, meshes)


def targets_of(head: Head, unit: Unit) -> list[Target]:
    """The teeth and joints that the unit's regions are for."""
    wanted = tuple(dict.fromkeys(p for r in unit.regions for p in TARGETS[r]))
    jaw = mandible_to_skull(head.person, 0.0)
    skull = skull_to_support(neutral(unit), head.chin_contact_mm, jaw)
    steps = {Frame.SKULL: skull, Frame.MANDIBLE: chain(jaw, skull)}
    found = []
    for name, structure in head.structures.items():
        is_whole = not name.startswith("tooth-") or len(name) == TOOTH_ID_LENGTH
        if not is_whole or not name.startswith(wanted):
            continue
        points = apply(steps[structure.frame], structure.hull_mm)
        (x, y, low), (_, _, high) = points.min(axis=0), points.max(axis=0)
        x, y = (points[:, :2].min(axis=0) + points[:, :2].max(axis=0)) / 2.0
        radius = float(np.hypot(points[:, 0] - x, points[:, 1] - y).max())
        found.append(Target(name, float(x), float(y), radius, float(low), float(high)))
    return found


def _out_of_reach(unit: Unit, head: Head) -> Iterator[Finding]:
    missed = [t.id for t in targets_of(head, unit) if not _fits_somewhere(t, unit)]
    if missed:
        named = ", ".join(missed[:4]) + (f" and {len(missed) - 4} more" if len(missed) > 4 else "")
        yield Finding(
            TRAVEL,
            f"no travel brings {named} of a mean {head.person.sex} head whole into any field, with "
            "the head level",
            is_error=True,
        )


def _fits_somewhere(target: Target, unit: Unit) -> bool:
    served = ((f, r) for f in unit.fields for r in f.regions if r in unit.regions)
    return any(_fits(target, unit, field, region) for field, region in served)


def _fits(target: Target, unit: Unit, field: FieldSize, region: Region) -> bool:
    """Whether some chin height, head and field position hold the target; the cone is left out.

    Each control moves along one axis, so what they reach together is a box: the best place is the
    box's point that lies nearest to the target.
    """
    travel, start = unit.travel, unit.regions[region].start_mm
    chin = travel["chin_height_mm"]
    lowest = max(start - target.bottom_mm, chin.lowest)
    if lowest > min(start + field.height_mm - target.top_mm, chin.highest) + 1e-9:
        return False
    across, along = travel["field_sideways_mm"], travel["field_forward_mm"]
    head_across, head_along = travel["sideways_mm"], travel["forward_mm"]
    ahead = unit.front_line_mm - field.diameter_mm / 2.0
    x = _nearest(
        target.x_mm, across.lowest - head_across.highest, across.highest - head_across.lowest
    )
    y = _nearest(
        -target.y_mm,
        ahead + along.lowest - head_along.highest,
        ahead + along.highest - head_along.lowest,
    )
    away = float(np.hypot(x - target.x_mm, y + target.y_mm))
    return away + target.radius_mm <= field.diameter_mm / 2.0 + 1e-9


def _nearest(wanted: float, lowest: float, highest: float) -> float:
    return min(max(wanted, lowest), highest)


def neutral(unit: Unit) -> Setup:
    """Everything at 0, or as near to it as the travel goes, in the unit's first field."""
    values = {k: _nearest(0.0, unit.travel[k].lowest, unit.travel[k].highest) for k in NUMBER_KEYS}
    values |= dict.fromkeys(("sideways_mm", "forward_mm", "pitch_deg", "yaw_deg", "roll_deg"), 0.0)
    field = unit.fields[0]
    return Setup(
        **(values | {"jaw_gap_mm": 0.0}),
        region=field.regions[0],
        field=field.id,
        arm_turned=False,
    )


def placed_for(region: Region, field: FieldSize, unit: Unit, targets: Sequence[Target]) -> Setup:
    """The setup in which the middle of the region's targets stands in the middle of the field.

    As near to it as chin height and the field's own travel go; the head stays where it is.
    """
    mine = [t for t in targets if t.id.startswith(TARGETS[region])]
    setup = neutral(unit).with_values(
        {"region": region, "field": field.id, "field_sideways_mm": 0.0, "field_forward_mm": 0.0}
    )
    centre = field_centre_from_support(setup, unit, field)
    low, high = min(t.bottom_mm for t in mine), max(t.top_mm for t in mine)
    front, back = min(t.y_mm for t in mine), max(t.y_mm for t in mine)
    wanted = {
        "chin_height_mm": float(centre[2]) - (low + high) / 2.0,
        "field_forward_mm": float(centre[1]) - (front + back) / 2.0,
        "field_sideways_mm": 0.0,
    }
    return setup.with_values(
        {k: _nearest(v, unit.travel[k].lowest, unit.travel[k].highest) for k, v in wanted.items()}
    )


def _detector(unit: Unit, region: Region) -> MovingPart:
    """The detector itself as a part that turns, whatever its housing says.

    It reaches outwards without end: whoever reaches beyond its circle has it inside. A source that
    near is refused by its range already.
    """
    beam, ray = unit.beam, unit.regions[region].central_ray_mm
    behind = beam.source_to_detector_mm - beam.source_to_axis_mm
    low, high = ray - beam.detector_below_mm, ray + beam.detector_above_mm
    return MovingPart("detector", behind, behind + FAR_MM, HALF_MM, low, high, 180.0)


def _hits(unit: Unit, meshes: HeadMeshes) -> Iterator[Finding]:
    """Each part is told once, for the first region in which it hits; also the detector."""
    head, body = meshes.head, body_points(meshes)
    targets = targets_of(head, unit)
    told: set[str] = set()
    for region in unit.regions:
        serving = [f for f in unit.fields if region in f.regions]
        if not serving or not any(t.id.startswith(TARGETS[region]) for t in targets):
            continue
        field = max(serving, key=lambda f: f.volume_mm3)
        setup = placed_for(region, field, unit, targets)
        steps = chain_of(head, unit, setup)
        detector = _detector(unit, region)
        met = clearance(body, replace(unit, moving_parts=(detector,)), steps)
        if met is not None and met.touches and detector.name not in told:
            told.add(detector.name)
            yield Finding(
                (DETECTOR, AXIS),
                f"the detector goes through a mean {head.person.sex} person ({met.place}) with "
                f"the {region} region in field {field.id}: it turns {detector.nearest_mm:g} mm "
                "from the axis",
                is_error=True,
            )
        found = clearance(body, unit, steps)
        if found is None or not found.touches or found.part in told:
            continue
        told.add(found.part)
        number = next(n for n, p in enumerate(unit.moving_parts) if p.name == found.part)
        yield Finding(
            (("moving_parts", number, "nearest_mm"), ("moving_parts", number, "bottom_mm")),
            f"{found.part} hits a mean {head.person.sex} person ({found.place}, "
            f"{-found.distance_mm:.0f} mm deep) with the {region} region in field {field.id}",
            is_error=True,
        )
