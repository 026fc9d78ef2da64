"""All structures of a head as flat arrays, so that a setup is judged in a few array steps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.models.frames import Frame
from trainer.models.structures import Head, Structure

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HeadPoints:
    """Hull corners and samples of many structures, one structure behind the other.

    Structures of the skull come first; the first ``on_skull`` structures are theirs.
    ``hull_starts`` gives each structure's first hull row, ``owner`` each row's structure,
    ``hull_on_jaw`` the first row that moves with the lower jaw, ``extents_mm`` a length that no
    distance inside the structure exceeds. ``samples_mm`` holds for each structure (3, n) points in
    single precision, plenty for shares and half the work; ``cells_mm`` the edges of their cells.
    """

    structures: tuple[Structure, ...]
    hull_mm: Array
    hull_starts: NDArray[np.intp]
    owner: NDArray[np.intp]
    hull_on_jaw: int
    on_skull: int
    extents_mm: Array
    samples_mm: tuple[NDArray[np.float32], ...]
    weights: tuple[NDArray[np.float32], ...]
    cells_mm: NDArray[np.float32]


def pack(structures: Iterable[Structure]) -> HeadPoints:
    """The structures packed, those of the skull first."""
    ordered = sorted(structures, key=lambda s: s.frame is Frame.MANDIBLE)
    sizes = [len(s.hull_mm) for s in ordered]
    on_skull = sum(s.frame is Frame.SKULL for s in ordered)
    return HeadPoints(
        structures=tuple(ordered),
        # coordinate by coordinate in memory, as `apply` likes it
        hull_mm=np.asfortranarray(np.concatenate([s.hull_mm for s in ordered])),
        hull_starts=np.r_[0, np.cumsum(sizes)[:-1]].astype(np.intp),
        owner=np.repeat(np.arange(len(sizes)), sizes),
        hull_on_jaw=sum(sizes[:on_skull]),
        on_skull=on_skull,
        extents_mm=np.array([s.extent_mm for s in ordered]),
        samples_mm=tuple(np.ascontiguousarray(s.samples_mm.T, np.float32) for s in ordered),
        weights=tuple(s.weights.astype(np.float32) for s in ordered),
        cells_mm=np.array([s.cell_mm for s in ordered], np.float32),
    )


def pack_head(head: Head) -> HeadPoints:
    """Every structure of the head."""
    return pack(head.structures.values())
