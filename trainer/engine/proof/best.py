"""The best setup of a target: level first, centred, and tilted only where that is needed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import TOUCHING_MM, attitude_against, chain_of
from trainer.engine.proof.limits import Limits
from trainer.engine.proof.target import (
    ATTITUDE,
    Target,
    contact_in_field,
    from_contact,
    least_slack,
    region_of,
    slacks,
    turns,
)
from trainer.geometry.cylinders import TargetCylinder, target_cylinder
from trainer.geometry.region import height_limits
from trainer.models.device import FieldSize, Region
from trainer.models.scenario import Case
from trainer.models.setup import Setup

Array = NDArray[np.float64]

# Rounds over pitch, yaw and roll when the level head does not do.
TILT_ROUNDS = 2
# Controls that shift the target against the field by axis, the first one first, and which way a
# larger value moves the target.
SHIFTS = (
    (("field_sideways_mm", -1.0), ("sideways_mm", 1.0)),
    (("field_forward_mm", 1.0), ("forward_mm", -1.0)),
    (("chin_height_mm", 1.0),),
)
# Steps that a climb looks at on each side, in whole steps of the controls.
NEAR = (-1.0, 0.0, 1.0)
MOST_CLIMBS = 40


@dataclass(frozen=True, slots=True)
class Best:
    """The best setup found for a target: ``slack_mm`` is its least distance over what is asked."""

    setup: Setup
    slack_mm: float

    @property
    def holds(self) -> bool:
        """Whether everything required is held."""
        return self.slack_mm >= -TOUCHING_MM


@dataclass(frozen=True, slots=True)
class FieldFit:
    """Whether a field would do: the best setup with it, in the region that it serves."""

    field: FieldSize
    region: Region
    best: Best


def best_setup(case: Case, target: Target, setup: Setup, limits: Limits) -> Best:
    """The setup with the most to spare: the task's plane level, head straight, target centred.

    Field, region and jaw gap are the setup's. Where that does not hold everything, the head is
    tilted within the limits of case, neck and unit, as far as helps. In whole steps of the controls
    where the limits are whole steps. ``target`` is best an outline.
    """
    level = levelled(case, target, setup, limits)
    best = _settled(target, level, limits)
    if best.holds:
        return best
    return max(best, _tilted(case, target, level, limits), key=lambda b: b.slack_mm)


def clear_setup(
    target: Target, best: Best, limits: Limits, too_near: Callable[[Setup], bool]
) -> Best:
    """The setup nearest to the best one that holds as much as needed with a free path.

    The arm turns about the field's centre, so the field is moved, front to back or to a side. The
    best one itself when it hits nothing, or when nothing else helps.
    """
    if not best.holds or not too_near(best.setup):
        return best
    for controls in SHIFTS[1], SHIFTS[0]:
        key = controls[0][0]
        now, step = float(getattr(best.setup, key)), target.unit.travel[key].step
        low, high = limits.ranges[key]
        values = now + step * np.arange(np.ceil((low - now) / step), (high - now) / step + 1e-9)
        slack = slacks(target, best.setup, {key: values}).min(axis=1)
        for i in np.argsort(np.abs(values - now), kind="stable"):
            tried = Best(best.setup.with_values({key: float(values[i])}), float(slack[i]))
            if tried.holds and not too_near(tried.setup):
                return tried
    return best


def field_fits(case: Case, target: Target, setup: Setup, limits: Limits) -> tuple[FieldFit, ...]:
    """Every field of the unit with the best setup in it, the smallest first.

    A field is tried in the setup's region if it serves that, else in each that it serves, of which
    the best counts.
    """
    found = []
    for field in sorted(target.unit.fields, key=lambda f: (f.volume_mm3, f.id)):
        regions = (setup.region,) if setup.region in field.regions else field.regions
        tried = [
            FieldFit(
                field,
                region,
                best_setup(
                    case, target, setup.with_values({"region": region, "field": field.id}), limits
                ),
            )
            for region in regions
        ]
        found.append(max(tried, key=lambda fit: fit.best.slack_mm))
    return tuple(found)


def cylinder_of(target: Target, setup: Setup) -> TargetCylinder:
    """The smallest upright cylinder round the target with the setup's attitude and jaw gap.

    Its centre is counted from the chin contact [mm].
    """
    return target_cylinder(from_contact(target, setup.jaw_gap_mm) @ turns(setup, {}).T)


def levelled(case: Case, target: Target, setup: Setup, limits: Limits) -> Setup:
    """The setup with the task's plane as level and the head as straight as the limits allow."""
    neutral = setup.with_values(dict.fromkeys(ATTITUDE, 0.0))
    plane = case.attitude.reference_plane
    off = attitude_against(plane, target.head, chain_of(target.head, target.unit, neutral))
    goals = (-off.pitch_off_deg, -off.yaw_off_deg, -off.roll_off_deg)
    values = {
        k: float(_stepped(target, limits, k, goal)) for k, goal in zip(ATTITUDE, goals, strict=True)
    }
    return setup.with_values(values)


def _tilted(case: Case, target: Target, level: Setup, limits: Limits) -> Best:
    """The best that tilting one way after the other finds, the smaller tilt of equal ones."""
    best = _settled(target, level, limits)
    for _, key in product(range(TILT_ROUNDS), ATTITUDE):
        if best.holds:
            break
        at = float(getattr(level, key))
        low, high = limits.ranges[key]
        most = getattr(case.attitude, key)
        step = target.unit.travel[key].step
        by = np.arange(-np.floor(most / step), np.floor(most / step) + 1.0) * step
        for value in sorted(at + by, key=lambda v: abs(v - at)):
            if low <= value <= high:
                tried = _centred(target, best.setup.with_values({key: float(value)}), limits)
                slack = least_slack(target, tried)
                if slack > best.slack_mm + TOUCHING_MM:
                    best = Best(tried, slack)
    return _settled(target, best.setup, limits)


def _settled(target: Target, setup: Setup, limits: Limits) -> Best:
    """The target centred, then moved by whole steps as long as that gains."""
    setup = _centred(target, setup, limits)
    best = least_slack(target, setup)
    steps = [target.unit.travel[controls[0][0]].step for controls in SHIFTS]
    ways = np.array(list(product(NEAR, repeat=len(SHIFTS)))) * steps
    for _ in range(MOST_CLIMBS):
        now = [sum(sign * getattr(setup, key) for key, sign in controls) for controls in SHIFTS]
        values = _shared_out(target, limits, now + ways)
        many = slacks(target, setup, values).min(axis=1)
        i = int(np.argmax(many))
        if many[i] <= best + TOUCHING_MM:
            break
        best = float(many[i])
        setup = setup.with_values({key: float(v[i]) for key, v in values.items()})
    return Best(setup, best)


def _centred(target: Target, setup: Setup, limits: Limits) -> Setup:
    """The setup with the middle of the target's cylinder in the middle of what is recorded there.

    The head stays in the middle of the support and the field goes to it; the head moves only where
    the field's travel ends.
    """
    cylinder, region = cylinder_of(target, setup), region_of(target.unit, setup)
    top, bottom = height_limits(region, min(cylinder.diameter_mm / 2.0, region.radius_mm))
    goal = np.array([0.0, 0.0, (top + bottom) / 2.0]) - cylinder.centre_mm
    unshifted = setup.with_values({key: 0.0 for controls in SHIFTS for key, _ in controls})
    at_zero = contact_in_field(target.unit, unshifted, {}, 1)
    values = _shared_out(target, limits, goal - at_zero)
    return setup.with_values({key: float(v[0]) for key, v in values.items()})


def _shared_out(target: Target, limits: Limits, shifts_mm: Array) -> dict[str, Array]:
    """Values (n,) of the shifting controls that add up to the shifts (n, 3) of the target.

    The first control of each way takes what it can, the next one the rest; in whole steps.
    """
    values: dict[str, Array] = {}
    for rest, controls in zip(shifts_mm.T, SHIFTS, strict=True):
        for key, sign in controls:
            values[key] = _stepped(target, limits, key, sign * rest)
            rest = rest - sign * values[key]
    return values


def _stepped(target: Target, limits: Limits, key: str, goal: Array | float) -> Array:
    """The values nearest to the goals, in whole steps, within the limits."""
    step = target.unit.travel[key].step
    low, high = limits.ranges[key]
    near = np.clip(np.round(np.asarray(goal) / step) * step, low, high)
    return np.asarray(near + 0.0)  # no minus zero
