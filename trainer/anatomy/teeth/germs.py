"""Where unerupted teeth lie in a child's jaws, in arch coordinates (see `arch_form`).

A germ of a permanent front tooth or premolar lies below its forerunner, lingual to its root or
between its roots; one of a molar lies behind the arch, sunk below the gum. From that place it is
pushed, in fixed small steps, along the arch, to lingual and deeper until it clears what is there
already: crowded, and the same on every run. First places are by eye after dental anatomy atlases
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.teeth.arch_bite import crown_points, left_arches
from trainer.anatomy.teeth.arch_form import ArchPlan, Stand, axes_along
from trainer.anatomy.teeth.eruption import BEGUN_BEFORE_YEARS, JAWS, SHARE_AT_EMERGENCE, Place
from trainer.anatomy.teeth.tooth_shapes import ToothModel, tooth_model
from trainer.anatomy.teeth.tooth_tables import FIRST_PRIMARY

Array = NDArray[np.float64]

# Room round a germ: its follicle (from memory: up to 2 to 3 mm is normal, less in a crowd).
FOLLICLE_MM = 0.8
APART_MM = 0.5  # between germs, and between a germ and finished roots
CROWN_APART_MM = FOLLICLE_MM + 0.4  # to the crown of a primary tooth, which must stay whole
MIDLINE_MM = 0.4
# Tip below the forerunner's neck: at emergence, more for every year to go, and the most.
FRONT_DEPTH_MM = {"upper": (2.5, 1.3, 7.0), "lower": (2.0, 1.2, 6.0)}
MOLAR_DEPTH_MM = (3.4, 0.3, 4.5)
FRONT_LINGUAL_MM = 1.6
BED_MM = 4.0  # a molar's tip below the neck's height of its neighbours, before it rises
# Pushes tried, in this order of cost: along the arch, to lingual, deeper.
ALONG_MM = (0.0, 0.75, -0.75, 1.5, -1.5, 2.25, -2.25, 3.0, -3.0)
LINGUAL_MM = (0.0, 1.0, -1.0, 2.0, -2.0, 3.0)
DEEPER_MM = tuple(range(11))
COST = np.array([1.0, 0.8, 0.7])
AT_ONCE = 24
# First molars and then from the midline back.
ORDER = (6, 1, 2, 3, 4, 5, 7, 8)


@dataclass(frozen=True, slots=True)
class Seat:
    """A tooth of the left side: what `eruption` says of it, and where it is.

    ``sunk_mm`` is how far it still has to rise along its own axis.
    """

    place: Place
    stand: Stand
    sunk_mm: float = 0.0


Seats = dict[tuple[str, int], Seat]


@lru_cache(maxsize=64)
def left_seats(
    plan: ArchPlan, upper: tuple[Place, ...], lower: tuple[Place, ...], root_ratio: float = 1.0
) -> Seats:
    """All left teeth of both jaws, erupted or not.

    ``root_ratio`` is how much longer than the mean roots are, for mean crowns; it matters only
    where there are germs.
    """
    stands = left_arches(plan).stands
    seats: Seats = {}
    for jaw, teeth in zip(JAWS, (upper, lower), strict=True):
        for place in teeth:
            if place.risen >= 1.0:
                seats[jaw, place.place] = Seat(place, stands[jaw, place.place])
        for place in sorted(teeth, key=_turn):
            if place.risen < 1.0:
                stand, sunk_mm = _first_stand(jaw, place, stands)
                if not place.erupted or place.place >= 6:
                    stand = _pushed(jaw, place, stand, seats, root_ratio)
                seats[jaw, place.place] = Seat(place, stand, sunk_mm)
    return seats


def _turn(place: Place) -> tuple[bool, int]:
    """When a tooth gets its place: those in the mouth first."""
    return not place.erupted, ORDER.index(place.place) if place.place < FIRST_PRIMARY else 0


def follicle_reach(seats: Seats, jaw: str, place: int, apart_mm: float) -> tuple[int, ...]:
    """Permanent teeth of the jaw near enough to a primary tooth to have taken root from it."""
    here = seats[jaw, place].stand.origin_mm
    return tuple(
        n
        for (other, n), seat in seats.items()
        if other == jaw
        and n < FIRST_PRIMARY
        and np.linalg.norm(seat.stand.origin_mm[:2] - here[:2]) < apart_mm
    )


def _first_stand(
    jaw: str, place: Place, stands: dict[tuple[str, int], Stand]
) -> tuple[Stand, float]:
    """Where a tooth that is not in the bite begins, and how far below its place there [mm]."""
    kind = (jaw, place.place)
    model = tooth_model(*kind)
    if kind in stands:  # on its way along its own axis
        stand = stands[kind]
        bed = model.size.crown_mm + BED_MM if place.place >= 6 else model.size.crown_mm
        sunk = (1.0 - place.risen) * bed
        return Stand(stand.axes, stand.origin_mm - sunk * stand.axes[:, 2]), sunk
    front = stands[jaw, place.place + FIRST_PRIMARY - 1]
    way = -front.axes[:2, 0] / np.linalg.norm(front.axes[:2, 0])
    axes = axes_along(jaw, place.place, way)
    years = BEGUN_BEFORE_YEARS * (1.0 - place.root_share / SHARE_AT_EMERGENCE)
    least, a_year, most = FRONT_DEPTH_MM[jaw] if place.place <= 3 else MOLAR_DEPTH_MM
    depth = min(least + a_year * years, most)
    tip = np.array([0.0, 0.0, -depth])
    if place.place <= 3:
        tip[1] -= FRONT_LINGUAL_MM
        point = model.tip_mm
    else:
        point = np.array([0.0, 0.0, model.size.crown_mm])
    stand = Stand(axes, front.to_arch(tip[None])[0] - axes @ point)
    return stand, depth + model.size.crown_mm


@cache
def _germ_points(jaw: str, place: int, share: float) -> Array:
    """Points on a growing tooth, (n, 3) tooth coordinates [mm], about a millimetre apart."""
    crown = crown_points(jaw, place)[::4]
    rings = []
    turn = np.linspace(0.0, 2.0 * np.pi, 9)[:-1]
    for root in tooth_model(jaw, place, share).roots:
        for centre, half in zip(root.axis_mm[1:], root.half_mm[1:], strict=True):
            ring = np.column_stack([half[0] * np.cos(turn), half[1] * np.sin(turn), 0 * turn])
            rings.append(centre + ring)
    return np.vstack([crown, *rings])


def _scaled(points: Array, root_ratio: float) -> Array:
    found = points.copy()
    found[:, 2] = np.where(found[:, 2] < 0.0, found[:, 2] * root_ratio, found[:, 2])
    return found


def _pushes() -> Array:
    """All pushes (n, 3) [mm] along the arch, to lingual and deeper, cheapest first."""
    grid = np.stack(np.meshgrid(ALONG_MM, LINGUAL_MM, DEEPER_MM, indexing="ij"), -1).reshape(-1, 3)
    cost = np.abs(grid) @ COST
    return grid[np.argsort(cost, kind="stable")]


def _pushed(jaw: str, place: Place, stand: Stand, seats: Seats, root_ratio: float) -> Stand:
    """The germ's stand, pushed until it clears all seats of its jaw, or as far as it can."""
    own = _scaled(_germ_points(jaw, place.place, place.root_share), root_ratio)
    arch = stand.to_arch(own)
    ways = np.stack([-stand.axes[:, 0], -stand.axes[:, 1], -stand.axes[:, 2]])
    if place.place >= 6:  # nothing lies behind or beside: only back and down
        ways[1] = 0.0
    others = [
        (seat.stand, tooth_model(jaw, n, seat.place.root_share), n)
        for (j, n), seat in seats.items()
        if j == jaw and np.linalg.norm(seat.stand.origin_mm[:2] - stand.origin_mm[:2]) < 20.0
    ]
    best, best_room = np.zeros(3), -np.inf
    pushes = _pushes()
    for some in np.array_split(pushes, len(pushes) // AT_ONCE):
        moves = some @ ways
        room = _room_mm(arch, moves, others, root_ratio)
        at = int(np.argmax(room > 0.0)) if (room > 0.0).any() else int(np.argmax(room))
        if room[at] > best_room:
            best, best_room = moves[at], float(room[at])
        if best_room > 0.0:
            break
    return Stand(stand.axes, stand.origin_mm + best)


def _room_mm(
    arch: Array, moves: Array, others: list[tuple[Stand, ToothModel, int]], root_ratio: float
) -> Array:
    """What is left beyond the room wanted, for each of the moves (k,) [mm]."""
    points = (arch[None] + moves[:, None]).reshape(-1, 3)
    room = points[:, 0] - MIDLINE_MM
    for stand, model, place in others:
        there = stand.to_tooth(points)
        wanted, solid = CROWN_APART_MM, model.crown
        if place < FIRST_PRIMARY:
            there[:, 2] = np.where(there[:, 2] < 0.0, there[:, 2] / root_ratio, there[:, 2])
            wanted, solid = APART_MM, model.solid
        low, high = solid.lower_mm - wanted - 0.5, solid.upper_mm + wanted + 0.5
        near = np.all((there > low) & (there < high), axis=1)
        if near.any():
            room[near] = np.minimum(room[near], solid(there[near]) - wanted)
    return np.asarray(room.reshape(len(moves), -1).min(axis=1))
