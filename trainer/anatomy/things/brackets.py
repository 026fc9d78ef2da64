"""A fixed appliance: brackets and molar tubes bonded to the outer faces, and the wire in them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import cut, grow, smooth_curve, union
from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.teeth.tooth_tables import is_primary
from trainer.anatomy.things.on_tooth import (
    from_own,
    is_molar,
    jaw_of,
    last_inside,
    surface_normal,
    teeth_of,
)
from trainer.anatomy.things.thing import Block, Rod, Thing, shape_of, surfaces_of
from trainer.models.frames import Frame
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

# Half sizes along the arch, out from the tooth, up [mm]: base, wings, tube. Brackets are about 3 to
# 3.5 square, 2 to 2.5 deep, tubes 4 long. From memory: orthodontic trade.
BASE_HALF_MM, WING_HALF_MM, TUBE_HALF_MM = (1.6, 0.75, 1.6), (1.5, 0.6, 0.5), (2.0, 0.95, 1.1)
# The base reaches into the tooth by this before the tooth is taken out of it, so that it fits.
INTO_TOOTH_MM = 0.9
# Middles of wings and wire off the tooth's face, and of the wings above and below the wire: the
# slot between them is 0.56 high.
WING_OFF_MM, WIRE_OFF_MM, WING_UP_MM = 1.2, 1.25, 0.78
# Round wire, 0.018 inch (from memory: slots are 0.018 or 0.022 inch high).
WIRE_MM, WIRE_PLAY_MM, WIRE_POINTS = 0.46, 0.03, 60
WIRE_END_MM = 3.0
# Narrow crowns get narrower brackets: at most this share of the crown's width.
WIDTH_SHARE = 0.62
# Lower ones stand off the upper teeth that close over them: how far at least, and how far down the
# bracket may be moved for that from the middle of the crown.
CLEAR_MM, DOWN_STEP_MM, MOST_DOWN_MM = 0.3, 0.25, 2.0
LAST_BONDED = 7


@dataclass(frozen=True, slots=True)
class _Seat:
    """Where a bracket sits: the point on the tooth's face; columns along the arch, out, up."""

    tooth: Tooth
    point_mm: Array
    axes: Array


def bonded_teeth(person: Person, jaw: Jaw) -> tuple[int, ...]:
    """The teeth of the jaw that carry a bracket or tube, from the right end to the left."""
    standing = [
        t.fdi
        for t in teeth_of(person).values()
        if jaw_of(t.fdi) is jaw
        and t.erupted
        and not is_primary(t.fdi)
        and t.fdi % 10 <= LAST_BONDED
    ]
    right = 1 if jaw is Jaw.UPPER else 4
    return tuple(sorted(standing, key=lambda f: -(f % 10) if f // 10 == right else f % 10))


def bracket_things(person: Person, jaw: Jaw) -> tuple[Thing, ...]:
    """Brackets, tubes and arch wire of a jaw; nothing where no permanent tooth stands."""
    teeth = teeth_of(person)
    seats = [_seat(teeth, teeth[f]) for f in bonded_teeth(person, jaw)]
    if not seats:
        return ()
    frame = seats[0].tooth.frame
    wire = _wire(seats)
    things = [_bracket(s, wire, len(seats) > 1) for s in seats]
    if len(seats) > 1:
        solids = union(*(s.tooth.solid for s in seats))
        things.append(
            Thing(f"arch-wire-{jaw}", f"arch wire of the {jaw} jaw", frame,
                  cut(wire.shape, solids), "steel", surfaces=surfaces_of([wire], (5, 3), (1, 3)))
        )  # fmt: skip
    return tuple(things)


def _seat(teeth: dict[int, Tooth], tooth: Tooth) -> _Seat:
    middle = tooth.size.crown_mm / 2.0
    upper = tooth.frame is Frame.SKULL
    others = [] if upper else [t for t in teeth.values() if t.frame is Frame.SKULL and t.erupted]
    for down in np.arange(0.0, MOST_DOWN_MM, DOWN_STEP_MM):
        seat = _at_height(tooth, max(middle - down, 1.5))
        corners = np.vstack([_corners(b) for b in _blocks(seat)])
        if all(t.crown(corners).min() > CLEAR_MM for t in others if _near(t, seat)):
            break
    return seat


def _near(tooth: Tooth, seat: _Seat) -> bool:
    return bool(np.linalg.norm(tooth.origin_mm - seat.point_mm) < 20.0)


def _corners(block: Block) -> Array:
    grid = np.stack(np.meshgrid(*[np.linspace(-1, 1, 5)] * 3, indexing="ij"), -1).reshape(-1, 3)
    return np.asarray((grid * block.half_mm) @ block.rotation.T + block.center_mm)


def _at_height(tooth: Tooth, up_mm: float) -> _Seat:
    out = last_inside(tooth.solid, tooth, [[0.0, 0.0, up_mm]], [0.0, 1.0, 0.0])[0]
    point = from_own(tooth, [[0.0, out, up_mm]])
    normal = surface_normal(tooth.solid, point)[0]
    along = tooth.rotation[:, 0] - (tooth.rotation[:, 0] @ normal) * normal
    along /= np.linalg.norm(along)
    return _Seat(tooth, point[0], np.column_stack([along, normal, np.cross(along, normal)]))


def _blocks(seat: _Seat) -> list[Block]:
    """Base and wings, or base and tube, before tooth and wire are taken out."""
    narrow = min(1.0, WIDTH_SHARE * seat.tooth.size.md_mm / (2.0 * BASE_HALF_MM[0]))

    def block(half: tuple[float, float, float], off_mm: float, up_mm: float) -> Block:
        at = seat.point_mm + seat.axes @ np.array([0.0, off_mm, up_mm])
        return Block(at, (half[0] * narrow, half[1], half[2]), seat.axes)

    base = block(BASE_HALF_MM, BASE_HALF_MM[1] - INTO_TOOTH_MM, 0.0)
    if is_molar(seat.tooth.fdi):
        return [base, block(TUBE_HALF_MM, TUBE_HALF_MM[1] + 0.3, 0.0)]
    return [base, *(block(WING_HALF_MM, WING_OFF_MM, s * WING_UP_MM) for s in (1.0, -1.0))]


def _bracket(seat: _Seat, wire: Rod, wired: bool) -> Thing:
    fdi = seat.tooth.fdi
    kind = "tube" if is_molar(fdi) else "bracket"
    blocks = _blocks(seat)
    tools = [seat.tooth.solid, *([grow(wire.shape, WIRE_PLAY_MM)] if wired else [])]
    shape = cut(shape_of(blocks), *tools)
    return Thing(
        f"{kind}-{fdi}", f"{kind} on tooth {fdi}", seat.tooth.frame, shape, "steel", tooth=fdi,
        surfaces=(surfaces_of(blocks)[0], _whole(blocks).mesh()),
    )  # fmt: skip


def _whole(blocks: list[Block]) -> Block:
    """One block about as large as all of them."""
    corners = np.vstack([_corners(b) for b in blocks])
    axes = blocks[0].rotation
    own = corners @ axes
    low, high = own.min(axis=0), own.max(axis=0)
    half = (high - low) / 2.0
    return Block(
        axes @ ((low + high) / 2.0), (float(half[0]), float(half[1]), float(half[2])), axes
    )


def _wire(seats: list[_Seat]) -> Rod:
    """Through the middles of all brackets, a little beyond the last ones."""
    through = np.array([s.point_mm + WIRE_OFF_MM * s.axes[:, 1] for s in seats])
    if len(seats) > 1:
        ends = []
        for a, b in ((0, 1), (-1, -2)):
            way = through[a] - through[b]
            ends.append(through[a] + WIRE_END_MM * way / np.linalg.norm(way))
        through = np.vstack([ends[0], through, ends[1]])
        through = smooth_curve(through, WIRE_POINTS)
    return Rod(through, WIRE_MM / 2.0)
