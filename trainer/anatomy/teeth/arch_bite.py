"""How crowns meet: teeth threaded on the contact lines, and the two arches together.

Teeth are threaded from the midline backwards, each crown touching the one before. Then the upper
back teeth are let down onto the lower ones; the lower arch as a whole is let down where its front
teeth would run into the upper ones. Arch coordinates as in `arch_form`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from trainer.anatomy.teeth.arch_form import (
    ADULT,
    DOWN_STEP_MM,
    EDGE_BACK_MM,
    MOST_DOWN_MM,
    PRIMARY_GAP_MM,
    TOUCH_MM,
    ArchPlan,
    ContactLine,
    Stand,
    axes_along,
    below_mm,
    is_front,
    spee_height,
)
from trainer.anatomy.teeth.tooth_shapes import tooth_model
from trainer.anatomy.teeth.tooth_tables import FIRST_PRIMARY

Array = NDArray[np.float64]


@cache
def crown_points(jaw: str, place: int) -> Array:
    """Points on the crown, (n, 3) tooth coordinates [mm], about half a millimetre apart."""
    model = tooth_model(jaw, place)
    size = model.size
    heights = np.arange(0.5, size.crown_mm, 0.45)
    angles = np.arange(0.0, 2.0 * np.pi, np.pi / 20.0)
    h, a = (g.ravel() for g in np.meshgrid(heights, angles))
    level = np.array([0.0, model.contact_mm[1], 0.0]) + np.outer(h, [0.0, 0.0, 1.0])
    around = np.column_stack([np.cos(a), np.sin(a), np.zeros_like(a)])
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-6.0, 6.1, 0.4), np.arange(-6.0, 6.1, 0.4)))
    floor = np.column_stack([x, y, np.full_like(x, 0.5 * size.crown_mm)])
    start = np.vstack([level, floor])
    way = np.vstack([around, np.tile([0.0, 0.0, 1.0], (len(floor), 1))])
    inside = model.crown(start) < 0
    start, way = start[inside], way[inside]
    low, high = np.zeros(len(start)), np.full(len(start), 9.0)
    for _ in range(16):
        mid = (low + high) / 2
        within = model.crown(start + mid[:, None] * way) < 0
        low, high = np.where(within, mid, low), np.where(within, high, mid)
    return np.asarray(start + low[:, None] * way)


def _stand(jaw: str, place: int, line: ContactLine, s: float, height_mm: float) -> Stand:
    """The tooth with its contact point over the line at ``s`` and its tip at ``height_mm``."""
    model = tooth_model(jaw, place)
    point, way = line.at(s)
    axes = axes_along(jaw, place, way)
    origin = np.array([*point, 0.0]) - axes @ model.contact_mm
    origin[2] = height_mm - (axes @ model.tip_mm)[2]
    return Stand(axes, origin)


def gap_mm(jaw: str, front: int, a: Stand, back: int, b: Stand) -> float:
    """Least distance between two crowns of one jaw; negative when they overlap [mm]."""
    mesial, distal = crown_points(jaw, back), crown_points(jaw, front)
    mesial = mesial[mesial[:, 0] > 0.6 * mesial[:, 0].max()]  # only the sides that can touch
    distal = distal[distal[:, 0] < 0.6 * distal[:, 0].min()]
    there = tooth_model(jaw, front).crown(a.to_tooth(b.to_arch(mesial)))
    here = tooth_model(jaw, back).crown(b.to_tooth(a.to_arch(distal)))
    return float(min(there.min(), here.min()))


def _gap_aim_mm(jaw: str, front: int, back: int) -> float:
    """The gap aimed at between two neighbours: primary front teeth do not touch."""
    spaced = front >= FIRST_PRIMARY and back >= FIRST_PRIMARY and is_front(back)
    return PRIMARY_GAP_MM[jaw] if spaced else TOUCH_MM


def _thread(jaw: str, plan: ArchPlan, heights: dict[int, float]) -> dict[int, Stand]:
    """The jaw's row on the contact line, each touching the one before, tips at ``heights`` [mm]."""
    line, row = ContactLine(jaw, plan.width), plan.row(jaw)
    stands: dict[int, Stand] = {}
    at = behind_mm = 0.0
    before = 0

    def excess(s: float, place: int) -> float:
        stand = _stand(jaw, place, line, s, heights[place])
        if not before:
            return float(stand.to_arch(crown_points(jaw, place))[:, 0].min()) - TOUCH_MM / 2
        aim = _gap_aim_mm(jaw, before, place)
        return gap_mm(jaw, before, stands[before], place, stand) - aim

    for place in row:
        width = tooth_model(jaw, place).size.md_mm
        ahead = at + (width + behind_mm) / 2
        at = float(brentq(excess, ahead - 1.5, ahead + 2.0, args=(place,), xtol=2e-3))
        behind_mm, before = width, place
        # the loop variable, bound late by `excess`, is what the next search needs
        stands[place] = _stand(jaw, place, line, at, heights[place])
    first = row[0]
    tip = stands[first].to_arch(tooth_model(jaw, first).tip_mm[None])[0]
    edge = EDGE_BACK_MM + plan.lower_back_mm if jaw == "lower" else -EDGE_BACK_MM
    shift = np.array([0.0, edge - tip[1], 0.0])
    return {n: Stand(s.axes, s.origin_mm + shift) for n, s in stands.items()}


def tip_of(jaw: str, place: int, stand: Stand) -> Array:
    """The tallest buccal cusp (or middle of the edge) in arch coordinates [mm]."""
    return np.asarray(stand.to_arch(tooth_model(jaw, place).tip_mm[None])[0])


def clearance_mm(place: int, upper: Stand, lower: dict[int, Stand], drop_mm: float = 0.0) -> float:
    """Least distance between an upper crown, let down by ``drop_mm``, and the lower crowns [mm]."""
    points = upper.to_arch(crown_points("upper", place)) - [0.0, 0.0, drop_mm]
    moved = Stand(upper.axes, upper.origin_mm - [0.0, 0.0, drop_mm])
    best = 1e3
    for n, stand in lower.items():
        best = min(best, float(tooth_model("lower", n).crown(stand.to_tooth(points)).min()))
        back = moved.to_tooth(stand.to_arch(crown_points("lower", n)))
        best = min(best, float(tooth_model("upper", place).crown(back).min()))
    return best


def _opposite(place: int, upper: Stand, lower: dict[int, Stand]) -> dict[int, Stand]:
    """The lower teeth that the upper one can meet: the three nearest."""
    here = tip_of("upper", place, upper)[:2]
    off = {n: np.linalg.norm(tip_of("lower", n, s)[:2] - here) for n, s in lower.items()}
    return {n: lower[n] for n in sorted(off, key=lambda n: off[n])[:3]}


def _drop_mm(place: int, upper: Stand, lower: dict[int, Stand]) -> float:
    """How far an upper tooth can be let down until it touches the lower ones [mm]."""
    near = _opposite(place, upper, lower)
    return float(
        brentq(lambda d: clearance_mm(place, upper, near, d) - TOUCH_MM, -4.0, 6.0, xtol=1e-3)
    )


def _first_heights(jaw: str, plan: ArchPlan) -> dict[int, float]:
    """Tip heights [mm] of the row if each stood where the widths before it add up to."""
    line, along, heights = ContactLine(jaw, plan.width), 0.0, {}
    for n in plan.row(jaw):
        md_mm = tooth_model(jaw, n).size.md_mm
        back = line.at(along + md_mm / 2)[0][1]
        along += md_mm
        below = 0.0 if jaw == "lower" else below_mm(n)
        edge = 2 * EDGE_BACK_MM if jaw == "upper" else 0
        heights[n] = spee_height(max(back - edge, 0), plan.spee) - below
    return heights


def _down_mm(upper: dict[int, Stand], lower: dict[int, Stand]) -> float:
    """How far the lower arch must be let down for the front teeth to clear each other [mm]."""
    for down in np.arange(0.0, MOST_DOWN_MM, DOWN_STEP_MM):
        moved = {n: _lowered(s, float(down)) for n, s in lower.items()}
        if all(
            clearance_mm(n, s, _opposite(n, s, moved)) > -TOUCH_MM
            for n, s in upper.items()
            if is_front(n)
        ):
            return float(down)
    return MOST_DOWN_MM


def _lowered(stand: Stand, by_mm: float) -> Stand:
    return Stand(stand.axes, stand.origin_mm - [0.0, 0.0, by_mm])


@dataclass(frozen=True, slots=True)
class Arches:
    """Both left arches, teeth together: a stand for each kind.

    ``down_mm`` is how far the lower arch had to be let down for the front teeth to clear.
    """

    stands: dict[tuple[str, int], Stand]
    down_mm: float


@lru_cache(maxsize=64)
def left_arches(plan: ArchPlan = ADULT) -> Arches:
    """The left teeth of both rows in arch coordinates, teeth together.

    Takes about half a second for a plan asked for the first time.
    """
    heights = _first_heights("lower", plan)
    lower = _thread("lower", plan, heights)
    edge = EDGE_BACK_MM + plan.lower_back_mm
    for n in plan.lower[1:]:  # heights follow from places, places hardly from heights
        heights[n] = spee_height(tip_of("lower", n, lower[n])[1] - edge, plan.spee)
    lower = _thread("lower", plan, heights)
    heights = _first_heights("upper", plan)
    upper = _thread("upper", plan, heights)
    down = 0.0 if plan == ADULT else _down_mm(upper, lower)
    lower = {n: _lowered(s, down) for n, s in lower.items()}
    for _ in range(2):
        for n in plan.upper:
            if not is_front(n):
                heights[n] -= _drop_mm(n, upper[n], lower)
        upper = _thread("upper", plan, heights)
    found = {("upper", n): s for n, s in upper.items()}
    found |= {("lower", n): s for n, s in lower.items()}
    return Arches(found, down)
