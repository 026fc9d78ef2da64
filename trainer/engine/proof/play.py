"""Free play: how far every control may go, the others fixed, while everything stays held."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import TOUCHING_MM
from trainer.engine.proof.limits import Limits
from trainer.engine.proof.target import Target, least_slack, slacks
from trainer.models.setup import Setup

Array = NDArray[np.float64]

FIELD_EDGE, LAYER_LIMIT = "the field's edge", "the limits of the sharp layer"
# A look at every so many mm or deg on the way out, then halving down to the last figure. A stretch
# that fails between two looks and holds again at both would be missed: shifts leave the field once
# (it is convex), and turns of less than a degree move a target by less than the margins.
LOOK = 0.25
FINE = 1e-9
NO_EFFECT = ("unit_height_mm",)  # carries head and field together


@dataclass(frozen=True, slots=True)
class Play:
    """Lowest and highest value of a control that hold everything, and what ends it there."""

    key: str
    low: float
    high: float
    low_end: str
    high_end: str


def free_play(target: Target, setup: Setup, limits: Limits) -> tuple[Play, ...]:
    """The play of every control round a setup, within the limits of unit and person.

    None for any when the setup itself does not hold everything. ``target`` is best an outline.
    """
    if least_slack(target, setup) < -TOUCHING_MM:
        return ()
    found = []
    for key, (low, high) in limits.ranges.items():
        if key in NO_EFFECT:
            continue
        now, stops = float(getattr(setup, key)), limits.stops[key]
        holds = _holding(target, setup, key)
        down, up = _reach(holds, now, low), _reach(holds, now, high)
        edges = [_end(target, setup, key, value) for value in (down, up)]
        found.append(
            Play(
                key,
                down,
                up,
                stops[0] if down <= low else edges[0],
                stops[1] if up >= high else edges[1],
            )
        )
    return tuple(found)


def _end(target: Target, setup: Setup, key: str, value: float) -> str:
    """What ends the play of a control there: the field, or a limit of a sharp layer."""
    if target.layer is None:
        return FIELD_EDGE
    at_end = slacks(target, setup.with_values({key: value}), {})[0]
    return LAYER_LIMIT if at_end.argmin() >= len(target.starts) else FIELD_EDGE


def _holding(target: Target, setup: Setup, key: str) -> Callable[[Array], NDArray[np.bool_]]:
    """What tells for values (n,) of a control whether everything is held."""

    def one_by_one(values: Array) -> NDArray[np.bool_]:
        setups = [setup.with_values({key: float(v)}) for v in values]
        return np.array([least_slack(target, s) >= -TOUCHING_MM for s in setups])

    def at_once(values: Array) -> NDArray[np.bool_]:
        return np.asarray(slacks(target, setup, {key: values}).min(axis=1) >= -TOUCHING_MM)

    return one_by_one if key == "jaw_gap_mm" else at_once


def _reach(holds: Callable[[Array], NDArray[np.bool_]], now: float, end: float) -> float:
    """The farthest value from ``now`` towards ``end`` up to which everything is held."""
    if now == end:
        return end
    looks = np.linspace(now, end, 2 + int(abs(end - now) / LOOK))
    bad = np.flatnonzero(~holds(looks))
    if not len(bad):
        return end
    if bad[0] == 0:
        return now
    good, failed = float(looks[bad[0] - 1]), float(looks[bad[0]])
    while abs(failed - good) > FINE:
        middle = (good + failed) / 2.0
        if bool(holds(np.array([middle]))[0]):
            good = middle
        else:
            failed = middle
    return good
