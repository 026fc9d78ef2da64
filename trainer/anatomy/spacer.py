"""A spacer between the teeth: how far it opens the jaw, and how far all teeth then stand apart.

Distances are between surface points of the crowns, about 0.15 mm apart and within 0.02 mm of the
implicit surface. So a distance is found a little too large, by less than 0.05 mm from 0.2 mm on.
Where crowns reach into each other the implicit distance tells how deep.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.spatial import cKDTree

from trainer.anatomy.jaw import GAP_RANGE_MM, JawPosition, gap_at, jaw_to_skull, mandible_to_skull
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.meshing import snapped, surface
from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.errors import NotFound, TrainerError
from trainer.geometry.transforms import apply, inverse
from trainer.models.frames import Frame, RigidTransform
from trainer.models.subject import Person

Array = NDArray[np.float64]

SPACING_MM = 0.3
# Only points of crowns this near to each other can be inside one another.
TOUCH_MM = 1.5
# A crown's points are looked at in about so many patches.
PATCHES = 120
# Where ridges stand in for teeth: landmarks where the teeth stood, by place from the midline.
LANDMARK_OF_PLACE = {1: "upper-incisor-edge", 6: "upper-first-molar-cusp"}


class NoToothThere(NotFound):
    """A spacer asked for where it would have nothing to rest on."""


class SpacerTooThick(TrainerError, ValueError):
    """A spacer that the jaw cannot open for."""


@dataclass(frozen=True, slots=True, eq=False)
class _Crown:
    """A crown and points of its surface: (n, 3), in patches (k, 3) about as large as ``reach_mm``.

    ``patch`` (n,) says which patch a point belongs to; no point of it is farther than its reach.
    """

    tooth: Tooth
    points_mm: Array
    tree: cKDTree
    patches_mm: Array
    patch: NDArray[np.intp]
    reach_mm: Array


def spacer_opening(person: Person, diameter_mm: float, place: int | tuple[int, ...]) -> float:
    """The hinge opening at which a round spacer just fits under the given upper teeth.

    Parameters
    ----------
    person : Person
        Whose jaws.
    diameter_mm : float
        What stays of the spacer's diameter when it is bitten on. A No. 2 cotton roll has 9.5 mm and
        squeezes to perhaps 5-8 (size: dental-supply article; squeeze from memory).
    place : int or tuple of int
        FDI number of the upper tooth, or teeth, that it lies under; with several (both sides) the
        jaw opens for the one that needs most.

    Returns
    -------
    float
        The opening at the incisors, as `mandible_to_skull` takes it [mm]: the clear distance from
        that crown to the lower teeth is then the diameter. 0 if the spacer fits without opening.

    Raises
    ------
    NoToothThere
        If the upper tooth is missing, or all lower teeth are, except at a central incisor and
        a first molar: there the spacer is taken to lie where the teeth stood, between the
        dentures or wax blocks that stand in for them.
    SpacerTooThick
        If the jaw would have to open by more than 45 mm.
    """
    places = (place,) if isinstance(place, int) else place
    if not places:
        raise NoToothThere("a spacer needs a place: the FDI number of an upper tooth")
    if not diameter_mm > 0.0:
        raise TrainerError(f"spacer of {diameter_mm:g} mm: must be above 0")
    return max(_opening_at(person.shape, diameter_mm, fdi) for fdi in places)


def gaps_at_teeth(person: Person, position: JawPosition) -> dict[int, float]:
    """Clear distance from every erupted tooth's crown to the nearest crown of the other jaw [mm].

    Keyed by FDI number, upper and lower; negative where crowns reach into each other. Empty when a
    jaw has no teeth. Errors as for `jaw_to_skull`.
    """
    jaw = jaw_to_skull(person, position)
    person = person.shape
    upper, lower = _jaws(person)
    if not upper or not lower:
        return {}
    found = {fdi: _clear(person, t, lower.values(), inverse(jaw)) for fdi, t in upper.items()}
    return found | {fdi: _clear(person, t, upper.values(), jaw) for fdi, t in lower.items()}


def _opening_at(person: Person, diameter_mm: float, fdi: int) -> float:
    upper, lower = _jaws(person)
    tooth = upper.get(fdi)

    def excess(gap_mm: float) -> float:
        if tooth is None or not lower:
            return gap_at(person, gap_mm, _ridge_point(person, fdi)) - diameter_mm
        back = inverse(mandible_to_skull(person, gap_mm))
        return _clear(person, tooth, lower.values(), back) - diameter_mm

    lowest, highest = GAP_RANGE_MM
    if excess(lowest) >= 0.0:
        return lowest
    most = excess(highest)
    if most < 0.0:
        raise SpacerTooThick(
            f"a spacer of {diameter_mm:g} mm does not fit under {fdi}: "
            f"at the widest opening {most + diameter_mm:.1f} mm are clear there"
        )
    return float(brentq(excess, lowest, highest, xtol=1e-3))


def _ridge_point(person: Person, fdi: int) -> Array:
    quadrant, place = divmod(fdi, 10)
    name = LANDMARK_OF_PLACE.get(place)
    if quadrant not in (1, 2) or name is None:
        upper, _ = _jaws(person)
        there = ", ".join(map(str, upper)) or "none"
        raise NoToothThere(
            f"no upper tooth {fdi} and lower teeth for a spacer to lie between; upper teeth: "
            f"{there}. On ridges name 11, 21, 16 or 26"
        )
    marks = starter_landmarks(person)
    return marks[name if place == 1 else f"{name}-{'right' if quadrant == 1 else 'left'}"]


def _clear(
    person: Person, tooth: Tooth, others: Iterable[Tooth], to_others: RigidTransform
) -> float:
    """Clear distance of a crown to the other jaw's, whose frame the transform leads to [mm]."""
    crown = _crown(person, tooth.fdi)
    patches = np.ascontiguousarray(apply(to_others, crown.patches_mm))
    by_nearness = sorted(((_off_box(t, patches), t) for t in others), key=lambda pair: pair[0])
    best = np.inf
    for at_least, other in by_nearness:
        if at_least - crown.reach_mm.max() > max(best, TOUCH_MM):
            break
        best = min(best, _between(crown, _crown(person, other.fdi), to_others, patches, best))
    return float(best)


def _off_box(tooth: Tooth, points_mm: Array) -> float:
    """How far the nearest of the points is from a crown's box [mm]."""
    low, high = tooth.crown.lower_mm, tooth.crown.upper_mm
    off = np.maximum(np.maximum(low - points_mm, points_mm - high), 0.0)
    return float(np.sqrt(np.einsum("ij,ij->i", off, off).min()))


def _between(
    one: _Crown, other: _Crown, to_other: RigidTransform, patches_mm: Array, best_mm: float
) -> float:
    """Clear distance of two crowns [mm], or any value above ``best_mm`` if it is more."""
    away, _ = other.tree.query(patches_mm)
    bound = max(min(float(away.min()), best_mm), TOUCH_MM)
    wanted = (away - one.reach_mm <= bound)[one.patch]
    if not wanted.any():
        return bound + 1.0
    points = np.ascontiguousarray(apply(to_other, one.points_mm[wanted]))
    away, _ = other.tree.query(points, distance_upper_bound=bound + 1e-6)
    near = points[away < TOUCH_MM]
    if len(near):
        deepest = float(other.tooth.crown(near).min())
        if deepest < 0.0:
            return deepest
    return float(away.min())


def _jaws(person: Person) -> tuple[dict[int, Tooth], dict[int, Tooth]]:
    """The erupted teeth of the upper and the lower jaw, by FDI number."""
    teeth = [t for t in dentition(person) if t.erupted]
    upper = {t.fdi: t for t in teeth if t.frame is Frame.SKULL}
    return upper, {t.fdi: t for t in teeth if t.frame is Frame.MANDIBLE}


@lru_cache(maxsize=128)
def _crown(person: Person, fdi: int) -> _Crown:
    """Corners and middles of the crown's surface triangles, in patches."""
    tooth = next(t for t in dentition(person) if t.fdi == fdi)
    mesh = snapped(surface(tooth.crown, SPACING_MM), tooth.crown, SPACING_MM / 2.0)
    points = np.concatenate([mesh.vertices_mm, mesh.vertices_mm[mesh.faces].mean(axis=1)])
    patches = points[:: len(points) // PATCHES]
    away, patch = cKDTree(patches).query(points)
    reach = np.zeros(len(patches))
    np.maximum.at(reach, patch, away)
    return _Crown(tooth, points, cKDTree(points), patches, patch, reach)
