"""All structures of a head as one flat array, so that a setup is judged in a few array steps."""

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
    """Hull corners of many structures, one structure behind the other.

    Structures of the skull come first. ``hull_starts`` gives each structure's first row,
    ``owner`` each row's structure, ``hull_on_jaw`` the first row that moves with the lower jaw,
    ``extents_mm`` a length that no distance inside the structure exceeds.
    """

    structures: tuple[Structure, ...]
    hull_mm: Array
    hull_starts: NDArray[np.intp]
    owner: NDArray[np.intp]
    hull_on_jaw: int
    extents_mm: tuple[float, ...]


def pack(structures: Iterable[Structure]) -> HeadPoints:
    """The structures packed, those of the skull first."""
    ordered = sorted(structures, key=lambda s: s.frame is Frame.MANDIBLE)
    sizes = [len(s.hull_mm) for s in ordered]
    on_skull = sum(n for n, s in zip(sizes, ordered, strict=True) if s.frame is Frame.SKULL)
    return HeadPoints(
        structures=tuple(ordered),
        hull_mm=np.concatenate([s.hull_mm for s in ordered]),
        hull_starts=np.r_[0, np.cumsum(sizes)[:-1]].astype(np.intp),
        owner=np.repeat(np.arange(len(sizes)), sizes),
        hull_on_jaw=on_skull,
        extents_mm=tuple(s.extent_mm for s in ordered),
    )


def pack_head(head: Head) -> HeadPoints:
    """Every structure of the head."""
    return pack(head.structures.values())
