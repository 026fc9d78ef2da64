"""A volume put together from two or three scans: what their recorded regions hold between them.

Each scan has a setup of its own, and the patient may have moved in between. A structure counts
once, however many scans show it. Two scans are put together by what both of them show of the head,
so each must share enough with another one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import (
    MOST_OF_A_CUT,
    TOUCHING_MM,
    Judged,
    Placement,
    StructurePlacement,
    chain_of,
    place,
)
from trainer.engine.points import Batch, HeadPoints
from trainer.errors import TrainerError
from trainer.geometry.overlap import depth_in, shared_mm
from trainer.geometry.region import RecordedRegion
from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.device import Unit
from trainer.models.frames import Frame, RigidTransform
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head, Structure

Array = NDArray[np.float64]

FEWEST_PARTS, MOST_PARTS = 2, 3
# What two scans must share to be put together: own working value. Common practice asks for a
# generous overlap with bone or teeth in it; no source gives a figure.
OVERLAP_NEEDED_MM = 10.0


@dataclass(frozen=True, slots=True)
class Part:
    """One of the scans.

    ``moved`` (skull → skull) leads from where the setup puts the head to where it stood during
    this scan; ``None``: where it was put.
    """

    setup: Setup
    moved: RigidTransform | None = None


class StitchedStructure(NamedTuple):
    """One structure against all parts together.

    Attributes
    ----------
    inside_share : float
        Weighted share that at least one part holds, each part less the case's guard rim, 0 to 1;
        exactly 1 when nothing of it was found outside.
    part_shares : tuple of float
        The share that each part holds alone.
    margin_mm : float
        Smallest signed distance to the edge of the joined region, positive inside. Where parts
        overlap it is that of the part that holds the point deepest: the true one is no smaller.
    required_margin_mm : float or None
        As for a single placement.
    """

    structure: Structure
    inside_share: float
    part_shares: tuple[float, ...]
    margin_mm: float
    required_margin_mm: float | None

    @property
    def lack_mm(self) -> float:
        """How much of what is asked is lacking; negative when there is more than asked."""
        return (self.required_margin_mm or 0.0) - self.margin_mm

    @property
    def holds(self) -> bool:
        """Whether the margin is what the case asks for (0 when it does not ask)."""
        return self.lack_mm <= TOUCHING_MM


@dataclass(frozen=True, slots=True)
class Overlap:
    """What two parts, by their numbers, share of the head.

    ``shared_mm`` is the diameter of the largest ball that both hold; for fields one above the
    other or side by side this is the height or width they share. Below zero: the gap.
    """

    first: int
    second: int
    shared_mm: float
    needed_mm: float

    @property
    def suffices(self) -> bool:
        """Whether the two can be put together by what they share."""
        return self.shared_mm > 0.0 and self.shared_mm >= self.needed_mm - TOUCHING_MM

    @property
    def apart(self) -> bool:
        """Whether they share nothing, or no more than a face."""
        return self.shared_mm <= TOUCHING_MM


@dataclass(frozen=True, slots=True)
class StitchedPlacement(Judged[StitchedStructure]):
    """Everything computed from the parts of one volume.

    ``placements`` are those of each part alone; ``overlaps`` those of every pair of parts.
    """

    placements: tuple[Placement, ...]
    structures: tuple[StitchedStructure, ...]
    overlaps: tuple[Overlap, ...]

    @property
    def registrable(self) -> bool:
        """Whether enough overlaps suffice to join all parts, in whatever order."""
        joined = {0}
        for _ in self.placements:
            for o in self.overlaps:
                if o.suffices and joined & {o.first, o.second}:
                    joined |= {o.first, o.second}
        return len(joined) == len(self.placements)

    @property
    def jaw_stayed(self) -> bool:
        """Whether the jaw gap was the same in all parts: else they fit for one jaw only."""
        return len({p.setup.jaw_gap_mm for p in self.placements}) == 1


class _View(NamedTuple):
    """A part's region, and the way into its field frame."""

    region: RecordedRegion
    to_field: dict[Frame, RigidTransform]


def stitch(
    case: Case,
    head: Head,
    points: HeadPoints,
    unit: Unit,
    parts: Sequence[Part],
    overlap_needed_mm: float = OVERLAP_NEEDED_MM,
) -> StitchedPlacement:
    """The placement of the packed structures in the joined regions of two or three parts.

    Overlaps are those on the skull; see `StitchedPlacement.jaw_stayed` for the lower jaw.

    Raises
    ------
    TrainerError
        If there are not two or three parts.
    FrameError
        If a movement does not lead from skull to skull.
    NotFound
        If the unit lacks a field or region.
    """
    if not FEWEST_PARTS <= len(parts) <= MOST_PARTS:
        raise TrainerError(f"a stitched volume has two or three parts, got {len(parts)}")
    placements = tuple(place(case, head, points, unit, p.setup, p.moved) for p in parts)
    views = []
    for part, placement in zip(parts, placements, strict=True):
        steps = chain_of(head, unit, part.setup, part.moved)
        to_field = {f: steps.to_field(f) for f in (Frame.SKULL, Frame.MANDIBLE)}
        views.append(_View(placement.region, to_field))
    alone = zip(*(p.structures for p in placements), strict=True)
    return StitchedPlacement(
        placements=placements,
        structures=tuple(
            _joined(batch, number, views, next(alone), hull_mm, case.guard_rim_mm)
            for batch in points.batches
            for number, hull_mm in enumerate(_hull_depths(batch, views))
        ),
        overlaps=tuple(
            Overlap(i, j, _shared_mm(views[i], views[j]), overlap_needed_mm)
            for i, j in combinations(range(len(views)), 2)
        ),
    )


def _hull_depths(batch: Batch, views: Sequence[_View]) -> list[float]:
    """For each structure: how deep its worst hull corner lies in the part that holds it best."""
    deepest = _depths(views, batch.frame, batch.hull_mm).max(axis=0)
    return np.minimum.reduceat(deepest, batch.starts).tolist()


def _joined(
    batch: Batch,
    number: int,
    views: Sequence[_View],
    alone: Sequence[StructurePlacement],
    hull_mm: float,
    guard_mm: float,
) -> StitchedStructure:
    """A structure in all parts, from what it is in each of them alone and its worst hull corner."""
    margin = max(hull_mm, *(a.margin_mm for a in alone))
    shares = tuple(a.inside_share for a in alone)
    share = max(shares)
    if share < 1.0 and sum(s > 0.0 for s in shares) > 1:
        samples = batch.samples_mm[number].T.astype(float)
        cell = float(batch.cells_mm[number])
        held, deepest = _held(views, batch.frame, samples, cell, guard_mm)
        # corners of the hull are not enough: what is joined may have a dent between them
        margin = max(min(margin, float(deepest.min())), *(a.margin_mm for a in alone))
        if held.min() == 1.0 and hull_mm >= guard_mm:
            share = 1.0
        else:
            joined = float(batch.weights[number].astype(float) @ held)
            share = max(share, min(joined, MOST_OF_A_CUT))
    asked = alone[0].required_margin_mm
    return StitchedStructure(batch.structures[number], share, shares, margin, asked)


def _shared_mm(a: _View, b: _View) -> float:
    """What two parts share of the skull [mm]."""
    a_to_b = chain(inverse(a.to_field[Frame.SKULL]), b.to_field[Frame.SKULL])
    return shared_mm(a.region, b.region, a_to_b)


def _depths(views: Sequence[_View], frame: Frame, points_mm: Array) -> Array:
    """Signed distances (parts, n) of (n, 3) points of a structure to each region's edge [mm]."""
    return np.stack([depth_in(v.region, apply(v.to_field[frame], points_mm)) for v in views])


def _held(
    views: Sequence[_View], frame: Frame, middles_mm: Array, cell_mm: float, guard_mm: float
) -> tuple[Array, Array]:
    """Which share of each cell (n,) some part holds, and how deep its middle lies in the best one.

    As for a single placement a cell is cut in proportion. Where the edges of several parts cut the
    same cell, it depends on how they stand to each other what they hold together; of three parts
    the best two count.
    """
    depths = _depths(views, frame, middles_mm)
    shares = np.clip(0.5 + (depths - guard_mm) / cell_mm, 0.0, 1.0)
    held = shares.max(axis=0)
    twice = np.flatnonzero((held < 1.0) & ((shares > 0.0).sum(axis=0) > 1))
    if len(twice):
        steps = cell_mm / 2.0 * np.concatenate([np.eye(3), -np.eye(3)])
        looks = (middles_mm[twice, None, :] + steps).reshape(-1, 3)
        around = _depths(views, frame, looks).reshape(len(views), len(twice), 6)
        ways = around[..., :3] - around[..., 3:]
        ways /= np.maximum(np.linalg.norm(ways, axis=-1, keepdims=True), TOUCHING_MM)
        for i, j in combinations(range(len(views)), 2):
            cosine = (ways[i] * ways[j]).sum(axis=-1)
            both = _held_by_two(shares[i, twice], shares[j, twice], cosine)
            held[twice] = np.maximum(held[twice], both)
    return held, depths.max(axis=0)


def _held_by_two(a: Array, b: Array, cosine: Array) -> Array:
    """Share of cells that two half-spaces hold together, from the share each holds alone.

    Exact for a cube cut by planes along its faces: facing the same way (cosine 1) the larger share
    holds the smaller, facing each other (-1) the shares add up, at right angles (0) they are
    independent. Mixed in proportion between.
    """
    larger, sum_of_both = np.maximum(a, b), np.minimum(a + b, 1.0)
    towards = np.where(cosine > 0.0, larger, sum_of_both)
    aligned = np.minimum(np.abs(cosine), 1.0)
    return np.asarray(aligned * towards + (1.0 - aligned) * (a + b - a * b))
