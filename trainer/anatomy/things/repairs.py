"""What a dentist has put on or into a tooth: fillings, crowns, root fillings.

Each is cut out of the tooth's own solids, so that its outside is the tooth's.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import Shape, box, common, cut, grow, placed
from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.things.on_tooth import is_front, last_inside
from trainer.anatomy.things.thing import Thing
from trainer.models.subject import Repair

Array = NDArray[np.float64]

# Filling of a biting surface: below the middle of the fissures, and its share of the crown's
# widths. Amalgam is 1.5 to 2 thick at least and a quarter to a third of the width between the
# cusps or more; a composite filling may be shallower and narrower. From memory: operative dentistry
# textbooks.
DEPTH_MM = {Repair.AMALGAM_FILLING: 2.0, Repair.COMPOSITE_FILLING: 1.6}
LENGTH_SHARE = {Repair.AMALGAM_FILLING: 0.58, Repair.COMPOSITE_FILLING: 0.48}
WIDTH_SHARE = {Repair.AMALGAM_FILLING: 0.36, Repair.COMPOSITE_FILLING: 0.28}
LEAST_DEPTH_MM = 0.8
# Dentine left over the pulp: about 1 or more is hoped for (from memory).
OVER_PULP_MM, NEVER_NEARER_PULP_MM = 1.0, 0.3
ROUND_MM = 0.5
# Filling in the pit behind a front tooth: height above the neck and half sizes, shares of the
# crown. By eye.
PIT_UP, PIT_HALF_LENGTH, PIT_HALF_HEIGHT, PIT_DEPTH_MM = 0.42, 0.17, 0.13, 1.2
# Wall of a crown: 0.8 to 1.5; all-ceramic ones are thicker than gold ones. From memory:
# prosthodontics textbooks.
WALL_MM = {Repair.CERAMIC_CROWN: 1.1, Repair.GOLD_CROWN: 0.9}
# Its edge above the neck. By eye.
SHOULDER_MM = 0.5
# A root filling ends 0.5 to 2 short of the root's tip on the radiograph (European Society of
# Endodontology, quality guidelines, 2006; from memory).
SHORT_OF_APEX_MM = 1.0
# It ends this far above the neck; the chamber over it is filled with composite.
CORE_FROM_MM = 0.0
CORE_UNDER_MM = 1.2  # below the tooth's surface: room for a crown
WITHIN_PULP_MM = 0.02  # so that it never lies outside by rounding

# On the screen it stands this much out of the tooth, whose few triangles would else cover it.
SHOWN_OVER_MM = 0.25

MATERIAL_OF = {
    Repair.AMALGAM_FILLING: "amalgam",
    Repair.COMPOSITE_FILLING: "composite",
    Repair.CERAMIC_CROWN: "zirconia",
    Repair.GOLD_CROWN: "gold alloy",
}
WORDS = {
    Repair.AMALGAM_FILLING: "amalgam filling",
    Repair.COMPOSITE_FILLING: "composite filling",
    Repair.CERAMIC_CROWN: "ceramic crown",
    Repair.GOLD_CROWN: "gold crown",
    Repair.ROOT_FILLING: "root filling",
    Repair.IMPLANT: "implant",
}


def repair_things(tooth: Tooth, repair: Repair) -> tuple[Thing, ...]:
    """What the repair puts into the tooth; not for implants, which stand in for a tooth."""
    if repair is Repair.ROOT_FILLING:
        return _root_filling(tooth)
    if repair in WALL_MM:
        shell = crown_shell(tooth, WALL_MM[repair])
        crown = _thing(tooth, repair, shell, MATERIAL_OF[repair])
        return (replace(crown, outside=grow(_above_shoulder(tooth), SHOWN_OVER_MM)),)
    if is_front(tooth.fdi):
        shape = _pit_filling(tooth)
    else:
        shape = _biting_filling(tooth, repair)
    filling = _thing(tooth, repair, shape, MATERIAL_OF[repair])
    return (replace(filling, outside=grow(shape, SHOWN_OVER_MM)),)


def _thing(tooth: Tooth, repair: Repair, shape: Shape, material: str) -> Thing:
    name = f"{WORDS[repair]} of tooth {tooth.fdi}"
    return Thing(f"{repair}-{tooth.fdi}", name, tooth.frame, shape, material, tooth=tooth.fdi)


def _biting_filling(tooth: Tooth, repair: Repair) -> Shape:
    high = tooth.size.crown_mm
    mid = np.array([0.0, _middle_y(tooth, 0.7 * high), 0.0])
    fissure = float(last_inside(tooth.crown, tooth, mid + [0, 0, 0.3 * high], [0, 0, 1])[0])
    fissure += 0.3 * high
    below = last_inside(tooth.pulp, tooth, [mid * [1, y, 1] for y in (0.0, 0.5, 1.0)], [0, 0, 1])
    roof = float(np.nanmax(below, initial=0.0))
    floor = max(fissure - DEPTH_MM[repair], roof + OVER_PULP_MM)
    floor = min(floor, fissure - LEAST_DEPTH_MM)
    half = (
        LENGTH_SHARE[repair] * _reach_x(tooth, 0.6 * high),
        WIDTH_SHARE[repair] * tooth.size.bl_mm / 2.0,
        (high + 1.0 - floor) / 2.0,
    )
    middle = mid + [0.0, 0.0, (high + 1.0 + floor) / 2.0]
    cavity = placed(box(middle, half, round_mm=ROUND_MM), tooth.rotation, tooth.origin_mm)
    return cut(common(tooth.crown, cavity), grow(tooth.pulp, NEVER_NEARER_PULP_MM))


def _pit_filling(tooth: Tooth) -> Shape:
    high = tooth.size.crown_mm
    up = PIT_UP * high
    back = float(last_inside(tooth.crown, tooth, [0.0, 0.0, up], [0.0, -1.0, 0.0])[0])
    half = (PIT_HALF_LENGTH * tooth.size.md_mm, PIT_DEPTH_MM, PIT_HALF_HEIGHT * high)
    cavity = box([0.0, -back, up], half, round_mm=ROUND_MM)
    inside = common(tooth.crown, placed(cavity, tooth.rotation, tooth.origin_mm))
    return cut(inside, grow(tooth.pulp, NEVER_NEARER_PULP_MM))


def _middle_y(tooth: Tooth, up_mm: float) -> float:
    """Middle of the crown between cheek and tongue at a height, own coordinates."""
    start = [[0.0, 0.0, up_mm]]
    out, back = (last_inside(tooth.solid, tooth, start, [0.0, s, 0.0])[0] for s in (1.0, -1.0))
    return float(np.nan_to_num(out - back) / 2.0)


def _reach_x(tooth: Tooth, up_mm: float) -> float:
    """Half the crown's length along the arch at a height."""
    start = [[0.0, 0.0, up_mm]]
    ends = [last_inside(tooth.solid, tooth, start, [s, 0.0, 0.0])[0] for s in (1.0, -1.0)]
    return float(np.mean(ends))


def crown_shell(tooth: Tooth, wall_mm: float) -> Shape:
    """The outer ``wall_mm`` of the crown from a little above the neck upwards."""
    return cut(_above_shoulder(tooth), grow(tooth.solid, -wall_mm))


def _above_shoulder(tooth: Tooth) -> Shape:
    up = tooth.rotation[:, 2]

    def distance(p: Array) -> Array:
        height = (p - tooth.origin_mm) @ up
        return np.maximum(tooth.crown.distance(p), SHOULDER_MM - height)

    return Shape(distance, tooth.crown.lower_mm, tooth.crown.upper_mm)


def _root_filling(tooth: Tooth) -> tuple[Thing, ...]:
    up = tooth.rotation[:, 2]
    tips = np.array([root.axis_mm[-1] for root in tooth.roots])
    pulp = grow(tooth.pulp, -WITHIN_PULP_MM)

    def canals(p: Array) -> Array:
        height = (p - tooth.origin_mm) @ up
        d = np.maximum(pulp.distance(p), height - CORE_FROM_MM)
        for tip in tips:
            d = np.maximum(d, SHORT_OF_APEX_MM - np.linalg.norm(p - tip, axis=1))
        return d

    def core(p: Array) -> Array:
        inside = np.maximum(pulp.distance(p), CORE_FROM_MM - (p - tooth.origin_mm) @ up)
        return np.maximum(inside, tooth.solid.distance(p) + CORE_UNDER_MM)

    low, high = pulp.lower_mm, pulp.upper_mm
    filling = _thing(tooth, Repair.ROOT_FILLING, Shape(canals, low, high), "gutta-percha")
    return (
        filling,
        Thing(
            f"core-{tooth.fdi}", f"core over the root filling of tooth {tooth.fdi}", tooth.frame,
            Shape(core, low, high), "composite", tooth=tooth.fdi,
        ),
    )  # fmt: skip
