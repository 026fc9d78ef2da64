"""A round rod along a curve as a structure, straight from its course."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.structures import NamedSolid, hull_corners
from trainer.anatomy.shapes.meshing import Mesh
from trainer.anatomy.things.thing_surfaces import rod_mesh
from trainer.models.structures import Structure

Array = NDArray[np.float64]

# Slices along a rod, and pieces of equal area in each: one in the middle, the others round it.
SLICES, ROUND = 76, 6
# Corners round the rod where its hull is looked for.
HULL_SIDES = 16
# Rings of a round end, in radii beyond the end of the course.
END_RINGS = (0.5, 0.866, 0.985)


def rod_surface(course_mm: Array, radius_mm: float, rings: int, sides: int) -> Mesh:
    """A closed surface round the course (n, 3) with round ends; encloses what the rod does."""
    along = _lengths(course_mm)
    ends = np.array(END_RINGS) * radius_mm
    at = np.r_[-ends[::-1], np.linspace(0.0, along[-1], rings), along[-1] + ends]
    # a polygon as large as the circle
    even = np.sqrt(2.0 * np.pi / (sides * np.sin(2.0 * np.pi / sides)))
    return rod_mesh(_at(course_mm, at), even * _radii(at, along[-1], radius_mm), sides)


def rod_structure(solid: NamedSolid, course_mm: Array, radius_mm: float) -> Structure:
    """The rod of ``radius_mm`` with round ends along the course (n, 3) [mm].

    ``solid`` names it; its shape is not looked at.
    """
    along = _lengths(course_mm)
    whole = along[-1] + 2.0 * radius_mm
    thick = whole / SLICES
    at = -radius_mm + (np.arange(SLICES) + 0.5) * thick
    radii = _radii(at, along[-1], radius_mm)
    middles = _at(course_mm, at)
    # middle piece and ring of equal shares; a ring piece's centroid lies this far out
    pieces = ROUND + 1
    inner = 1.0 / np.sqrt(pieces)
    half = np.pi / ROUND
    out = 2.0 / 3.0 * (1.0 - inner**3) / (1.0 - inner**2) * np.sin(half) / half
    ring = rod_mesh(middles, out * radii, ROUND).vertices_mm[: SLICES * ROUND]
    samples = np.concatenate([middles, ring])
    share = np.concatenate([radii**2, np.repeat(radii**2, ROUND)])
    volume = np.pi * radius_mm**2 * (along[-1] + 4.0 / 3.0 * radius_mm)
    hull = rod_surface(course_mm, radius_mm, SLICES // 2, HULL_SIDES).vertices_mm
    return Structure(
        id=solid.id,
        name=solid.name,
        kind=solid.kind,
        side=solid.side,
        frame=solid.frame,
        samples_mm=samples,
        weights=share / share.sum(),
        cell_mm=float((volume / len(samples)) ** (1.0 / 3.0)),
        # rings stand askew where the course bends sharply: the samples must be held all the same
        hull_mm=hull_corners(np.concatenate([hull, samples])),
        volume_mm3=float(volume),
    )


def _lengths(course_mm: Array) -> Array:
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(course_mm, axis=0), axis=1))]


def _at(course_mm: Array, at_mm: Array) -> Array:
    """Points at lengths along the course, which runs on straight beyond its ends."""
    along = _lengths(course_mm)
    inside = np.clip(at_mm, 0.0, along[-1])
    points = np.column_stack([np.interp(inside, along, c) for c in course_mm.T])
    first = (course_mm[1] - course_mm[0]) / (along[1] - along[0])
    last = (course_mm[-1] - course_mm[-2]) / (along[-1] - along[-2])
    before, beyond = np.minimum(at_mm, 0.0), np.maximum(at_mm - along[-1], 0.0)
    return np.asarray(points + before[:, None] * first + beyond[:, None] * last)


def _radii(at_mm: Array, length_mm: float, radius_mm: float) -> Array:
    out = np.maximum(np.maximum(-at_mm, at_mm - length_mm), 0.0)
    return np.sqrt(np.maximum(radius_mm**2 - out**2, 0.0))
