"""Rolls and blocks in the beam: how far each ray runs in them, from closed forms.

For what lies between the teeth or is held to the head: too small and too smooth for voxels.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trainer.errors import FrameError, TrainerError
from trainer.geometry.transforms import apply, inverse
from trainer.models.frames import Frame, RigidTransform
from trainer.models.materials import Material
from trainer.physics.views import ViewGeometry, project_point

Array = NDArray[np.float64]
Picture = NDArray[np.float32]

_CORNERS = np.stack(np.meshgrid(*[[-1.0, 1.0]] * 3, indexing="ij"), axis=-1).reshape(8, 3)


@dataclass(frozen=True, slots=True)
class Roll:
    """A straight round roll with flat ends at ``ends_mm`` (2, 3), which moves with ``frame``.

    Raises
    ------
    TrainerError
        If it has no length or no thickness.
    """

    frame: Frame
    ends_mm: Array
    radius_mm: float
    material: Material

    def __post_init__(self) -> None:
        length = float(np.linalg.norm(self.ends_mm[1] - self.ends_mm[0]))
        if not (length > 0.0 and self.radius_mm > 0.0):
            raise TrainerError(f"a roll {length:g} mm long, {self.radius_mm:g} mm in radius")

    @property
    def middle_mm(self) -> Array:
        """Its middle, (3,)."""
        return np.asarray(self.ends_mm.mean(axis=0))

    @property
    def reach_mm(self) -> float:
        """No point of it is farther from its middle."""
        return float(np.hypot(np.linalg.norm(self.ends_mm[1] - self.middle_mm), self.radius_mm))

    def crossings(self, start_mm: Array, ways_mm: Array) -> tuple[Array, Array]:
        """Shares of each way (n, 3) at which it enters and leaves; it misses if not in order."""
        along = self.ends_mm[1] - self.ends_mm[0]
        length = np.linalg.norm(along)
        along = along / length
        start = start_mm - self.ends_mm[0]
        enter, leave = _between(start @ along, ways_mm @ along, 0.0, float(length))
        across = ways_mm - (ways_mm @ along)[:, None] * along
        beside = start - (start @ along) * along
        # |beside + t across| = radius
        a = np.einsum("ij,ij->i", across, across)
        b = across @ beside
        c = float(beside @ beside) - self.radius_mm**2
        level = a < 1e-12 * np.einsum("ij,ij->i", ways_mm, ways_mm)  # along the roll
        a = np.where(level, 1.0, a)
        square = b * b - a * c
        root = np.sqrt(np.maximum(square, 0.0))
        always = np.inf if c <= 0.0 else -np.inf
        first = np.where(level, -always, np.where(square > 0.0, (-b - root) / a, np.inf))
        last = np.where(level, always, np.where(square > 0.0, (-b + root) / a, -np.inf))
        return np.maximum(enter, first), np.minimum(leave, last)


@dataclass(frozen=True, slots=True)
class Block:
    """A box about ``middle_mm`` (3,), which moves with ``frame``.

    ``half_mm`` (3,) are half its edges, the columns of ``axes`` (3, 3) their directions.

    Raises
    ------
    TrainerError
        If an edge has no length.
    """

    frame: Frame
    middle_mm: Array
    half_mm: Array
    axes: Array
    material: Material

    def __post_init__(self) -> None:
        if not (self.half_mm > 0.0).all():
            raise TrainerError(f"a block with half edges of {self.half_mm.tolist()} mm")

    @property
    def reach_mm(self) -> float:
        """No point of it is farther from its middle."""
        return float(np.linalg.norm(self.half_mm))

    def crossings(self, start_mm: Array, ways_mm: Array) -> tuple[Array, Array]:
        """Shares of each way (n, 3) at which it enters and leaves; it misses if not in order."""
        start, ways = (start_mm - self.middle_mm) @ self.axes, ways_mm @ self.axes
        enter, leave = np.full(len(ways), -np.inf), np.full(len(ways), np.inf)
        for axis, half in enumerate(self.half_mm.tolist()):
            first, last = _between(start[axis], ways[:, axis], -half, half)
            enter, leave = np.maximum(enter, first), np.minimum(leave, last)
        return enter, leave


Solid = Roll | Block


def solid_lengths(solid: Solid, view: ViewGeometry, to_solid: RigidTransform) -> Picture:
    """Length of each ray in the solid between source and pixel centre [mm], (rows, columns).

    ``to_solid`` leads from the view's frame to the solid's.

    Raises
    ------
    FrameError
        If it does not.
    """
    if to_solid.source is not view.frame or to_solid.target is not solid.frame:
        raise FrameError(
            f"needs {view.frame}→{solid.frame}, got {to_solid.source}→{to_solid.target}"
        )
    lengths = np.zeros(view.shape, np.float32)
    rows, columns = _shadow(solid, view, to_solid)
    part = replace(
        view,
        first_pixel_mm=view.first_pixel_mm
        + rows.start * view.row_step_mm
        + columns.start * view.column_step_mm,
        shape=(rows.stop - rows.start, columns.stop - columns.start),
    )
    ways = (part.pixel_centres_mm() - view.source_mm).reshape(-1, 3) @ to_solid.rotation.T
    enter, leave = solid.crossings(apply(to_solid, view.source_mm), ways)
    inside = np.clip(np.minimum(leave, 1.0) - np.maximum(enter, 0.0), 0.0, None)
    lengths[rows, columns] = (inside * np.linalg.norm(ways, axis=1)).reshape(part.shape)
    return lengths


def _between(start: float, ways: Array, low: float, high: float) -> tuple[Array, Array]:
    """Shares of ways at which a coordinate enters and leaves low to high."""
    level = np.abs(ways) < 1e-12
    safe = np.where(level, 1.0, ways)
    a, b = (low - start) / safe, (high - start) / safe
    always = np.inf if low <= start <= high else -np.inf
    return np.where(level, -always, np.minimum(a, b)), np.where(level, always, np.maximum(a, b))


def _shadow(solid: Solid, view: ViewGeometry, to_solid: RigidTransform) -> tuple[slice, slice]:
    """Rows and columns that its shadow cannot leave; all where it reaches behind the source."""
    middle = apply(inverse(to_solid), solid.middle_mm)
    places = project_point(view, middle + solid.reach_mm * _CORNERS)
    if np.isnan(places).any():
        return slice(0, view.shape[0]), slice(0, view.shape[1])
    low, high = np.floor(places.min(axis=0)), np.ceil(places.max(axis=0)) + 1.0
    limits = np.clip(np.stack([low, high]), 0.0, view.shape).astype(int)
    return slice(*limits[:, 0].tolist()), slice(*limits[:, 1].tolist())
