"""Points on the teeth of any person, and how they lie to each other and to the bone."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.anatomy.teeth.tooth_measures import in_tooth_axes
from trainer.anatomy.teeth.tooth_shapes import tooth_model
from trainer.anatomy.teeth.tooth_tables import is_right, kind_of
from trainer.models.subject import Person

Array = NDArray[np.float64]

SPACING_MM = 0.7
DISSOLVED_MM = 0.1  # points of the whole tooth farther off what is left of it do not count


@cache
def _model_points(jaw: str, place: int, share: float) -> Array:
    return surface(tooth_model(jaw, place, share).solid, SPACING_MM).vertices_mm


def surface_points(tooth: Tooth) -> Array:
    """Points on the tooth's surface, (n, 3) in its jaw's frame [mm], by the rule of `Tooth`."""
    model = _model_points(*kind_of(tooth.fdi), tooth.root_share)
    crown, root = tooth.stretch
    own = model * crown
    own[:, 2] = np.where(model[:, 2] < 0.0, model[:, 2] * root, own[:, 2])
    if tooth.fdi // 10 % 2 == 0:
        own[:, 0] *= -1.0
    points = own @ tooth.rotation.T + tooth.origin_mm
    if tooth.resorbed:
        points = points[tooth.solid(points) < DISSOLVED_MM]
    return np.asarray(points)


def left_and_first(person: Person) -> list[Tooth]:
    """The left teeth, and the first right ones, which the left ones meet in the midline."""
    return [t for t in dentition(person) if not is_right(t.fdi) or t.fdi % 10 == 1]


def deepest_overlap_mm(person: Person) -> tuple[float, int, int]:
    """How deep any tooth reaches into another (negative: apart), and which two."""
    teeth = left_and_first(person)
    points = {t.fdi: surface_points(t) for t in teeth}
    worst = (-np.inf, 0, 0)
    for a in teeth:
        for b in teeth:
            if a.fdi == b.fdi:
                continue
            p = points[a.fdi]
            low, high = b.solid.lower_mm - 0.5, b.solid.upper_mm + 0.5
            near = p[np.all((p > low) & (p < high), axis=1)]
            if len(near):
                worst = max(worst, (-float(b.solid(near).min()), a.fdi, b.fdi))
    return worst


def in_bone(tooth: Tooth) -> Array:
    """The points of a tooth that belong into bone: a germ's all, else from 3 mm below the neck."""
    points = surface_points(tooth)
    if not tooth.erupted:
        return points
    return points[in_tooth_axes(tooth, points)[:, 2] < -3.0]


def barest_mm(bone: Shape, teeth: list[Tooth]) -> tuple[float, int]:
    """How far any root or germ comes out of the bone (negative: within), and which."""
    worst = (-np.inf, 0)
    for tooth in teeth:
        points = in_bone(tooth)
        if len(points):
            worst = max(worst, (float(bone(points).max()), tooth.fdi))
    return worst
