"""Points and places on one tooth, found on its solids, whatever their size.

Own coordinates [mm]: the columns of ``Tooth.rotation``: y buccal, z occlusal, x mesial in the
patient's upper right and lower left, distal in the others; origin in the middle of the neck.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.teeth import tooth_tables
from trainer.anatomy.teeth.dentition import Tooth, dentition, whole_dentition
from trainer.anatomy.teeth.tooth_tables import is_primary
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

STEP_MM = 0.05
REACH_MM = 14.0


def to_own(tooth: Tooth, points_mm: Array) -> Array:
    """Points of the jaw's frame (n, 3) in the tooth's own coordinates."""
    return np.asarray((points_mm - tooth.origin_mm) @ tooth.rotation)


def from_own(tooth: Tooth, points_mm: ArrayLike) -> Array:
    """Own coordinates (n, 3) in the jaw's frame."""
    return np.asarray(points_mm, float) @ tooth.rotation.T + tooth.origin_mm


def mesial_sign(fdi: int) -> float:
    """The sign of own x to mesial (see the module's first lines; primary teeth likewise)."""
    return 1.0 if (fdi // 10 - 1) % 4 in (0, 2) else -1.0


def jaw_of(fdi: int) -> Jaw:
    """The jaw of a permanent or primary tooth."""
    return Jaw(tooth_tables.jaw_of(fdi))


def is_front(fdi: int) -> bool:
    """Whether it is an incisor or canine."""
    return fdi % 10 <= 3


def is_molar(fdi: int) -> bool:
    """Whether it is a molar, permanent or primary."""
    return fdi % 10 >= (4 if is_primary(fdi) else 6)


def teeth_of(person: Person) -> dict[int, Tooth]:
    """The teeth that stand in the person's jaws or are still in them, by FDI number."""
    return {t.fdi: t for t in dentition(person)}


def full_teeth_of(person: Person) -> dict[int, Tooth]:
    """All teeth as they would stand if none had been lost."""
    return {t.fdi: t for t in whole_dentition(person)}


def last_inside(
    shape: Shape,
    tooth: Tooth,
    starts_own: ArrayLike,
    way_own: ArrayLike,
    reach_mm: float = REACH_MM,
) -> Array:
    """How far (n,) each ray from ``starts_own`` (n, 3) along ``way_own`` last lies in the shape.

    Own coordinates; ``way_own`` one unit vector or one for each start. ``nan`` where a ray never
    meets the shape. Found to a hundredth of a millimetre or so.
    """
    starts = np.asarray(starts_own, float).reshape(-1, 3)
    ways = np.broadcast_to(np.asarray(way_own, float), starts.shape)
    along = np.arange(0.0, reach_mm, STEP_MM * 4)

    def value(t: Array) -> Array:
        """Signed distances (n, k) at lengths (k,) or (n, k) along the rays."""
        at = (
            starts[:, None, :]
            + np.broadcast_to(t, (len(starts), t.shape[-1]))[..., None] * (ways[:, None, :])
        )
        return shape(from_own(tooth, at.reshape(-1, 3))).reshape(len(starts), -1)

    within = value(along) < 0.0
    met = within.any(axis=1)
    last = along[within.shape[1] - 1 - np.argmax(within[:, ::-1], axis=1)]
    low, high = last.copy(), last + STEP_MM * 4
    for _ in range(8):
        middle = (low + high) / 2.0
        inside = value(middle[:, None])[:, 0] < 0.0
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    return np.where(met, (low + high) / 2.0, np.nan)


def surface_normal(shape: Shape, points_mm: Array, step_mm: float = 0.05) -> Array:
    """Unit directions (n, 3) in which the distance grows most, by central differences."""
    p = np.asarray(points_mm, float).reshape(-1, 3)
    slope = np.empty_like(p)
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = step_mm
        slope[:, axis] = shape(p + step) - shape(p - step)
    return np.asarray(slope / np.maximum(np.linalg.norm(slope, axis=1), 1e-12)[:, None])
