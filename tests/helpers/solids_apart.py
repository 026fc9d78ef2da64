"""How deep the solids of any person reach into each other.

Surfaces that follow the head's map are sampled once, in the mean man, and led to the person; the
depth at a point of one surface is how far inside the other solid it lies. Of two solids that
overlap like lenses this is the whole thickness of what they share.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, cached_property

import numpy as np
from helpers.mouths import surface_points
from numpy.typing import NDArray

from trainer.anatomy.bones.canal import CANAL_DIAMETER_MM, canal_path
from trainer.anatomy.bones.cranium import cranium_structures
from trainer.anatomy.bones.mandible import mandible_structures
from trainer.anatomy.head.organs import in_person, own_size
from trainer.anatomy.head.reference import reference
from trainer.anatomy.head.solids import Solids
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.implicit import Shape, cut, tube
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.soft.inner_ear import MESH_STEP_MM, inner_ear
from trainer.anatomy.teeth.dentition import Tooth, teeth_of
from trainer.models.frames import Side
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

STEP_MM = {"cranium": 1.5, "jaw-body": 1.2, "cervical-column": 1.2, "hyoid": 1.0, "sinus": 1.2}
KEPT_MM = 0.3  # a sampled surface lies so near to the solid's own
FAR_MM = -99.0  # the depth of what is nowhere near


@cache
def _man_points(name: str) -> Array:
    """Points (n, 3) on the left half of a named solid's surface in the mean man [mm]."""
    points = surface(reference().fields[name].shape(), STEP_MM[name]).vertices_mm
    return np.asarray(points[points[:, 0] >= 0.0])


@cache
def _own_points(key: str) -> Array:
    """Points (n, 3) on an organ of own size, where it stands in the mean man [mm]."""
    step = MESH_STEP_MM.get(key, 0.8)
    return surface(_own_shapes()[key], step).vertices_mm


@cache
def _own_shapes() -> dict[str, Shape]:
    return cranium_structures() | inner_ear()


def depth_mm(points_mm: Array, solid: Shape) -> float:
    """How deep the deepest of the points (n, 3) lies in the solid; negative: all outside [mm]."""
    low, high = solid.lower_mm - 1.0, solid.upper_mm + 1.0
    near = points_mm[np.all((points_mm > low) & (points_mm < high), axis=1)]
    return -float(solid(near).min()) if len(near) else FAR_MM


def _kept(points_mm: Array, solid: Shape) -> Array:
    return points_mm[solid(points_mm) < KEPT_MM]


class Apart:
    """The solids of one person, teeth together: the left ones, and both sides as solids."""

    def __init__(self, person: Person) -> None:
        self.person = person
        self.solids = Solids(person, reference())
        self._warp = head_warp(person)

    def points(self, name: str) -> Array:
        """Points on a named solid's surface (n, 3) [mm]."""
        return self._warp.to_subject(_man_points(name))

    @cached_property
    def skull(self) -> Shape:
        """The skull's bone."""
        return self.solids.skull()

    @cached_property
    def mandible(self) -> Shape:
        """The lower jaw's bone."""
        return self.solids.mandible()

    @cached_property
    def skull_points(self) -> Array:
        """Points on the skull, left out where it has given way."""
        return _kept(self.points("cranium"), self.skull)

    @cached_property
    def lower_points(self) -> Array:
        """Points on plate and head of the lower jaw, left out where it has given way."""
        head = surface(mandible_structures(self.person)["condyle-left"], 0.8).vertices_mm
        return _kept(np.vstack([self.points("jaw-body"), head]), self.mandible)

    def of(self, name: str) -> Shape:
        """A named solid."""
        return self.solids.named(name)

    def organ(self, key: str) -> tuple[Shape, Array]:
        """An organ of own size and points on it."""
        place = own_size(key, self.person)
        assert place is not None, key
        here, scale = place
        there = self._warp.to_subject(here[None])[0]
        shape = in_person(key, _own_shapes()[key], self.person, self._warp)
        return shape, scale * (_own_points(key) - here) + there

    def teeth(self, jaw: Jaw) -> list[Tooth]:
        """The left teeth of a jaw."""
        return [t for t in teeth_of(self.person, jaw) if t.fdi // 10 in (2, 3, 6, 7)]

    def depths(self) -> Iterator[tuple[str, float]]:
        """Every pair of solids that could meet, and how deep the one is in the other [mm]."""
        column, hyoid = self.of("cervical-column"), self.of("hyoid")
        bones = {
            "lower jaw": (self.mandible, self.lower_points),
            "skull": (self.skull, self.skull_points),
            "vertebrae": (column, self.points("cervical-column")),
            "hyoid": (hyoid, self.points("hyoid")),
        }
        for one, (shape, _) in bones.items():
            for other, (_, points) in bones.items():
                if one != other:
                    yield f"{other} in {one}", depth_mm(points, shape)
        globe, points = self.organ("globe-left")
        yield "eyeball in skull", depth_mm(points, self.skull)
        yield "skull in eyeball", depth_mm(self.skull_points, globe)
        ossicles = self.organ("ossicles-left")[1]
        yield "ossicles in skull", depth_mm(ossicles, self.skull)
        yield "ossicles in inner ear", depth_mm(ossicles, self.organ("inner-ear-left")[0])
        yield (
            "inner ear in brain",
            depth_mm(self.organ("inner-ear-left")[1], self.of("brain-space")),
        )
        ways = tube(canal_path(self.person, Side.LEFT), CANAL_DIAMETER_MM / 2.0)
        for tooth in self.teeth(Jaw.LOWER):
            yield "lower teeth in canal", depth_mm(surface_points(tooth), ways)
        # bone and teeth come before air, as the phantom paints: what they reach into is no sinus
        sinus = cut(self.of("sinus"), self.solids.process(Jaw.UPPER))
        for jaw, opposite in ((Jaw.UPPER, self.mandible), (Jaw.LOWER, self.skull)):
            for tooth in self.teeth(jaw):
                points = surface_points(tooth)
                yield f"{jaw} teeth in the other jaw", depth_mm(points, opposite)
                if jaw is Jaw.UPPER:
                    yield "upper teeth in sinus", depth_mm(points, sinus)
