"""What a person carries in the mouth and on the head: one solid of one material."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import Shape, box, sphere, tube, union
from trainer.anatomy.shapes.meshing import Mesh
from trainer.anatomy.things.thing_surfaces import box_mesh, joined, rod_mesh
from trainer.models.frames import Frame

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Thing:
    """A repair, an appliance or a worn thing.

    ``shape`` lies in ``frame`` [mm], teeth together. ``material`` is a name in
    `materials.MATERIALS`. ``removable``: the person can take it off. ``tooth`` is the FDI number
    of the tooth it sits on or stands in for.

    For the screen: ``surfaces`` are a fine and a coarse closed mesh where those are simpler made
    than found from the shape, ``outside`` is a simpler solid of the same look.
    """

    id: str
    name: str
    frame: Frame
    shape: Shape
    material: str
    removable: bool = False
    tooth: int | None = None
    surfaces: tuple[Mesh, Mesh] | None = None
    outside: Shape | None = None


@dataclass(frozen=True, slots=True)
class Rod:
    """A round rod along corners ``points_mm`` (n, 3) of radius ``radii_mm`` (n,) or one number."""

    points_mm: Array
    radii_mm: float | Array
    closed: bool = False

    @property
    def shape(self) -> Shape:
        """The rod as a solid."""
        radii = np.broadcast_to(np.asarray(self.radii_mm, float), (len(self.points_mm),))
        if not self.closed:
            return tube(self.points_mm, radii)
        return tube(np.vstack([self.points_mm, self.points_mm[:1]]), np.r_[radii, radii[0]])

    def mesh(self, sides: int, every: int = 1) -> Mesh:
        """The rod's surface with ``sides`` faces round it, at every so many-th corner."""
        keep = np.arange(0, len(self.points_mm), every)
        if not self.closed and keep[-1] != len(self.points_mm) - 1:
            keep = np.r_[keep, len(self.points_mm) - 1]
        radii = np.broadcast_to(np.asarray(self.radii_mm, float), (len(self.points_mm),))
        return rod_mesh(self.points_mm[keep], radii[keep], sides, self.closed)


@dataclass(frozen=True, slots=True)
class Block:
    """A box; the columns of ``rotation`` (3x3) are its edges' directions."""

    center_mm: Array
    half_mm: tuple[float, float, float]
    rotation: Array
    round_mm: float = 0.0

    @property
    def shape(self) -> Shape:
        """The block as a solid."""
        return box(self.center_mm, self.half_mm, self.rotation, self.round_mm)

    def mesh(self) -> Mesh:
        """The block's twelve triangles."""
        return box_mesh(self.center_mm, self.half_mm, self.rotation)


@dataclass(frozen=True, slots=True)
class Disc:
    """A flat round disc about ``axis`` (3,), ``half_mm`` thick either way."""

    center_mm: Array
    axis: Array
    radius_mm: float
    half_mm: float

    @property
    def shape(self) -> Shape:
        """The disc as a solid."""
        way = self.axis / np.linalg.norm(self.axis)

        def distance(p: Array) -> Array:
            q = p - self.center_mm
            up = q @ way
            wide = np.linalg.norm(q - up[:, None] * way, axis=1) - self.radius_mm
            return np.maximum(wide, np.abs(up) - self.half_mm)

        reach = self.radius_mm * np.sqrt(1.0 - way**2) + self.half_mm * np.abs(way)
        return Shape(distance, self.center_mm - reach, self.center_mm + reach)

    def mesh(self, sides: int) -> Mesh:
        """The disc's surface with ``sides`` corners round it."""
        step = self.half_mm * self.axis / np.linalg.norm(self.axis)
        ends = np.array([self.center_mm - step, self.center_mm + step])
        return rod_mesh(ends, np.full(2, self.radius_mm), sides)


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball."""

    center_mm: Array
    radius_mm: float

    @property
    def shape(self) -> Shape:
        """The ball as a solid."""
        return sphere(self.center_mm, self.radius_mm)

    def mesh(self, sides: int) -> Mesh:
        """The ball's surface by ``sides`` meridians."""
        angle = np.linspace(0.12, np.pi - 0.12, max(sides - 1, 4))
        along = -np.outer(np.cos(angle), [0.0, 0.0, self.radius_mm])
        return rod_mesh(self.center_mm + along, self.radius_mm * np.sin(angle), sides)


Part = Rod | Block | Disc | Ball


def shape_of(parts: Sequence[Part]) -> Shape:
    """All the parts as one solid."""
    return union(*(p.shape for p in parts))


def surfaces_of(
    parts: Sequence[Part], sides: tuple[int, int] = (8, 4), every: tuple[int, int] = (1, 3)
) -> tuple[Mesh, Mesh]:
    """Fine and coarse surface of the parts: faces round rods, and every so many-th corner kept.

    Parts that run into each other stay closed surfaces of their own.
    """

    def surface(level: int) -> Mesh:
        n, step = sides[level], every[level]
        meshes = []
        for part in parts:
            if isinstance(part, Rod):
                meshes.append(part.mesh(n, step))
            elif isinstance(part, Block):
                meshes.append(part.mesh())
            else:
                meshes.append(part.mesh(n + 2))
        return joined(meshes)

    return surface(0), surface(1)
