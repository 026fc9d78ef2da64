"""Dental implants: a titanium screw in the bone, an abutment on it, a crown on that."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.jaw_bones import jaw_bone, kept_clear
from trainer.anatomy.shapes.implicit import Shape, cut, grow, union
from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.things.on_tooth import full_teeth_of, is_front, jaw_of, teeth_of
from trainer.anatomy.things.thing import Rod, Thing, surfaces_of
from trainer.errors import TrainerError
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Sizes usual in the trade: 3.3, 4.1 and 4.8 across, 6 to 12 long (from memory). The wish comes
# first; thinner and then shorter ones are tried after it.
LENGTHS_MM = (10.0, 8.0, 6.0)
WIDTHS_MM = (4.8, 4.1, 3.3)
# The widest that is tried in place of each tooth, 1 to 8 from the midline. From memory: narrow
# ones for upper lateral and lower front teeth.
WIDEST_MM = {"upper": (4.1, 3.3, 4.1, 4.1, 4.1, 4.8, 4.8, 4.8),
             "lower": (3.3, 3.3, 4.1, 4.1, 4.1, 4.8, 4.8, 4.8)}  # fmt: skip
# Threads. By eye.
PITCH_MM, THREAD_MM = 1.0, 0.25
# Bone all round: 1 or more is asked for at the outer plate (from memory); half of that is the
# least here, since the plates of the model are as thin as a plate over a root.
BONE_ROUND_MM = 0.5
# To the canal's wall: 2 is the usual safety distance; to sinus and nose 1; to a neighbour's root
# 1.5 is asked for, 1 accepted. All from memory: implant textbooks.
TO_CANAL_MM, TO_AIR_MM, TO_ROOT_MM = 2.0, 1.0, 1.0
# Ways from the tooth's own place and direction that are tried: to the cheek [mm], leaning [deg].
SHIFTS_MM = (0.0, -0.75, 0.75, -1.5, 1.5, -2.5, -3.5)
LEANS_DEG = (0.0, 6.0, -6.0, 12.0, -12.0, 20.0, -20.0)
NEAR = 1.75  # what `_moved` counts as nearly the tooth's own place
# How far below the neck a platform may lie where the ridge has been lost.
DEEPEST_PLATFORM_MM, LEVEL_STEP_MM = 14.0, 0.25
# Abutment: its radius as share of the implant's, how far it reaches into the crown (share of the
# crown's height), and how thick the crown stays round it. By eye.
ABUTMENT_SHARE, ABUTMENT_UP, CROWN_ROUND_MM = 0.8, 0.55, 1.0


@dataclass(frozen=True, slots=True)
class Seat:
    """Where an implant's body stands in the jaw's frame [mm]: ``platform_mm`` is the middle of its
    upper end, ``way`` the unit direction from there into the bone."""

    platform_mm: Array
    way: Array
    length_mm: float
    width_mm: float

    @property
    def tip_mm(self) -> Array:
        """The middle of the lower end."""
        return self.platform_mm + self.length_mm * self.way


def implant_things(person: Person, fdi: int) -> tuple[Thing, ...]:
    """Body with abutment, and crown, in place of a missing tooth.

    Raises
    ------
    TrainerError
        If not even the smallest implant keeps in bone and clear of canal, sinus, nose and roots.
    """
    tooth = full_teeth_of(person)[fdi]
    seat = implant_seat(person, fdi)
    high = tooth.size.crown_mm
    post = _abutment(tooth, seat, high)
    metal = union(implant_body(seat), post.shape)
    taper = seat.width_mm / 2.0 * np.array([1.0, 1.0, 0.62])
    body = Rod(seat.platform_mm + np.outer([0.0, 0.7, 1.0], seat.length_mm * seat.way), taper)
    crown = cut(tooth.crown, metal)
    words = f"in place of tooth {fdi}"
    return (
        Thing(f"implant-{fdi}", f"implant {words}", tooth.frame, metal, "titanium", tooth=fdi,
              surfaces=surfaces_of([body, post], (10, 5))),
        Thing(f"implant-crown-{fdi}", f"crown on the implant {words}", tooth.frame, crown,
              "zirconia", tooth=fdi, outside=tooth.crown),
    )  # fmt: skip


def implant_body(seat: Seat) -> Shape:
    """A screw: a core that tapers at the end, with a thread that climbs round it. First order."""
    side = np.cross(seat.way, np.eye(3)[np.argmin(np.abs(seat.way))])
    side /= np.linalg.norm(side)
    other = np.cross(seat.way, side)
    half, long = seat.width_mm / 2.0, seat.length_mm

    def distance(p: Array) -> Array:
        q = p - seat.platform_mm
        t = q @ seat.way
        x, y = q @ side, q @ other
        # a thread ridge stands out wherever the height matches the turn
        phase = t / PITCH_MM - np.arctan2(y, x) / (2.0 * np.pi)
        ridge = np.abs(2.0 * (phase - np.floor(phase)) - 1.0)
        threaded = np.clip((t - 1.5) / 0.5, 0.0, 1.0)
        taper = 0.35 * half * np.clip((t - 0.7 * long) / (0.3 * long), 0.0, 1.0) ** 2
        radius = half - THREAD_MM * threaded * ridge - taper
        return np.maximum((np.hypot(x, y) - radius) * 0.85, np.abs(t - long / 2.0) - long / 2.0)

    ends = np.array([seat.platform_mm, seat.tip_mm])
    return Shape(distance, ends.min(axis=0) - half, ends.max(axis=0) + half)


def _abutment(tooth: Tooth, seat: Seat, high_mm: float) -> Rod:
    """From the platform into the crown, slim enough to leave the crown round it."""
    up = tooth.rotation[:, 2]
    neck = tooth.origin_mm + 0.3 * up
    top = tooth.origin_mm + ABUTMENT_UP * high_mm * up
    slim = tooth.size.bl_mm if is_front(tooth.fdi) else tooth.size.md_mm
    room = min(tooth.size.md_neck_mm, slim) / 2.0 - CROWN_ROUND_MM
    wide = min(ABUTMENT_SHARE * seat.width_mm / 2.0, room)
    thin = 0.55 * wide if is_front(tooth.fdi) else 0.8 * wide
    start = seat.platform_mm - 0.1 * seat.way + wide * seat.way
    return Rod(np.array([start, neck, top]), np.array([wide, wide, thin]))


def implant_seat(person: Person, fdi: int) -> Seat:
    """The largest implant that fits, nearest to the missing tooth's own place; errors as above."""
    tooth = full_teeth_of(person)[fdi]
    widest = WIDEST_MM[jaw_of(fdi)][fdi % 10 - 1]
    sizes = [(w, n) for w in WIDTHS_MM if w <= widest for n in LENGTHS_MM]
    ways = sorted(((s, a) for s in SHIFTS_MM for a in LEANS_DEG), key=_moved)
    # rather a smaller one in the tooth's own direction than a large one that leans
    for near in (True, False):
        for width, length in sizes:
            for shift, lean in (w for w in ways if (_moved(w) <= NEAR) is near):
                seat = _seat(person, tooth, length, width, shift, np.radians(lean))
                if seat is not None:
                    return seat
    raise TrainerError(
        f"implant in place of tooth {fdi}: no bone for even {LENGTHS_MM[-1]:g} x "
        f"{WIDTHS_MM[-1]:g} mm that keeps {TO_CANAL_MM:g} mm from the canal and {TO_AIR_MM:g} mm "
        f"from sinus, nose and roots; choose another tooth or a smaller loss of the ridge"
    )


def _moved(way: tuple[float, float]) -> float:
    """How far a shift [mm] and a lean [deg] are from the tooth's own place; 6 deg weigh 1 mm."""
    return abs(way[0]) + abs(way[1]) / 6.0


def _seat(
    person: Person, tooth: Tooth, length_mm: float, width_mm: float, shift_mm: float, lean: float
) -> Seat | None:
    bone = jaw_bone(person, jaw_of(tooth.fdi))
    buccal, up = tooth.rotation[:, 1], tooth.rotation[:, 2]
    way = -np.cos(lean) * up + np.sin(lean) * buccal
    side = tooth.rotation[:, 0]
    other = np.cross(way, side)
    turn = 2.0 * np.pi * np.arange(16) / 16
    ring = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * other
    start = tooth.origin_mm + shift_mm * buccal
    # the platform lies where the whole rim of the body has bone: level with the lowest crest
    depth = np.arange(1.0, DEEPEST_PLATFORM_MM, LEVEL_STEP_MM)
    rim = start + depth[:, None, None] * way + width_mm / 2.0 * ring
    held = (bone(rim.reshape(-1, 3)) < 0.0).reshape(len(depth), -1).all(axis=1)
    if not held.any():
        return None
    seat = Seat(start + depth[np.argmax(held)] * way, way, length_mm, width_mm)
    along = np.arange(1.0, length_mm + BONE_ROUND_MM, 0.5)
    shell = seat.platform_mm + along[:, None, None] * way
    shell = (shell + (width_mm / 2.0 + BONE_ROUND_MM) * ring).reshape(-1, 3)
    core = seat.platform_mm + np.linspace(0.5, length_mm + BONE_ROUND_MM, 12)[:, None] * way
    if (bone(core) >= 0.0).any() or (bone(shell) >= 0.0).any():
        return None
    return seat if _clear(person, tooth.fdi, seat) else None


def _clear(person: Person, fdi: int, seat: Seat) -> bool:
    """Whether canal, sinus, nose and other teeth are far enough away."""
    body = seat.platform_mm + np.linspace(0.0, seat.length_mm, 24)[:, None] * seat.way
    half, jaw = seat.width_mm / 2.0, jaw_of(fdi)
    away = TO_CANAL_MM if jaw == "lower" else TO_AIR_MM
    if any((s(body) < half + away).any() for s in kept_clear(person, jaw)):
        return False
    side = np.cross(seat.way, np.eye(3)[np.argmin(np.abs(seat.way))])
    side /= np.linalg.norm(side)
    other = np.cross(seat.way, side)
    turn = 2.0 * np.pi * np.arange(16) / 16
    ring = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * other
    surface = (body[:, None, :] + (half + TO_ROOT_MM) * ring).reshape(-1, 3)
    reach = grow(implant_body(seat), TO_ROOT_MM)
    return not any(
        (t.solid(surface) < 0.0).any()
        for t in teeth_of(person).values()
        if t.fdi != fdi
        and jaw_of(t.fdi) is jaw
        and np.all(t.solid.lower_mm < reach.upper_mm)
        and np.all(t.solid.upper_mm > reach.lower_mm)
    )
