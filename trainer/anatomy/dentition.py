"""The 32 permanent teeth in place, in the subject's own space with the teeth together.

Tooth sizes and arches are the same for man and woman (the size table has one set); only the place
of the arches in the skull follows the subject's landmarks.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.arch_form import left_arches
from trainer.anatomy.implicit import Shape, mirrored, placed
from trainer.anatomy.landmarks import starter_landmarks
from trainer.anatomy.tooth_shapes import tooth_model
from trainer.anatomy.tooth_tables import ALL_TEETH, ToothSize, is_right, jaw_of
from trainer.models.frames import Frame
from trainer.models.subject import Person

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Root:
    """A root: middle line and thickness [mm], in the jaw's frame.

    ``axis_mm`` (n, 3) runs from the neck to the apex; ``radii_mm`` (n,) are those of circles as
    large as the sections, ``half_mm`` (n, 2) the half widths mesiodistally and buccolingually.
    ``name`` is empty for a single root.
    """

    name: str
    axis_mm: Array
    radii_mm: Array
    half_mm: Array


@dataclass(frozen=True, slots=True)
class Tooth:
    """A tooth in its jaw's frame [mm].

    ``frame`` is the skull for upper, the mandible for lower teeth; with the teeth together both
    have equal coordinates. The columns of ``rotation`` are the tooth's own axes: second buccal,
    third occlusal, first mesial in quadrants 1 and 3 and distal in 2 and 4 (so that it is a proper
    rotation). ``origin_mm`` is the middle of the neck. ``solid`` is crown and roots together,
    ``pulp`` lies within it.
    """

    fdi: int
    frame: Frame
    rotation: Array
    origin_mm: Array
    size: ToothSize
    roots: tuple[Root, ...]
    crown: Shape
    solid: Shape
    pulp: Shape


@dataclass(frozen=True, slots=True)
class OcclusalPlane:
    """The bisected occlusal plane: ``origin_mm`` in the midline between the incisal edges; the
    columns of ``rotation`` are left, back along the plane, up from it."""

    rotation: Array
    origin_mm: Array


def occlusal_plane(person: Person) -> OcclusalPlane:
    """The plane from between the incisal edges to the upper first-molar cusps, skull frame [mm]."""
    marks = starter_landmarks(person)
    front = (marks["upper-incisor-edge"] + marks["lower-incisor-edge"]) / 2
    molars = (marks["upper-first-molar-cusp-left"] + marks["upper-first-molar-cusp-right"]) / 2
    back = molars - front
    back /= np.linalg.norm(back)
    left = np.array([1.0, 0.0, 0.0])
    return OcclusalPlane(np.column_stack([left, back, np.cross(left, back)]), front)


def _tooth(fdi: int, plane: OcclusalPlane) -> Tooth:
    jaw, place = jaw_of(fdi), fdi % 10
    model, stand = tooth_model(jaw, place), left_arches()[jaw, place]
    flip = np.array([-1.0 if is_right(fdi) else 1.0, 1.0, 1.0])
    axes = plane.rotation @ (flip[:, None] * stand.axes)  # mesial, buccal, occlusal
    origin = plane.rotation @ (flip * stand.origin_mm) + plane.origin_mm
    roots = tuple(
        Root(r.name, r.axis_mm @ axes.T + origin, r.radii_mm, r.half_mm) for r in model.roots
    )
    shapes = [model.crown, model.solid, model.pulp]
    if np.linalg.det(axes) < 0:
        axes = axes * [-1.0, 1.0, 1.0]
        shapes = [mirrored(s) for s in shapes]
    crown, solid, pulp = (placed(s, axes, origin) for s in shapes)
    frame = Frame.SKULL if jaw == "upper" else Frame.MANDIBLE
    return Tooth(fdi, frame, axes, origin, model.size, roots, crown, solid, pulp)


@lru_cache(maxsize=2)
def dentition(person: Person) -> tuple[Tooth, ...]:
    """The 32 teeth in the order 11 to 18, 21 to 28, 31 to 38, 41 to 48."""
    plane = occlusal_plane(person)
    return tuple(_tooth(fdi, plane) for fdi in ALL_TEETH)
