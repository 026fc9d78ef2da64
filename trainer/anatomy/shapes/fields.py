"""Shapes worked out once, on a grid, and read from there.

The implicit head costs microseconds a point; a `SampledField` of it costs some ten nanoseconds. It
holds distances near the surface in steps of `STEP_MM` and only the side further off. Read through
a `Lead` it is the shape as it stands in another person.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes._kernels import compiled_read
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import sample_grid

Array = NDArray[np.float64]

# Distances are kept in these steps, as far as a signed byte reaches: 6.35 mm either way.
STEP_MM, MOST_STEPS = 0.05, 127
REACH_MM = STEP_MM * MOST_STEPS
# Grid beyond the shape's box: as wide as the widest blend with another shape.
PAD_MM = 5.0
# Between two places where a person's map is worked out: it bends gently, and straight lines between
# err by hundredths of a millimetre (tests/anatomy/test_fields.py).
LEAD_STEP_MM = 3.0
_NO_MOVES = np.zeros((0, 0, 0, 3), np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Lead:
    """From a person to the mean man: ``moves_mm`` [x, y, z, xyz] float32 on a lattice.

    ``origin_mm`` is the first place of the lattice. The head's map is the same on both sides, so
    only the patient's left is held.
    """

    moves_mm: NDArray[np.float32]
    origin_mm: Array


def lead_through(to_mean_man: Callable[[Array], Array], lower_mm: Array, upper_mm: Array) -> Lead:
    """The map ``to_mean_man``, (n, 3) to (n, 3) [mm], on a lattice over the left half of a box."""
    low = np.array([0.0, *lower_mm[1:]]) - LEAD_STEP_MM
    count = np.ceil((upper_mm - low) / LEAD_STEP_MM).astype(int) + 2
    axes = [a + np.arange(n) * LEAD_STEP_MM for a, n in zip(low, count, strict=True)]
    knots = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    moves = to_mean_man(knots) - knots
    return Lead(moves.reshape(*count, 3).astype(np.float32), low)


@dataclass(frozen=True, slots=True, eq=False)
class SampledField:
    """Signed distances of a shape on a cubic grid.

    ``values`` [z, y, x] int8 count in `STEP_MM`; ``origin_mm`` is the first point's x, y, z.
    ``lower_mm`` and ``upper_mm`` are corners of the shape's box. A ``mirrored`` field holds the
    patient's left and stands for both sides.
    """

    values: NDArray[np.int8]
    origin_mm: Array
    spacing_mm: float
    lower_mm: Array
    upper_mm: Array
    mirrored: bool = True

    def shape(self, lead: Lead | None = None, box: Shape | None = None) -> Shape:
        """The shape as sampled; with ``lead`` as it stands in a person, in the box of ``box``."""
        kernel = compiled_read()
        moves, start = (
            (_NO_MOVES, self.origin_mm) if lead is None else (lead.moves_mm, lead.origin_mm)
        )

        def distance(points_mm: Array) -> Array:
            found = np.empty(len(points_mm))
            kernel(
                np.ascontiguousarray(points_mm), self.mirrored, moves, start, LEAD_STEP_MM,
                self.values, self.origin_mm, self.spacing_mm, STEP_MM, found,
            )  # fmt: skip
            return found

        held = box or self
        return Shape(distance, held.lower_mm, held.upper_mm)


def sampled(
    shape: Shape, spacing_mm: float, mirrored: bool = True, exact_to_mm: float = REACH_MM
) -> SampledField:
    """The shape on a grid; of a ``mirrored`` one only the patient's left is looked at.

    Farther from the surface than ``exact_to_mm`` only the side is sure.
    """
    lower, upper = shape.lower_mm.astype(float), shape.upper_mm.astype(float)
    if mirrored:
        lower[0] = max(lower[0], 0.0)
    grid = sample_grid(Shape(shape.distance, lower, upper), spacing_mm, PAD_MM, exact_to_mm)
    # without the grid's spare points: those beyond the padding and, of a mirrored shape, those on
    # the far side that straight lines over the midline do not need
    count = np.ceil((upper + PAD_MM - grid.origin_mm) / spacing_mm).astype(int) + 1
    spare = max(int(np.floor(-grid.origin_mm[0] / spacing_mm)) - 1, 0) if mirrored else 0
    origin = grid.origin_mm + np.array([spare * spacing_mm, 0.0, 0.0])
    values = grid.values_mm[: count[2], : count[1], spare : count[0]]
    steps = np.clip(np.round(values / STEP_MM), -MOST_STEPS, MOST_STEPS).astype(np.int8)
    if mirrored:
        lower = np.array([-upper[0], *lower[1:]])
    return SampledField(steps, origin, spacing_mm, lower, upper, mirrored)


def packed(values: NDArray[np.int8]) -> NDArray[np.int8]:
    """The values as changes along each axis, which pack small; `unpacked` brings them back."""
    found = values.view(np.uint8)
    for axis in range(3):
        found = np.diff(found, axis=axis, prepend=np.uint8(0))
    return found.view(np.int8)


def unpacked(changes: NDArray[np.int8]) -> NDArray[np.int8]:
    """The values whose changes `packed` gave."""
    found = changes.view(np.uint8)
    for axis in range(3):
        found = np.cumsum(found, axis=axis, dtype=np.uint8)
    return found.view(np.int8)
