"""Slices through a person's phantom, as the unit's axes cut it, with the field and what was missed.

What is shown is the phantom itself, without noise, motion or streaks: where things lie, not how an
image would look.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from trainer.anatomy.materials import MATERIALS
from trainer.engine.placement import Chain, Placement, chain_of
from trainer.geometry.region import RecordedRegion, height_limits, region_profile
from trainer.geometry.transforms import apply, inverse
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume, Phantom
from trainer.models.materials import Material
from trainer.models.structures import Structure
from trainer.models.subject import Person
from trainer.physics.attenuation import linear_attenuation_per_mm
from trainer.services.assets import MESHES
from trainer.services.head_store import stored_phantom
from trainer.services.workbench import Workbench

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]
Mask = NDArray[np.bool_]
Window = tuple[float, float, float, float]  # left, right, lowest, highest [mm]

SPACING_MM = 0.5  # of the phantom, the one that scouts go through
# Of a slice: pixels across, how far it reaches at least, and how far in parts of the field's size.
PIXELS, LEAST_HALF_MM, OF_FIELD = 208, 44.0, 1.15
ENERGY_KEV = 60.0  # about the mean energy of a 90 kV beam
# What is black and what is white [water = 0, air = -1000]; own working values.
DARK, BRIGHT = -1000.0, 2600.0
# A point belongs to a structure when one of its cells is so near, in edges of a cell.
NEAR_CELLS = 0.75


class Cut(StrEnum):
    """Which way a slice lies."""

    ACROSS = "across"
    ALONG = "along"


# What stands at the left and right of each cut, as the flat views have it.
LETTERS = {Cut.ACROSS: ("R", "L"), Cut.ALONG: ("back", "front")}


@dataclass(frozen=True, slots=True)
class Slice:
    """A slice as a picture: row 0 on top, (across, up) in millimetres from the gantry's origin.

    ``across``: the patient's left on the right, the front on top. ``along``: seen from the
    patient's right, the front on the right. ``field_mm`` (n, 2) is the outline of the field there,
    empty when the slice misses it; ``missed`` holds for each required structure that is not held
    the pixels (rows, columns) it fills. ``window_mm``: left, right, lowest, highest.
    """

    cut: Cut
    at_mm: float
    grey: Grey
    window_mm: Window
    field_mm: Array
    missed: Mapping[str, Mask]
    held: Mapping[str, Mask]


class SlicedHead:
    """A person's phantom with what slices need of it, read or built once."""

    def __init__(
        self, bench: Workbench, person: Person, tell: Callable[[str], None] = lambda _: None
    ) -> None:
        self.bench = bench
        self.phantom: Phantom = stored_phantom(person, SPACING_MM, MESHES, tell)
        self._trees: dict[str, cKDTree] = {}

    def slice(self, placement: Placement, cut: Cut, at_mm: float | None = None) -> Slice:
        """The slice of a placement; through the target's middle when nothing else is asked."""
        head, unit = self.bench.meshes.head, self.bench.unit
        steps = chain_of(head, unit, placement.setup)
        centre = -steps.gantry_to_field.translation_mm
        middle = centre + (placement.target.centre_mm if placement.target is not None else 0.0)
        axis = 2 if cut is Cut.ACROSS else 0
        at = float(middle[axis]) if at_mm is None else at_mm
        size = max(placement.region.radius_mm, placement.region.half_height_mm)
        points, window = _grid(cut, middle, at, max(LEAST_HALF_MM, OF_FIELD * size))
        grey = _grey(self._labelled(points, steps))
        missed: dict[str, Mask] = {}
        held: dict[str, Mask] = {}
        for found in placement.required:
            mask = self._mask(found.structure, points, steps)
            if mask.any():
                (held if found.holds else missed)[found.structure.id] = mask
        outline = _field(cut, placement.region, centre, at)
        return Slice(cut, at, grey, window, outline, missed, held)

    def _labelled(self, points: Array, steps: Chain) -> Array:
        """The attenuation number of every point (rows, columns); the jaw's counts over the head."""
        skull, jaw = self.phantom.skull, self.phantom.mandible
        value = np.full(points.shape[:2], _numbers(("air",))[0])
        for volume, step in ((skull, steps.skull_to_gantry), (jaw, steps.mandible_to_gantry)):
            label = _look_up(volume, apply(inverse(step), points.reshape(-1, 3)))
            there = (label > 0).reshape(value.shape)
            value[there] = _numbers(volume.materials)[label].reshape(value.shape)[there]
        return value

    def _mask(self, structure: Structure, points: Array, steps: Chain) -> Mask:
        step = steps.mandible_to_gantry
        if structure.frame is not Frame.MANDIBLE:
            step = steps.skull_to_gantry
        own = apply(inverse(step), points.reshape(-1, 3))
        tree = self._trees.get(structure.id)
        if tree is None:
            tree = self._trees[structure.id] = cKDTree(structure.samples_mm)
        reach = NEAR_CELLS * structure.cell_mm
        low = structure.samples_mm.min(axis=0) - reach
        high = structure.samples_mm.max(axis=0) + reach
        near = np.flatnonzero(((own >= low) & (own <= high)).all(axis=1))
        mask = np.zeros(len(own), bool)
        if len(near):
            away, _ = tree.query(own[near], distance_upper_bound=reach)
            mask[near] = np.isfinite(away)
        return mask.reshape(points.shape[:2])


def _grid(cut: Cut, middle: Array, at_mm: float, half_mm: float) -> tuple[Array, Window]:
    """Points of the slice in the gantry frame (rows, columns, 3), and its window."""
    along = half_mm * ((2.0 * np.arange(PIXELS) + 1.0) / PIXELS - 1.0)
    right, up = np.meshgrid(along, along[::-1])
    points = np.empty((*right.shape, 3))
    if cut is Cut.ACROSS:
        across_mm, up_mm = float(middle[0]), -float(middle[1])
        points[..., 0], points[..., 1] = across_mm + right, -(up_mm + up)
        points[..., 2] = at_mm
    else:
        across_mm, up_mm = -float(middle[1]), float(middle[2])
        points[..., 1], points[..., 2] = -(across_mm + right), up_mm + up
        points[..., 0] = at_mm
    window = (across_mm - half_mm, across_mm + half_mm, up_mm - half_mm, up_mm + half_mm)
    return points, window


def _field(cut: Cut, region: RecordedRegion, centre: Array, at_mm: float) -> Array:
    """Outline of the recorded region in the slice: (n, 2) across and up [mm]."""
    if cut is Cut.ACROSS:
        radii = np.linspace(0.0, region.radius_mm, 200)
        top, bottom = height_limits(region, radii)
        height = at_mm - float(centre[2])
        inside = radii[(height <= top) & (height >= bottom)]
        if not len(inside):
            return np.zeros((0, 2))
        turn = np.linspace(0.0, 2.0 * np.pi, 97)[:-1]
        ring = inside.max() * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        return np.asarray(ring + [centre[0], -centre[1]])
    aside = at_mm - float(centre[0])
    profile = region_profile(region, 80)
    profile = profile[profile[:, 0] >= abs(aside)]
    if not len(profile):
        return np.zeros((0, 2))
    half = np.sqrt(profile[:, 0] ** 2 - aside**2)
    one = np.column_stack([half, profile[:, 1]])
    other = np.column_stack([-half, profile[:, 1]])[::-1]
    return np.asarray(np.concatenate([one, other]) + [-centre[1], centre[2]])


def _look_up(volume: LabelVolume, points: Array) -> NDArray[np.uint8]:
    """The label at each point (n, 3); 0 outside of the volume."""
    place = np.rint((points - volume.origin_mm) / volume.spacing_mm).astype(np.intp)
    nz, ny, nx = volume.labels.shape
    inside = ((place >= 0) & (place < [nx, ny, nz])).all(axis=1)
    found = np.zeros(len(points), np.uint8)
    x, y, z = place[inside].T
    found[inside] = volume.labels[z, y, x]
    return found


@lru_cache(maxsize=8)
def _numbers(materials: tuple[str, ...]) -> Array:
    """1000 (mu / mu of water - 1) of each material at `ENERGY_KEV`."""

    water = Material("water", 1.0, {"H": 0.1119, "O": 0.8881})
    of_water = linear_attenuation_per_mm(water, [ENERGY_KEV])[0]
    values = [linear_attenuation_per_mm(MATERIALS[m].material, [ENERGY_KEV])[0] for m in materials]
    return np.asarray(1000.0 * (np.array(values) / of_water - 1.0))


def _grey(numbers: Array) -> Grey:
    share = np.clip((numbers - DARK) / (BRIGHT - DARK), 0.0, 1.0)
    return np.ascontiguousarray(np.rint(255.0 * share).astype(np.uint8))
