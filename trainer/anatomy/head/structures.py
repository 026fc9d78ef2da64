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

from trainer.anatomy.bones.canal import CANAL_DIAMETER_MM, canal_path
from trainer.anatomy.bones.cranium import cranium_structures
from trainer.anatomy.bones.mandible import mandible_structures
from trainer.anatomy.bones.spine import hyoid
from trainer.anatomy.head.organs import in_person
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.implicit import Shape, sphere, tube
from trainer.anatomy.shapes.meshing import Mesh, snapped, surface, volume_mm3
from trainer.anatomy.soft import airway, inner_ear, soft_parts
from trainer.anatomy.teeth.dentition import Root, Tooth, dentition
from trainer.anatomy.teeth.tooth_tables import is_right
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart
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
PLANES_AT_ONCE = 64  # so that they stay in the processor's own store
# How much of its distance from the middle the farthest point comes nearer where faces are made to
# bulge: more than any head's map bends a face.
BULGE = 0.12
# Grid steps across the thinnest side of a structure's box when it is meshed, and the spacing's
# limits [mm]. Biting edges are much thinner than their tooth.
STEPS_ACROSS, FINEST_MM, COARSEST_MM = 18.0, 0.1, 0.5
STRUCTURE_TRIANGLES = 200  # of the small surface that marks a structure

# Lower molars, below which the canal runs close by.
MOLARS_OVER_CANAL = {Side.LEFT: (36, 37, 38), Side.RIGHT: (46, 47, 48)}
# The piece of canal that belongs to a tooth goes this far beyond half its crown, either way.
CANAL_PIECE_MORE_MM = 1.0
# ISO 3950: quadrants 2, 3, 6 and 7 are the patient's left.
LEFT_QUADRANTS = (2, 3, 6, 7)
MIRROR_QUADRANT = {"2": "1", "3": "4", "6": "5", "7": "8"}
LEFT_NUMBER = re.compile(r"\b([2367])([1-8])\b")
MIRROR = np.array([-1.0, 1.0, 1.0])

# Inner parts that hang on the lower jaw, and such as are too spread out to be aimed at.
ON_LOWER_JAW = frozenset(
    {"tongue", "submandibular-gland-left", "sublingual-gland-left", "lingual-canal"}
)
NO_TARGETS = frozenset({"airway"})
# Parts of the lower jaw that do more than follow the head's map.
OWN = frozenset({"condyle-left", "mental-foramen-left", "retromolar-left"})

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
    for tooth in dentition(person):
        if tooth.fdi // 10 in LEFT_QUADRANTS:
            yield from solids_of_tooth(tooth)
    yield from led_solids(person)
    yield from own_solids(person)
    for solid, course in canals(person):
        if solid.side is Side.LEFT:
            yield replace(solid, shape=tube(course, CANAL_DIAMETER_MM / 2.0))


def led_solids(person: Person) -> Iterator[NamedSolid]:
    """Those that follow the head's map and nothing else; organs of their own size are carried."""
    warp = head_warp(person)
    for key, shape in cranium_structures().items():
        yield _of_bone(key, in_person(key, shape, person, warp), Frame.SKULL)
    for key, shape in mandible_structures(person).items():
        if key not in OWN:
            yield _of_bone(key, shape, Frame.MANDIBLE)
    yield _of_bone("hyoid", warp.shape(hyoid()), Frame.SKULL)
    steps = soft_parts.MESH_STEP_MM | inner_ear.MESH_STEP_MM | airway.MESH_STEP_MM
    inner = soft_parts.soft_parts() | inner_ear.inner_ear() | airway.airway()
    for key, shape in inner.items():
        if key not in NO_TARGETS:
            frame = Frame.MANDIBLE if key in ON_LOWER_JAW else Frame.SKULL
            yield _of_bone(key, in_person(key, shape, person, warp), frame, steps[key])


def own_solids(person: Person) -> Iterator[NamedSolid]:
    """Those of the lower jaw that depend on more than the head's map."""
    for key, shape in mandible_structures(person).items():
        if key in OWN:
            yield _of_bone(key, shape, Frame.MANDIBLE)


def canals(person: Person) -> Iterator[tuple[NamedSolid, Array]]:
    """Both canals and their pieces below the molars, each with its course (n, 3) [mm].

    Their shapes are left to those who need them: a rod is made from its course (`rods`).
    """
    teeth = {t.fdi: t for t in dentition(person)}
    for side in (Side.LEFT, Side.RIGHT):
        path = canal_path(person, side)
        courses = {f"canal-{side}": (f"the {side} mandibular canal", path)}
        for number in MOLARS_OVER_CANAL[side]:
            if number in teeth and teeth[number].roots:
                piece = _canal_at(path, teeth[number])
                courses[f"canal-at-{number}"] = (f"the mandibular canal below {number}", piece)
        for key, (name, course) in courses.items():
            nothing = Shape(_nowhere, course.min(axis=0), course.max(axis=0))
            yield NamedSolid(key, name, StructureKind.CANAL, side, Frame.MANDIBLE, nothing), course


def _nowhere(points_mm: Array) -> Array:
    return np.full(len(points_mm), np.inf)


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


def other_side(part: DisplayPart, key: str) -> DisplayPart:
    """The same surface on the other side, still facing outwards."""
    return replace(
        part,
        id=key,
        vertices_mm=part.vertices_mm * np.array([-1.0, 1.0, 1.0], np.float32),
        faces=np.ascontiguousarray(part.faces[:, ::-1]),
    )


def solids_of_tooth(tooth: Tooth) -> Iterator[NamedSolid]:
    """A tooth, its crown and its root tips."""
    frame, side = tooth.frame, Side.RIGHT if is_right(tooth.fdi) else Side.LEFT
    shapes = {"": tooth.solid, "-crown": tooth.crown}
    for root in tooth.roots:
        shapes[f"-apex-{root.name}".rstrip("-")] = sphere(apex(tooth, root), APEX_BALL_MM)
    for suffix, shape in shapes.items():
        key, name, kind = words_of_tooth(tooth.fdi, suffix)
        yield NamedSolid(key, name, kind, side, frame, shape)


def words_of_tooth(fdi: int, suffix: str) -> tuple[str, str, StructureKind]:
    """Id, name and kind of a tooth (no suffix), its ``-crown`` or one of its ``-apex-...``."""
    key = f"tooth-{fdi}{suffix}"
    if not suffix:
        return key, f"tooth {fdi}", StructureKind.TOOTH
    if suffix == "-crown":
        return key, f"the crown of {fdi}", StructureKind.CROWN
    root = suffix.removeprefix("-apex").removeprefix("-")
    return key, f"the {TIP_NAMES[root]} of {fdi}", StructureKind.APEX


def apex(tooth: Tooth, root: Root) -> Array:
    """Middle (3,) of the last bit of a root: a small ball just inside the end of its axis [mm]."""
    tip, before = root.axis_mm[-1], root.axis_mm[-2]
    along = (tip - before) / np.linalg.norm(tip - before)
    # the axis may end at the surface or at the last ball's centre: find the surface
    steps = np.linspace(-2.0, 2.0, 161)
    depth = tooth.solid(tip + steps[:, None] * along)
    ends = steps[depth < 0.0]
    end = tip + (ends.max() if len(ends) else 0.0) * along
    return np.asarray(end - APEX_BALL_MM * along)


def _canal_at(path: Array, tooth: Tooth) -> Array:
    """The piece of a canal below a tooth: as long as its crown and a little more."""
    length = tooth.size.md_mm / 2.0 + CANAL_PIECE_MORE_MM
    tips = np.mean([root.axis_mm[-1] for root in tooth.roots], axis=0)
    nearest = int(np.argmin(np.linalg.norm(path - tips, axis=1)))
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
    return np.asarray(path[np.abs(along - along[nearest]) <= length])


def _of_bone(key: str, shape: Shape, frame: Frame, spacing_mm: float | None = None) -> NamedSolid:
    plain = key.removesuffix("-left")
    side = Side.MIDLINE if key == plain else Side.LEFT
    words = plain.replace("-", " ")
    name = f"the {words}" if side is Side.MIDLINE else f"the left {words}"
    kind = KINDS.get(plain, StructureKind.BONE)
    return NamedSolid(key, name, kind, side, frame, shape, spacing_mm)


def structure_of(solid: NamedSolid, finer: int = 1) -> tuple[Structure, Mesh]:
    """The structure with its samples and hull, and its surface.

    ``finer``: with so many times smaller steps, and so many times the corners of its hull.
    """
    size = float(np.min(solid.shape.upper_mm - solid.shape.lower_mm))
    by_size = float(np.clip(size / STEPS_ACROSS, FINEST_MM, COARSEST_MM))
    spacing = (solid.spacing_mm or by_size) / finer
    mesh = snapped(surface(solid.shape, spacing), solid.shape, spacing / 2.0)
    samples, weights, cell_mm, inside = in_cells(solid.shape, mesh, looks=LOOKS * finer)
    structure = Structure(
        id=solid.id,
        name=solid.name,
        kind=solid.kind,
        side=solid.side,
        frame=solid.frame,
        samples_mm=samples,
        weights=weights,
        cell_mm=cell_mm,
        # what is inside too: a surface mesh rounds off corners sharper than its spacing
        hull_mm=hull_corners(np.concatenate([mesh.vertices_mm, inside]), finer),
        volume_mm3=volume_mm3(mesh),
    )
    return structure, mesh


def in_cells(
    shape: Shape, mesh: Mesh, cells: int = CELLS, looks: int = LOOKS
) -> tuple[Array, Array, float, Array]:
    """The solid shared out to the cells of a cubic grid.

    ``mesh`` is its surface, and tells box and volume.

    Returns
    -------
    The middles (n, 3) of what lies in each cell [mm], its share (n,) of the whole, the cells' edge
    [mm], and the hull's corners (m, 3) of all that was seen inside [mm].
    """
    lower, upper = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
    edge = (volume_mm3(mesh) / cells) ** (1.0 / 3.0)
    count = np.ceil((upper - lower) / edge).astype(int) + 1
    start = (lower + upper - count * edge) / 2.0
    x, y, z = (start[i] + (np.arange(count[i] * looks) + 0.5) * edge / looks for i in range(3))
    found = []
    # layer by layer, so that shapes are asked in compact blocks
    for layer in np.array_split(z, count[2]):
        points = np.stack(np.meshgrid(x, y, layer, indexing="ij"), axis=-1).reshape(-1, 3)
        found.append(points[shape(points) < 0.0])
    points = np.concatenate(found)
    cell = np.ravel_multi_index(((points - start) // edge).astype(int).T, tuple(count))
    used, number, seen = np.unique(cell, return_inverse=True, return_counts=True)
    middles = np.stack(
        [np.bincount(number, points[:, i], len(used)) / seen for i in range(3)], axis=1
    )
    corners = points[np.unique(ConvexHull(points).simplices)]
    return middles, seen / seen.sum(), float(edge), corners


def hull_corners(vertices_mm: Array, finer: int = 1) -> Array:
    """Corners of the convex hull that matter (see `farthest`).

    Finer ones are meant to be bent: to them belong also such points of flat and slightly hollow
    faces as would be corners if the face bulged.
    """
    corners = vertices_mm[np.unique(ConvexHull(vertices_mm).simplices)]
    found = corners[farthest(corners, finer)]
    if finer > 1:
        middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
        way = vertices_mm - middle
        square = (way**2).sum(axis=1, keepdims=True)
        bulged = way * (1.0 - BULGE * square / square.max())
        outer = np.unique(ConvexHull(bulged).simplices)
        more = outer[farthest(bulged[outer], 1)]
        found = np.unique(np.concatenate([found, vertices_mm[more]]), axis=0)
    return found


def farthest(corners: Array, finer: int = 1) -> NDArray[np.intp]:
    """Which of a hull's corners (n, 3) matter.

    The farthest in evenly spread directions, and then those most outside of what these span.
    """
    half = float(np.ptp(corners, axis=0).max()) / 2.0
    count = finer * int(np.clip(2.5 * half / HULL_LOSS_MM, FEWEST_DIRECTIONS, MOST_DIRECTIONS))
    if len(corners) <= count:
        return np.arange(len(corners))
    kept = np.unique(np.argmax(spread_ways(count) @ corners.T, axis=1))
    # a face that bulges a little lies between two directions
    planes = ConvexHull(corners[kept]).equations
    outside = np.full(len(corners), -np.inf)
    for some in np.array_split(planes, len(planes) // PLANES_AT_ONCE + 1):
        np.maximum(outside, (some[:, :3] @ corners.T + some[:, 3:]).max(axis=0), out=outside)
    order = np.argsort(-outside, kind="stable")[: count // 4]
    more = order[outside[order] > HULL_LOSS_MM]
    return np.union1d(kept, more)


def spread_ways(count: int) -> Array:
    """Unit vectors (n, 3) spread evenly: a Fibonacci lattice on the sphere (Gonzalez,
    Mathematical Geosciences 2010)."""
    k = np.arange(count) + 0.5
    polar, turn = np.arccos(1 - 2 * k / count), np.pi * (1 + 5**0.5) * k
    return np.stack(
        [np.cos(turn) * np.sin(polar), np.sin(turn) * np.sin(polar), np.cos(polar)], axis=1
    )
