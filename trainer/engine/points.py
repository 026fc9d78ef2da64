"""All structures of a head as flat arrays, so that a setup is judged in a few array steps.

The arrays come in batches of moderate size: what a step writes then stays in the processor's
cache, and memory is not fetched from the system anew for every step, which costs more than the
arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.models.frames import Frame
from trainer.models.structures import Head, Structure

Array = NDArray[np.float64]

# Most structures in a batch.
BATCH = 40


@dataclass(frozen=True, slots=True)
class Batch:
    """Structures of one frame, one behind the other.

    Attributes
    ----------
    hull_mm : (n, 3)
        Hull corners; coordinate by coordinate in memory, as `transforms.apply` likes it.
    starts : (k,)
        Each structure's first row in ``hull_mm``.
    owner : (n,)
        The structure that each row belongs to.
    extents_mm : (k,)
        A length that no distance inside the structure exceeds.
    samples_mm : k arrays (3, m)
        Middles of cells, in single precision: plenty for shares and half the work.
    weights : k arrays (m,)
        Share of each cell.
    cells_mm : (k,)
        Edges of the cells.
    """

    frame: Frame
    structures: tuple[Structure, ...]
    hull_mm: Array
    starts: NDArray[np.intp]
    owner: NDArray[np.intp]
    extents_mm: Array
    samples_mm: tuple[NDArray[np.float32], ...]
    weights: tuple[NDArray[np.float32], ...]
    cells_mm: NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class HeadPoints:
    """Packed structures, those of the skull first."""

    batches: tuple[Batch, ...]

    @property
    def structures(self) -> tuple[Structure, ...]:
        """The structures in the order of the batches."""
        return tuple(s for batch in self.batches for s in batch.structures)


def pack(structures: Iterable[Structure]) -> HeadPoints:
    """The structures packed."""
    all_of_them = list(structures)
    batches = []
    for frame in (Frame.SKULL, Frame.MANDIBLE):
        same = [s for s in all_of_them if s.frame is frame]
        batches += [_batch(frame, same[i : i + BATCH]) for i in range(0, len(same), BATCH)]
    return HeadPoints(tuple(batches))


def pack_head(head: Head) -> HeadPoints:
    """Every structure of the head, packed."""
    return pack(head.structures.values())


def _batch(frame: Frame, structures: list[Structure]) -> Batch:
    sizes = [len(s.hull_mm) for s in structures]
    return Batch(
        frame=frame,
        structures=tuple(structures),
        hull_mm=np.asfortranarray(np.concatenate([s.hull_mm for s in structures])),
        starts=np.r_[0, np.cumsum(sizes)[:-1]].astype(np.intp),
        owner=np.repeat(np.arange(len(sizes)), sizes),
        extents_mm=np.array([s.extent_mm for s in structures]),
        samples_mm=tuple(np.ascontiguousarray(s.samples_mm.T, np.float32) for s in structures),
        weights=tuple(s.weights.astype(np.float32) for s in structures),
        cells_mm=np.array([s.cell_mm for s in structures], np.float32),
    )
