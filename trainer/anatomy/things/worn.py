"""What is worn on the head: spectacles, jewellery, a hearing aid.

Sizes are the trade's and do not follow the head; places are found on the person's own skin, led
from the mean man by the head's map.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.shapes.implicit import cut, grow, smooth_curve
from trainer.anatomy.soft.skin import skin_points
from trainer.anatomy.soft.skin_ear import ROOT_MM, ear_frame
from trainer.anatomy.soft.soft_parts import tongue
from trainer.anatomy.things.on_skin import Skin, skin_of
from trainer.anatomy.things.on_tooth import teeth_of
from trainer.anatomy.things.thing import Ball, Disc, Part, Rod, Thing, shape_of, surfaces_of
from trainer.models.frames import Frame
from trainer.models.subject import Person, Worn

Array = NDArray[np.float64]

AHEAD, LEFT = np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0])
MIRROR = np.array([-1.0, 1.0, 1.0])
TOUCH_MM = 0.05  # between a thing and the skin it lies on

# Spectacles: lens 50 wide, 18 between lenses, temple 140 to 145 (sizes as stamped on frames, box
# system of ISO 8624; from memory), lens 34 high, 12 from lens to lid (vertex distance 12 to 14;
# from memory), lower rim nearer to the cheek by 8 degrees. A child's frame is smaller in
# proportion to the pupils' distance.
LENS_HALF_MM, LENS_POWER, PUPILS_MM = (25.0, 17.0), 2.8, 64.0
VERTEX_MM, TILT_DEG, LENS_DROP_MM = 12.0, 8.0, 3.0
RIM_MM, TEMPLE_MM, RIM_POINTS = 0.9, 1.2, 40
RIM_OFF_MM = 0.4
TEMPLE_LONG_MM = 140.0
# The temple's way on the mean man's head: over the root of the ear, then down a little behind it.
TEMPLE_MAN = [(73.0, -60.0, 21.0), (76.0, -30.0, 24.0), (77.5, -8.0, 26.5), (78.0, 6.0, 28.5),
              (76.5, 20.0, 28.0), (75.5, 32.0, 24.0)]  # fmt: skip

# Hoop hanging from a post through the lobe; from memory, trade sizes.
HOOP_MM, HOOP_WIRE_MM, POST_MM = 8.0, 0.75, 0.5
LOBE_UV = (11.0, -28.0)  # where it is pierced, in the plane of the ear

# Studs: post 0.8 to 1.6 thick, balls 2.5 to 5 across; from memory, trade sizes.
NOSE_BALL_MM, NOSE_POST_MM, NOSE_POST_LONG_MM = 1.25, 0.4, 6.0
NOSE_MAN = (11.6, -103.2, -25.6)
LIP_BALL_MM, LIP_POST_MM, LIP_LONG_MM, LIP_DISC_MM, LIP_DISC_THICK_MM = 1.5, 0.6, 8.0, 2.0, 0.4
LIP_UP_MAN, LIP_OFF_TEETH_MM = -64.0, 1.0
TONGUE_BALL_MM, TONGUE_POST_MM = 2.5, 0.8
# Middle of the pierced tongue and the way up through it, man.
TONGUE_MAN, TONGUE_WAY = (0.0, -71.0, -51.0), (0.0, 0.45, 0.9)

# Chain: 2 thick; lies on the neck above the shoulders, a little below the larynx in front; its
# sides hang nearer to the back's height. By eye.
CHAIN_MM, CHAIN_POINTS, CHAIN_HANG = 1.0, 64, 1.3
CHAIN_FRONT_MAN, CHAIN_BACK_MAN = -164.0, -136.0

# Case behind the ear about 8 thick and 40 long, tube 1 to 3 across (from memory); cell of size 312:
# 7.9 across, 3.6 high (PR41, IEC 60086-2, from memory).
CASE_MM, EAR_TUBE_MM, CELL_RADIUS_MM, CELL_HALF_MM = 3.6, 0.9, 3.95, 1.8
CELL_GAP_MM = 0.02
# Middle of the case and of the tube over the ear's root into its bowl, mean man.
CASE_MAN = [(79.0, 27.0, 18.5), (79.0, 30.5, 10.0), (78.5, 32.0, 1.0), (77.5, 31.0, -9.0)]
EAR_TUBE_MAN = [(80.0, 17.0, 31.0), (79.5, 6.0, 33.0), (78.0, -4.0, 28.0), (77.0, -7.0, 18.0),
                (76.0, -4.0, 9.0), (76.0, 1.0, 2.0)]  # fmt: skip


def worn_things(person: Person) -> tuple[Thing, ...]:
    """All that the person wears."""
    return tuple(thing for worn in person.worn for thing in MAKERS[worn](person))


def _symmetric(rods: list[Rod]) -> list[Part]:
    """The left rods and their mirror images."""
    return [*rods, *_mirrored(rods)]


def _mirrored(rods: list[Rod]) -> list[Rod]:
    return [Rod(r.points_mm * MIRROR, r.radii_mm, r.closed) for r in rods]


def _worn(
    thing_id: str, name: str, parts: Sequence[Part], material: str, frame: Frame = Frame.SKULL,
    sides: tuple[int, int] = (6, 4), every: tuple[int, int] = (1, 3),
) -> Thing:  # fmt: skip
    surfaces = surfaces_of(parts, sides, every)
    return Thing(thing_id, name, frame, shape_of(parts), material, True, surfaces=surfaces)


# --- spectacles ------------------------------------------------------------------------------


@lru_cache(maxsize=2)
def _spectacles(person: Person) -> tuple[Thing, ...]:
    on, marks = skin_of(person), skin_points()
    pupil = on.of_man(marks["pupil-left"])[0]
    size = float(np.clip(2.0 * pupil[0] / PUPILS_MM, 0.75, 1.1))
    angle = 2.0 * np.pi * np.arange(RIM_POINTS) / RIM_POINTS
    c, s = np.cos(angle), np.sin(angle)
    share = 2.0 / LENS_POWER
    x = size * LENS_HALF_MM[0] * np.sign(c) * np.abs(c) ** share
    z = size * LENS_HALF_MM[1] * np.sign(s) * np.abs(s) ** share
    wide = x + pupil[0] + 2.0 * size  # lens middles 50 + 18 apart, pupils 64
    tilt = np.radians(TILT_DEG)
    bow = 0.0016 * wide**2  # the front is bent to the face
    rim = np.column_stack([wide, bow - z * np.sin(tilt), pupil[2] - size * LENS_DROP_MM + z])
    rim[:, 1] += pupil[1] - VERTEX_MM
    rim[:, 1] -= _forward_until_clear(on, rim, RIM_MM + RIM_OFF_MM)
    inner = rim[np.argmin(np.where(z > 0.0, rim[:, 0] - 0.3 * z, np.inf))]
    outer = rim[np.argmax(np.where(z > 0.0, rim[:, 0] + 0.3 * z, -np.inf))]
    top = inner + [0.0, -1.5, 1.5]
    bridge = np.array([inner, top * [0.4, 1.0, 1.0], top * [0.0, 1.0, 1.0] + [0.0, -0.5, 0.4]])
    bridge = on.laid(smooth_curve(np.vstack([bridge, bridge[1::-1] * MIRROR]), 9),
                     RIM_MM + RIM_OFF_MM, only_out=True)  # fmt: skip
    half = [Rod(rim, RIM_MM, closed=True), Rod(_temple(on, outer), TEMPLE_MM), *_pad(on, rim, z)]
    parts = [*_symmetric(half), Rod(bridge, RIM_MM)]
    sides, every = (5, 3), (2, 4)
    name = "frame of the spectacles"
    return (_worn(Worn.SPECTACLES.value, name, parts, "steel", sides=sides, every=every),)


def _forward_until_clear(on: Skin, points_mm: Array, off_mm: float) -> float:
    """How far forward all the points have to go to be ``off_mm`` off the skin."""
    low, high = 0.0, 25.0
    if on.away_mm(points_mm)[0].min() >= off_mm:
        return low
    while high - low > 0.1:
        middle = (low + high) / 2.0
        clear = on.away_mm(points_mm + middle * AHEAD)[0].min() >= off_mm
        low, high = (low, middle) if clear else (middle, high)
    return high


def _temple(on: Skin, hinge_mm: Array) -> Array:
    path = on.laid(on.of_man(TEMPLE_MAN), TEMPLE_MM + TOUCH_MM)
    path = smooth_curve(np.vstack([hinge_mm, path]), 40)
    path = on.laid(path, TEMPLE_MM + TOUCH_MM, only_out=True)
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
    return np.asarray(path[along <= TEMPLE_LONG_MM])


def _pad(on: Skin, rim: Array, z: Array) -> list[Rod]:
    """The nose pad on the side of the nose, and its arm from the rim."""
    root = rim[np.argmin(np.where(z < 2.0, rim[:, 0], np.inf))]
    foot = on.laid((root + [-1.5, 6.0, -2.0])[None], 1.0 + TOUCH_MM)[0]
    down = np.array([0.12, -0.35, -1.0]) * 2.5
    pad = on.laid(np.array([foot - down, foot, foot + down]), 1.0 + TOUCH_MM)
    return [Rod(pad, 1.0), Rod(np.array([root, (root + foot) / 2 + [0.0, -1.0, 0.5], foot]), 0.5)]


# --- jewellery -------------------------------------------------------------------------------


def _ear_points(on: Skin, rows: ArrayLike) -> Array:
    """Points of the left ear's own frame (u back, v up, w out), in the person."""
    return on.of_man(np.asarray(rows, float) @ ear_frame().T + ROOT_MM)


def _earrings(person: Person) -> tuple[Thing, ...]:
    on = skin_of(person)
    far, near = _ear_points(on, [(*LOBE_UV, 14.0), (*LOBE_UV, -3.0)])
    out = (far - near) / np.linalg.norm(far - near)
    front = on.along(far, -out)
    end = front + (HOOP_WIRE_MM + 0.4) * out
    back = np.cross(out, [0.0, 0.0, 1.0])
    back /= np.linalg.norm(back)
    angle = 2.0 * np.pi * np.arange(28) / 28
    ring = HOOP_MM * (np.sin(angle)[:, None] * back + np.cos(angle)[:, None] * [0.0, 0.0, 1.0])
    hoop = end - [0.0, 0.0, HOOP_MM] + ring
    # it hangs straight down, or leans on the neck
    inwards = np.maximum(HOOP_WIRE_MM + TOUCH_MM - on.away_mm(hoop)[0], 0.0).max()
    hoop += inwards * 1.2 * out * [1.0, 0.0, 0.0]
    post = Rod(np.array([front - 4.0 * out, hoop[0]]), POST_MM)
    left = [Rod(hoop, HOOP_WIRE_MM, closed=True), post]
    return tuple(
        _worn(f"earring-{side}", f"earring on the {side}", rods, "gold alloy",
              sides=(5, 3))
        for side, rods in (("left", left), ("right", _mirrored(left)))
    )  # fmt: skip


def _nose_stud(person: Person) -> tuple[Thing, ...]:
    on = skin_of(person)
    wing = on.of_man([NOSE_MAN])[0]
    face = on.along(wing + 15.0 * np.array([0.9, -0.35, 0.1]), [-0.9, 0.35, -0.1])
    out = on.away_mm(face[None])[1][0]
    out /= np.linalg.norm(out)
    head = Ball(face + NOSE_BALL_MM * out, NOSE_BALL_MM)
    post = Rod(np.array([face + 0.5 * out, face - NOSE_POST_LONG_MM * out]), NOSE_POST_MM)
    return (_worn(Worn.NOSE_STUD.value, "nose stud", [head, post], "titanium"),)


def _lip_stud(person: Person) -> tuple[Thing, ...]:
    on = skin_of(person)
    start = on.of_man([(0.0, -125.0, LIP_UP_MAN)])[0] * [0.0, 1.0, 1.0]
    face = on.along(start, -AHEAD)
    # behind the lip the disc stays clear of teeth and gum
    depth = np.arange(0.0, LIP_LONG_MM + 0.01, 0.1)
    at = face - depth[:, None] * AHEAD
    walls = [t.solid(at) for t in teeth_of(person).values() if t.frame is Frame.MANDIBLE]
    walls.append(_lower_bone(person)(at))
    keep = 2.0 * LIP_DISC_THICK_MM + LIP_OFF_TEETH_MM
    free = np.min(walls, axis=0) >= keep
    long = float(depth[max(int(np.argmin(free)) - 1, 0)]) if not free.all() else LIP_LONG_MM
    inner = face - long * AHEAD
    head = Ball(face + LIP_BALL_MM * AHEAD, LIP_BALL_MM)
    post = Rod(np.array([face + 0.5 * AHEAD, inner]), LIP_POST_MM)
    disc = Disc(inner - LIP_DISC_THICK_MM * AHEAD, AHEAD, LIP_DISC_MM, LIP_DISC_THICK_MM)
    parts: list[Part] = [head, post, disc]
    return (_worn(Worn.LIP_STUD.value, "lip stud", parts, "steel", Frame.MANDIBLE),)


def _lower_bone(person: Person) -> Callable[[Array], Array]:
    from trainer.anatomy.bones.jaw_bones import jaw_bone
    from trainer.models.subject import Jaw

    return jaw_bone(person, Jaw.LOWER)


def _tongue_stud(person: Person) -> tuple[Thing, ...]:
    on = skin_of(person)
    body = on.warp.shape(tongue())
    middle = on.of_man([TONGUE_MAN])[0]
    way = np.asarray(TONGUE_WAY) / np.linalg.norm(TONGUE_WAY)
    t = np.arange(-25.0, 25.0, 0.1)
    inside = t[body(middle + t[:, None] * way) < 0.0]
    low, high = middle + inside.min() * way, middle + inside.max() * way
    # the balls sink in by half: there is hardly room between tongue and palate
    parts: list[Part] = [Ball(high, TONGUE_BALL_MM), Ball(low, TONGUE_BALL_MM),
             Rod(np.array([low, high]), TONGUE_POST_MM)]  # fmt: skip
    return (_worn(Worn.TONGUE_STUD.value, "tongue stud", parts, "steel", Frame.MANDIBLE),)


def _necklace(person: Person) -> tuple[Thing, ...]:
    on = skin_of(person)
    angle = 2.0 * np.pi * np.arange(CHAIN_POINTS) / CHAIN_POINTS
    ahead = np.cos(angle)
    up = CHAIN_BACK_MAN + (CHAIN_FRONT_MAN - CHAIN_BACK_MAN) * (0.5 + 0.5 * ahead) ** CHAIN_HANG
    guess = on.of_man(np.column_stack([75.0 * np.sin(angle), 30.0 - 68.0 * ahead, up]))
    path = on.laid(guess, CHAIN_MM + TOUCH_MM)
    return (
        _worn(Worn.NECKLACE.value, "necklace", [Rod(path, CHAIN_MM, closed=True)],
              "gold alloy", Frame.TORSO, (5, 3), (1, 2)),
    )  # fmt: skip


# --- hearing aid -----------------------------------------------------------------------------


def _hearing_aid(person: Person) -> tuple[Thing, ...]:
    """Behind the left ear: case, battery in its lower end, and the tube over the ear."""
    on = skin_of(person)
    path = on.laid(smooth_curve(on.of_man(CASE_MAN), 12), CASE_MM + TOUCH_MM, only_out=True)
    radii = np.r_[np.linspace(2.0, CASE_MM, 5), np.full(7, CASE_MM)]
    for _ in range(6):  # as a whole against head and ear
        away, out = on.away_mm(Rod(path, radii).mesh(8).vertices_mm)
        nearest = int(np.argmin(away))
        path = path - (away[nearest] - TOUCH_MM) * out[nearest]
    case = Rod(path, radii)
    # temples of spectacles lie on the head, the tube on them
    off = 2.0 * (TEMPLE_MM + TOUCH_MM) if Worn.SPECTACLES in person.worn else 0.0
    over = on.laid(on.of_man(EAR_TUBE_MAN), off + EAR_TUBE_MM + TOUCH_MM, only_out=True)
    over = smooth_curve(np.vstack([path[0], over]), 24)
    over = on.laid(over, EAR_TUBE_MM + TOUCH_MM, only_out=True)
    down = path[-1] - path[-3]
    out = np.cross(down, np.cross(on.away_mm(path[-1:])[1][0], down))
    cell = Disc(path[-1], out, CELL_RADIUS_MM, CELL_HALF_MM)
    parts: list[Part] = [case, Rod(over, EAR_TUBE_MM)]
    made = _worn(Worn.HEARING_AID.value, "hearing aid", parts, "acrylic")
    room = [grow(cell.shape, CELL_GAP_MM)]
    if Worn.SPECTACLES in person.worn:  # where the tube still meets the temple
        room += [grow(t.shape, CELL_GAP_MM) for t in _spectacles(person)]
    return (
        replace(made, shape=cut(made.shape, *room)),
        _worn("hearing-aid-battery", "battery of the hearing aid", [cell], "button cell"),
    )


MAKERS: dict[Worn, Callable[[Person], tuple[Thing, ...]]] = {
    Worn.SPECTACLES: _spectacles,
    Worn.EARRINGS: _earrings,
    Worn.NOSE_STUD: _nose_stud,
    Worn.LIP_STUD: _lip_stud,
    Worn.TONGUE_STUD: _tongue_stud,
    Worn.NECKLACE: _necklace,
    Worn.HEARING_AID: _hearing_aid,
}
