"""Removable dentures: an acrylic base over the ridge, acrylic teeth, and metal when some teeth are
left to hold on to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.jaw_bones import jaw_bone
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape, box, cut, grow, placed, smooth_curve, union
from trainer.anatomy.shapes.meshing import Mesh, simplified, surface
from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.teeth.tooth_tables import is_primary
from trainer.anatomy.things.on_tooth import (
    from_own,
    full_teeth_of,
    jaw_of,
    last_inside,
    mesial_sign,
    teeth_of,
)
from trainer.anatomy.things.thing import Rod, Thing, shape_of, surfaces_of
from trainer.anatomy.things.thing_surfaces import joined
from trainer.models.subject import Jaw, Person, Repair

Array = NDArray[np.float64]

# Gum between bone and denture, 1 to 2; thickness of the base, about 2 (from memory).
GUM_MM, BASE_MM = 1.2, 2.2
# Saddle: how far it reaches up the crowns, down the ridge, and beyond the crown's width. By eye.
COLLAR_MM, FLANGE_MM, SADDLE_WIDER_MM = 0.8, 6.0, 3.7
SADDLE_BLEND_MM, SADDLE_ROUND_MM = 3.5, 2.8
CLEAR_OF_TEETH_MM = 0.1
# Clasp: round wire about 1 across, arms 120 to 135 degrees either way from the gap, at the lower
# part of the crown where it is undercut. From memory: partial denture textbooks.
CLASP_MM, CLASP_ARM_DEG, CLASP_UP_SHARE, CLASP_POINTS = 0.9, 125.0, 0.38, 17
# Bars: lingual 4 high and 2 thick, as a rod; palatal strap 8 broad and 1 thick, as a row of rods.
# From memory.
LINGUAL_BAR_MM, LINGUAL_BAR_DOWN_MM = 2.4, 5.0
STRAP_RODS, STRAP_ROD_MM, STRAP_APART_MM = 5, 1.2, 1.4
# The last crowns are no longer replaced: dentures end at the second molars (common practice).
LAST_REPLACED = 7
# For the screen: grid of a crown, triangles at rest and moving.
CROWN_GRID_MM, CROWN_TRIANGLES = 0.7, (110, 28)


def replaced_teeth(person: Person, jaw: Jaw) -> tuple[int, ...]:
    """The missing permanent teeth that the denture of this jaw stands in for."""
    implants = {r.fdi for r in person.mouth.repairs if r.repair is Repair.IMPLANT}
    return tuple(
        f
        for f in person.mouth.missing
        if jaw_of(f) is jaw and not is_primary(f) and f % 10 <= LAST_REPLACED and f not in implants
    )


def denture_things(person: Person, jaw: Jaw, fixed: Sequence[Thing] = ()) -> tuple[Thing, ...]:
    """Teeth, base and metal of a jaw's denture; nothing where no tooth is missing.

    ``fixed`` are things that stay in the mouth (implants): the denture leaves room for them.
    """
    gone = replaced_teeth(person, jaw)
    if not gone:
        return ()
    full, left = full_teeth_of(person), _standing(person, jaw)
    teeth = [full[f] for f in gone]
    frame = teeth[0].frame
    bone = jaw_bone(person, jaw)
    metal = [r for t in _clasped(left, gone) for r in _clasp(t, gone)]
    if left:
        metal += _lingual_bar(teeth, left, bone) if jaw is Jaw.LOWER else _strap(teeth, bone)
    crowns = union(*(t.crown for t in teeth))
    solids = [t.solid for t in left.values()]
    solids += [t.shape for t in fixed if t.frame is frame]
    others = [crowns, *(grow(s, CLEAR_OF_TEETH_MM) for s in solids)]
    frame_shape = shape_of(metal) if metal else None
    tools = [frame_shape] if frame_shape is not None else []
    plate = [_palate_plate(person, bone)] if jaw is Jaw.UPPER and not left else []
    outside = union(*_saddles(teeth, bone), *plate, blend_mm=SADDLE_BLEND_MM)
    base = cut(outside, grow(bone, GUM_MM), *others, *tools)
    words = f"of the {jaw} denture"
    things = [
        Thing(f"denture-teeth-{jaw}", f"teeth {words}", frame,
              cut(crowns, *solids, *tools), "acrylic", removable=True,
              surfaces=_crown_surfaces(teeth)),
        Thing(f"denture-base-{jaw}", f"base {words}", frame, base, "acrylic", removable=True,
              outside=outside),
    ]  # fmt: skip
    if frame_shape is not None:
        things.append(
            Thing(f"denture-metal-{jaw}", f"clasps and bar {words}", frame,
                  cut(frame_shape, *solids), "cobalt-chrome", removable=True,
                  surfaces=surfaces_of(metal, (6, 3), (1, 4)))
        )  # fmt: skip
    return tuple(things)


def _standing(person: Person, jaw: Jaw) -> dict[int, Tooth]:
    return {f: t for f, t in teeth_of(person).items() if jaw_of(f) is jaw and t.erupted}


def _crown_surfaces(teeth: Sequence[Tooth]) -> tuple[Mesh, Mesh]:
    """Each crown by itself, since neighbours all but touch."""
    found = [surface(t.crown, CROWN_GRID_MM) for t in teeth]
    fine, coarse = ([simplified(m, n) for m in found] for n in CROWN_TRIANGLES)
    return joined(fine), joined(coarse)


# --- metal -----------------------------------------------------------------------------------


def _order(fdi: int) -> int:
    """Place along the arch: right negative, left positive, no zero."""
    return fdi % 10 * (1 if fdi // 10 in (2, 3) else -1)


def _next(fdi: int, distal: bool) -> int:
    """The number of the neighbour; the mesial one of a central incisor is the other central."""
    if distal:
        return fdi + 1
    if fdi % 10 > 1:
        return fdi - 1
    return {1: 21, 2: 11, 3: 41, 4: 31}[fdi // 10]


def _clasped(left: dict[int, Tooth], gone: Sequence[int]) -> list[Tooth]:
    """The teeth next to a gap, incisors spared where canines or back teeth stand there too."""
    beside = [
        t
        for f, t in left.items()
        if not is_primary(f) and (_next(f, True) in gone or _next(f, False) in gone)
    ]
    strong = [t for t in beside if t.fdi % 10 >= 3]
    return strong or beside


def _clasp(tooth: Tooth, gone: Sequence[int]) -> list[Rod]:
    """A wire round the crown, open towards the neighbour that stands."""
    behind = _next(tooth.fdi, True) in gone
    towards = -mesial_sign(tooth.fdi) if behind else mesial_sign(tooth.fdi)
    up = CLASP_UP_SHARE * tooth.size.crown_mm
    angle = np.radians(np.linspace(-CLASP_ARM_DEG, CLASP_ARM_DEG, CLASP_POINTS))
    ways = np.column_stack([towards * np.cos(angle), np.sin(angle), 0.0 * angle])
    starts = np.tile([0.0, 0.0, up], (len(angle), 1))
    out = last_inside(tooth.solid, tooth, starts, ways)
    points = starts + (out + CLASP_MM / 2.0)[:, None] * ways
    return [Rod(from_own(tooth, points), CLASP_MM / 2.0)]


def _lingual_bar(teeth: Sequence[Tooth], left: dict[int, Tooth], bone: Shape) -> list[Rod]:
    """Behind the front teeth, between the rearmost replaced teeth of both sides."""
    every = sorted([*teeth, *left.values()], key=lambda t: _order(t.fdi))
    orders = [_order(t.fdi) for t in teeth]
    # over the midline to the other side's first premolar at least, so that it bears both ways
    low, high = min(*orders, -4), max(*orders, 4)
    run = [t for t in every if low <= _order(t.fdi) <= high and not is_primary(t.fdi)]
    start = np.array([from_own(t, [[0.0, 0.0, -LINGUAL_BAR_DOWN_MM]])[0] for t in run])
    inwards = np.array([-t.rotation[:, 1] for t in run])
    inwards[:, 2] = 0.0
    inwards /= np.linalg.norm(inwards, axis=1)[:, None]
    off = GUM_MM + LINGUAL_BAR_MM / 2.0
    path = start + _way_out(bone, start, inwards, off)[:, None] * inwards
    return [Rod(smooth_curve(path, 6 * len(path)), LINGUAL_BAR_MM / 2.0)]


def _strap(teeth: Sequence[Tooth], bone: Shape) -> list[Rod]:
    """Across the palate, level with the replaced back teeth (or with the first molars)."""
    backward = [t.origin_mm[1] for t in teeth if t.fdi % 10 >= 4]
    middle = float(np.mean(backward)) if backward else teeth[0].origin_mm[1] + 22.0
    half = max(abs(t.origin_mm[0]) for t in teeth if t.fdi % 10 >= 4) if backward else 20.0
    half -= 6.0
    x = np.linspace(-half, half, 21)
    rods = []
    for i in range(STRAP_RODS):
        y = middle + (i - (STRAP_RODS - 1) / 2.0) * STRAP_APART_MM
        low = np.column_stack([x, np.full_like(x, y), np.full_like(x, teeth[0].origin_mm[2] - 4.0)])
        up = np.tile([0.0, 0.0, 1.0], (len(x), 1))
        rise = _way_in(bone, low, up, GUM_MM + STRAP_ROD_MM / 2.0)
        rods.append(Rod(low + rise[:, None] * up, STRAP_ROD_MM / 2.0))
    return rods


def _way_out(bone: Shape, starts: Array, ways: Array, off_mm: float) -> Array:
    """How far from each start the bone is first ``off_mm`` away."""
    along = np.arange(0.0, 20.0, 0.1)
    at = starts[:, None, :] + along[None, :, None] * ways[:, None, :]
    far = bone(at.reshape(-1, 3)).reshape(len(starts), -1) >= off_mm
    return np.asarray(along[np.argmax(far, axis=1)])


def _way_in(bone: Shape, starts: Array, ways: Array, off_mm: float) -> Array:
    """How far from each start outside the bone is ``off_mm`` near for the first time."""
    along = np.arange(0.0, 40.0, 0.1)
    at = starts[:, None, :] + along[None, :, None] * ways[:, None, :]
    near = bone(at.reshape(-1, 3)).reshape(len(starts), -1) <= off_mm
    return np.asarray(along[np.argmax(near, axis=1)])


# --- acrylic ---------------------------------------------------------------------------------


def _saddles(teeth: Sequence[Tooth], bone: Shape) -> list[Shape]:
    """Blocks under the replaced teeth, from their necks down both sides of the ridge."""
    saddles = []
    for t in teeth:
        down = from_own(t, [[0.0, 0.0, -z] for z in np.arange(0.0, 22.0, 0.25)])
        held = bone(down) < 0.0
        ridge = 0.25 * int(np.argmax(held)) if held.any() else 2.0
        low, high = -(ridge + FLANGE_MM), COLLAR_MM
        half = (
            t.size.md_mm / 2.0 + 0.4, t.size.bl_neck_mm / 2.0 + SADDLE_WIDER_MM, (high - low) / 2.0
        )  # fmt: skip
        saddle = box([0.0, 0.0, (high + low) / 2.0], half, round_mm=SADDLE_ROUND_MM)
        saddles.append(placed(saddle, t.rotation, t.origin_mm))
    return saddles


def _palate_plate(person: Person, bone: Shape) -> Shape:
    """The plate over the hard palate inside the arch, up to the back of the hard palate."""
    upper = [t for f, t in full_teeth_of(person).items() if f // 10 in (1, 2)]
    inside = [t.origin_mm for t in upper if t.fdi % 10 <= LAST_REPLACED]
    lowest = min(p[2] for p in inside)
    half = max(abs(p[0]) for p in inside)
    front = min(p[1] for p in inside) + 2.0
    spine = starter_landmarks(person)["posterior-nasal-spine"]
    # the top lies between the palate's under side and the floor of the nose
    low, high = np.array([-half, front, lowest]), np.array([half, spine[1], spine[2] - 2.5])
    room = box((low + high) / 2.0, (high - low) / 2.0, round_mm=2.0)
    along = np.array(sorted((p[1], abs(p[0])) for p in inside))

    def distance(p: Array) -> Array:
        # inside the arch, below the palate, within the plate's thickness of the gum
        wide = np.abs(p[:, 0]) - np.interp(p[:, 1], along[:, 0], along[:, 1])
        layer = bone.distance(p) - (GUM_MM + BASE_MM)
        return np.maximum(np.maximum(room.distance(p), wide), layer)

    return Shape(distance, room.lower_mm, room.upper_mm)
