"""The mean man's pieces in another person: moved by the head's map, or carried unbent."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.organs import own_size
from trainer.anatomy.head.packing import Pieces
from trainer.anatomy.head.structures import hull_corners
from trainer.anatomy.people.warp import HeadWarp, head_warp
from trainer.models.meshes import DisplayPart
from trainer.models.structures import Structure
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Misses at which the way back has been found, and the most steps to it.
CLOSE_MM, ROUNDS = 1e-3, 12


def led_pieces(pieces: Pieces, person: Person) -> Pieces:
    """The pieces where the person has them.

    Samples weigh as much as the map swells the space round them; volumes and cells grow with that.
    """
    warp = head_warp(person)
    shown = [*pieces.fine, *pieces.coarse]
    structures = list(pieces.structures.values())
    carried = {s.id: own_size(s.id, person) for s in structures}
    bent = [s for s in structures if carried[s.id] is None]
    groups = [part.vertices_mm.astype(float) for part in shown]
    groups += [pieces.marks[s.id].vertices_mm.astype(float) for s in bent]
    groups += [s.hull_mm for s in bent] + [s.samples_mm for s in bent]
    ends = np.cumsum([len(g) for g in groups])[:-1]
    there, swollen = _there(warp, np.concatenate(groups))
    moved = iter(np.split(there, ends))
    led = [_at(part, next(moved)) for part in shown]
    ids = [s.id for s in bent]
    corners, hulls, samples = (
        dict(zip(ids, islice(moved, len(ids)), strict=True)) for _ in range(3)
    )
    shares = dict(zip(ids, np.split(swollen, ends)[-len(ids) :], strict=True))
    found: dict[str, Structure] = {}
    marks: dict[str, DisplayPart] = {}
    for s in structures:
        place, mark = carried[s.id], pieces.marks[s.id]
        if place is None:
            found[s.id] = _bent(s, hulls[s.id], samples[s.id], shares[s.id])
            marks[s.id] = _at(mark, corners[s.id])
            continue
        centre, scale = place
        goal = warp.to_subject(centre[None])[0]
        found[s.id] = _carried(s, centre, goal, scale)
        marks[s.id] = _at(mark, scale * (mark.vertices_mm - centre) + goal)
    count = len(pieces.fine)
    return Pieces(tuple(led[:count]), tuple(led[count:]), found, marks)


def _at(part: DisplayPart, corners_mm: Array) -> DisplayPart:
    return replace(part, vertices_mm=corners_mm.astype(np.float32))


def _bent(structure: Structure, hull_mm: Array, samples_mm: Array, share: Array) -> Structure:
    grown = structure.weights * share
    more = float(grown.sum() / structure.weights.sum())
    return replace(
        structure,
        samples_mm=samples_mm,
        weights=grown / grown.sum(),
        cell_mm=structure.cell_mm * more ** (1.0 / 3.0),
        hull_mm=hull_corners(hull_mm),
        volume_mm3=structure.volume_mm3 * more,
    )


def _carried(structure: Structure, centre_mm: Array, goal_mm: Array, scale: float) -> Structure:
    return replace(
        structure,
        samples_mm=scale * (structure.samples_mm - centre_mm) + goal_mm,
        cell_mm=structure.cell_mm * scale,
        hull_mm=hull_corners(scale * (structure.hull_mm - centre_mm) + goal_mm),
        volume_mm3=structure.volume_mm3 * scale**3,
    )


def _there(warp: HeadWarp, points_mm: Array) -> tuple[Array, Array]:
    """Where the mean man's points (n, 3) lie in the person, and how the space round them swells.

    As `HeadWarp.to_subject`, but only to `CLOSE_MM`, which is what is stored, with one slope for
    all steps of a point.
    """
    if warp.to_man is None or warp.from_man is None:
        return points_mm, np.ones(len(points_mm))
    there = warp.from_man(points_mm)
    found, slope = warp.to_man.with_slope(there)
    back = np.linalg.inv(slope)
    for _ in range(ROUNDS):
        off = points_mm - found
        there += np.einsum("nij,nj->ni", back, off)
        if np.abs(off).max(initial=0.0) < CLOSE_MM:
            break
        found = warp.to_man(there)
    return there, np.linalg.det(back)
