"""The named structures of a head: which solids, where, and cells that fill them.

The mean head is the same on both sides, so only the left side is worked out; the right one is its
mirror image, point for point.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy import airway, inner_ear, soft_parts
from trainer.anatomy.canal import CANAL_DIAMETER_MM, canal, canal_path
from trainer.anatomy.cranium import cranium_structures
from trainer.anatomy.dentition import Tooth, dentition
from trainer.anatomy.implicit import Shape, sphere, tube
from trainer.anatomy.mandible import mandible_structures
from trainer.anatomy.meshing import Mesh, snapped, surface, volume_mm3
from trainer.anatomy.spine import hyoid
from trainer.anatomy.warp import head_warp
from trainer.models.frames import Frame, Side
from trainer.models.structures import Structure, StructureKind
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Grid cells that a structure's volume would fill; each is looked at in so many steps along an edge.
# With cells cut softly a share is right to 0.2 points (tests/engine/test_placement.py).
CELLS, LOOKS = 450, 3
# A root tip is taken as the last bit of the root.
APEX_BALL_MM = 0.6
# Hull corners kept: the farthest ones in evenly spread directions, so many that a ball of the
# structure's size loses about `HULL_LOSS_MM` of its margin, within the two limits.
HULL_LOSS_MM = 0.06
FEWEST_DIRECTIONS, MOST_DIRECTIONS = 64, 400
# Grid steps across the thinnest side of a structure's box when it is meshed, and the spacing's
# limits [mm]. Biting edges are much thinner than their tooth.
STEPS_ACROSS, FINEST_MM, COARSEST_MM = 18.0, 0.1, 0.5

# Left lower molars, below which the canal runs close by.
MOLARS_OVER_CANAL = (36, 37, 38)
# The piece of canal that belongs to a tooth goes this far beyond half its crown, either way.
CANAL_PIECE_MORE_MM = 1.0
# ISO 3950: quadrants 2 and 3 are the patient's left.
LEFT_QUADRANTS = (2, 3)
MIRROR_QUADRANT = {"2": "1", "3": "4"}
LEFT_NUMBER = re.compile(r"\b([23])([1-8])\b")
MIRROR = np.array([-1.0, 1.0, 1.0])

# Inner parts that hang on the lower jaw, and such as are too spread out to be aimed at.
ON_LOWER_JAW = frozenset(
    {"tongue", "submandibular-gland-left", "sublingual-gland-left", "lingual-canal"}
)
NO_TARGETS = frozenset({"airway"})

# What is not plain bone.
KINDS = {
    "auditory-nerve-canal": StructureKind.CANAL,
    "incisive-canal": StructureKind.CANAL,
    "lingual-canal": StructureKind.CANAL,
    "ostium": StructureKind.AIR,
    "mastoid-cells": StructureKind.AIR,
    "cochlea": StructureKind.ORGAN,
    "vestibule": StructureKind.ORGAN,
    "semicircular-canals": StructureKind.ORGAN,
    "inner-ear": StructureKind.ORGAN,
    "brain": StructureKind.ORGAN,
    "tongue": StructureKind.ORGAN,
    "soft-palate": StructureKind.ORGAN,
    "parotid": StructureKind.ORGAN,
    "submandibular-gland": StructureKind.ORGAN,
    "sublingual-gland": StructureKind.ORGAN,
    "thyroid": StructureKind.ORGAN,
    "condyle": StructureKind.JOINT,
    "condylar-neck": StructureKind.JOINT,
    "fossa": StructureKind.JOINT,
    "eminence": StructureKind.JOINT,
    "sinus": StructureKind.AIR,
    "ear-canal": StructureKind.AIR,
    "tympanic-cavity": StructureKind.AIR,
    "lens": StructureKind.ORGAN,
    "globe": StructureKind.ORGAN,
}
TIP_NAMES = {
    "": "root tip",
    "mesial": "tip of the front root",
    "distal": "tip of the rear root",
    "buccal": "tip of the cheek-side root",
    "palatal": "tip of the palatal root",
    "mesiobuccal": "tip of the front cheek-side root",
    "distobuccal": "tip of the rear cheek-side root",
}


@dataclass(frozen=True, slots=True)
class NamedSolid:
    """A structure before it is meshed; without ``spacing_mm`` its size decides how finely."""

    id: str
    name: str
    kind: StructureKind
    side: Side
    frame: Frame
    shape: Shape
    spacing_mm: float | None = None


def named_solids(person: Person) -> Iterator[NamedSolid]:
    """The structures of the left side and the midline as implicit solids in their own frames."""
    warp = head_warp(person)
    teeth = {t.fdi: t for t in dentition(person) if t.fdi // 10 in LEFT_QUADRANTS}
    for tooth in teeth.values():
        yield from _of_tooth(tooth)
    for key, shape in cranium_structures().items():
        yield _of_bone(key, warp.shape(shape), Frame.SKULL)
    for key, shape in mandible_structures(person).items():
        yield _of_bone(key, shape, Frame.MANDIBLE)
    yield NamedSolid(
        "canal-left",
        "the left mandibular canal",
        StructureKind.CANAL,
        Side.LEFT,
        Frame.MANDIBLE,
        canal(person, Side.LEFT),
    )
    for number in MOLARS_OVER_CANAL:
        name = f"the mandibular canal below {number}"
        yield NamedSolid(
            f"canal-at-{number}",
            name,
            StructureKind.CANAL,
            Side.LEFT,
            Frame.MANDIBLE,
            _canal_at(person, teeth[number]),
        )
    yield _of_bone("hyoid", warp.shape(hyoid()), Frame.SKULL)
    steps = soft_parts.MESH_STEP_MM | inner_ear.MESH_STEP_MM | airway.MESH_STEP_MM
    inner = soft_parts.soft_parts() | inner_ear.inner_ear() | airway.airway()
    for key, shape in inner.items():
        if key not in NO_TARGETS:
            frame = Frame.MANDIBLE if key in ON_LOWER_JAW else Frame.SKULL
            yield _of_bone(key, warp.shape(shape), frame, steps[key])


def mirror_name(text: str) -> str:
    """An id or name of the left side as it is on the right: sides and FDI quadrants swapped."""
    swapped = LEFT_NUMBER.sub(lambda m: MIRROR_QUADRANT[m[1]] + m[2], text)
    return re.sub(r"\bleft\b", "right", swapped)


def mirrored_structure(left: Structure) -> Structure:
    """The same structure of the right side."""
    return replace(
        left,
        id=mirror_name(left.id),
        name=mirror_name(left.name),
        side=Side.RIGHT,
        samples_mm=left.samples_mm * MIRROR,
        hull_mm=left.hull_mm * MIRROR,
    )


def _of_tooth(tooth: Tooth) -> Iterator[NamedSolid]:
    number = tooth.fdi
    frame, left = tooth.frame, Side.LEFT
    yield NamedSolid(
        f"tooth-{number}", f"tooth {number}", StructureKind.TOOTH, left, frame, tooth.solid
    )
    yield NamedSolid(
        f"tooth-{number}-crown",
        f"the crown of {number}",
        StructureKind.CROWN,
        left,
        frame,
        tooth.crown,
    )
    for root in tooth.roots:
        suffix = f"-{root.name}" if root.name else ""
        name = f"the {TIP_NAMES[root.name]} of {number}"
        yield NamedSolid(
            f"tooth-{number}-apex{suffix}",
            name,
            StructureKind.APEX,
            left,
            frame,
            _apex(root.axis_mm, tooth.solid),
        )


def _apex(axis_mm: Array, solid: Shape) -> Shape:
    """The last bit of a root: a small ball just inside the end of its axis."""
    tip, before = axis_mm[-1], axis_mm[-2]
    along = (tip - before) / np.linalg.norm(tip - before)
    # the axis may end at the surface or at the last ball's centre: find the surface
    steps = np.linspace(-2.0, 2.0, 161)
    depth = solid(tip + steps[:, None] * along)
    ends = steps[depth < 0.0]
    end = tip + (ends.max() if len(ends) else 0.0) * along
    return sphere(end - APEX_BALL_MM * along, APEX_BALL_MM)


def _canal_at(person: Person, tooth: Tooth) -> Shape:
    """The piece of the left canal below a tooth: as long as its crown and a little more."""
    path = canal_path(person, Side.LEFT)
    length = tooth.size.md_mm / 2.0 + CANAL_PIECE_MORE_MM
    tips = np.mean([root.axis_mm[-1] for root in tooth.roots], axis=0)
    nearest = int(np.argmin(np.linalg.norm(path - tips, axis=1)))
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
    return tube(path[np.abs(along - along[nearest]) <= length], CANAL_DIAMETER_MM / 2.0)


def _of_bone(key: str, shape: Shape, frame: Frame, spacing_mm: float | None = None) -> NamedSolid:
    plain = key.removesuffix("-left")
    side = Side.MIDLINE if key == plain else Side.LEFT
    words = plain.replace("-", " ")
    name = f"the {words}" if side is Side.MIDLINE else f"the left {words}"
    kind = KINDS.get(plain, StructureKind.BONE)
    return NamedSolid(key, name, kind, side, frame, shape, spacing_mm)


def structure_of(solid: NamedSolid) -> tuple[Structure, Mesh]:
    """The structure with its samples and hull, and its surface."""
    size = float(np.min(solid.shape.upper_mm - solid.shape.lower_mm))
    by_size = float(np.clip(size / STEPS_ACROSS, FINEST_MM, COARSEST_MM))
    spacing = solid.spacing_mm or by_size
    mesh = snapped(surface(solid.shape, spacing), solid.shape, spacing / 2.0)
    samples, weights, cell_mm = in_cells(solid.shape, mesh)
    structure = Structure(
        id=solid.id,
        name=solid.name,
        kind=solid.kind,
        side=solid.side,
        frame=solid.frame,
        samples_mm=samples,
        weights=weights,
        cell_mm=cell_mm,
        # the cells too: a surface mesh rounds off corners sharper than its spacing
        hull_mm=hull_corners(np.concatenate([mesh.vertices_mm, samples])),
        volume_mm3=volume_mm3(mesh),
    )
    return structure, mesh


def in_cells(shape: Shape, mesh: Mesh, cells: int = CELLS) -> tuple[Array, Array, float]:
    """The solid shared out to the cells of a cubic grid.

    ``mesh`` is its surface, and tells box and volume.

    Returns
    -------
    The middles (n, 3) of what lies in each cell [mm], its share (n,) of the whole, and the cells'
    edge [mm].
    """
    lower, upper = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
    edge = (volume_mm3(mesh) / cells) ** (1.0 / 3.0)
    count = np.ceil((upper - lower) / edge).astype(int) + 1
    start = (lower + upper - count * edge) / 2.0
    x, y, z = (start[i] + (np.arange(count[i] * LOOKS) + 0.5) * edge / LOOKS for i in range(3))
    found = []
    # layer by layer, so that shapes are asked in compact blocks
    for layer in np.array_split(z, count[2]):
        points = np.stack(np.meshgrid(x, y, layer, indexing="ij"), axis=-1).reshape(-1, 3)
        found.append(points[shape(points) < 0.0])
    points = np.concatenate(found)
    cell = np.ravel_multi_index(((points - start) // edge).astype(int).T, tuple(count))
    used, number, looks = np.unique(cell, return_inverse=True, return_counts=True)
    middles = np.stack(
        [np.bincount(number, points[:, i], len(used)) / looks for i in range(3)], axis=1
    )
    return middles, looks / looks.sum(), float(edge)


def hull_corners(vertices_mm: Array) -> Array:
    """Corners of the convex hull that matter: the farthest in evenly spread directions."""
    corners = vertices_mm[np.unique(ConvexHull(vertices_mm).simplices)]
    half = float(np.ptp(corners, axis=0).max()) / 2.0
    count = int(np.clip(2.5 * half / HULL_LOSS_MM, FEWEST_DIRECTIONS, MOST_DIRECTIONS))
    if len(corners) <= count:
        return corners
    # Fibonacci lattice on the sphere (Gonzalez, Mathematical Geosciences 2010)
    k = np.arange(count) + 0.5
    polar, turn = np.arccos(1 - 2 * k / count), np.pi * (1 + 5**0.5) * k
    ways = np.stack(
        [np.cos(turn) * np.sin(polar), np.sin(turn) * np.sin(polar), np.cos(polar)], axis=1
    )
    return corners[np.unique(np.argmax(corners @ ways.T, axis=0))]
