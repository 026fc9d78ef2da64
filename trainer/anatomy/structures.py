"""The named structures of a head: which solids, where, and points that fill them evenly."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy.canal import CANAL_DIAMETER_MM, canal, canal_path
from trainer.anatomy.cranium import cranium_structures
from trainer.anatomy.dentition import Tooth, dentition
from trainer.anatomy.implicit import Shape, mirrored, sphere, tube
from trainer.anatomy.mandible import mandible_structures
from trainer.anatomy.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.spine import hyoid
from trainer.anatomy.warp import HeadWarp, head_warp
from trainer.models.frames import Frame, Side
from trainer.models.structures import Structure, StructureKind
from trainer.models.subject import Sex

Array = NDArray[np.float64]

# Samples per structure. A share off by this many evenly strewn samples is about
# 0.3 * n**(-2/3): 0.2 points for 2000 (from memory: stratified sampling, Mitchell 1996).
SAMPLES = 2000
# A root tip is taken as the last bit of the root.
APEX_BALL_MM = 0.6
# At most this many hull corners are kept: the farthest ones in evenly spread directions.
HULL_DIRECTIONS = 400
# Fewest grid steps across the thinnest side of a structure when it is meshed.
STEPS_ACROSS = 8.0

# Lower molars, below which the canal runs close by.
MOLARS_OVER_CANAL = {Side.LEFT: (36, 37, 38), Side.RIGHT: (46, 47, 48)}
# The piece of canal that belongs to a tooth goes this far beyond half its crown, either way.
CANAL_PIECE_MORE_MM = 1.0

JOINT_IDS = ("condyle", "condylar-neck", "fossa", "eminence")
AIR_IDS = ("sinus-left", "sinus-right", "ear-canal", "tympanic-cavity")
ORGAN_IDS = ("lens", "globe")

TIP_NAMES = {
    "": "root tip", "mesial": "tip of the front root", "distal": "tip of the rear root",
    "buccal": "tip of the cheek-side root", "palatal": "tip of the palatal root",
    "mesiobuccal": "tip of the front cheek-side root",
    "distobuccal": "tip of the rear cheek-side root",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class NamedSolid:
    """A structure before it is meshed."""

    id: str
    name: str
    kind: StructureKind
    side: Side
    frame: Frame
    shape: Shape


def named_solids(sex: Sex) -> Iterator[NamedSolid]:
    """Every structure of the mean man or woman as an implicit solid in its own frame."""
    warp = head_warp(sex)
    for tooth in dentition(sex):
        yield from _of_tooth(tooth)
    for key, shape in cranium_structures().items():
        yield from _of_bone(key, shape, Frame.SKULL, warp)
    for key, shape in mandible_structures(sex).items():
        yield from _of_bone(key, shape, Frame.MANDIBLE, None)
    for side in (Side.LEFT, Side.RIGHT):
        yield NamedSolid(f"canal-{side}", f"the {side} mandibular canal", StructureKind.CANAL,
                         side, Frame.MANDIBLE, canal(sex, side))  # fmt: skip
        for number in MOLARS_OVER_CANAL[side]:
            tooth = next(t for t in dentition(sex) if t.fdi == number)
            name = f"the mandibular canal below {number}"
            yield NamedSolid(f"canal-at-{number}", name, StructureKind.CANAL, side,
                             Frame.MANDIBLE, _canal_at(sex, side, tooth))  # fmt: skip
    yield NamedSolid("hyoid", "the hyoid", StructureKind.BONE, Side.MIDLINE, Frame.SKULL,
                     warp.shape(hyoid()))  # fmt: skip


def _of_tooth(tooth: Tooth) -> Iterator[NamedSolid]:
    # ISO 3950: quadrants 1 and 4 are the patient's right
    side = Side.RIGHT if tooth.fdi // 10 in (1, 4) else Side.LEFT
    number = tooth.fdi
    yield NamedSolid(f"tooth-{number}", f"tooth {number}", StructureKind.TOOTH, side, tooth.frame,
                     tooth.solid)  # fmt: skip
    yield NamedSolid(f"tooth-{number}-crown", f"the crown of {number}", StructureKind.CROWN, side,
                     tooth.frame, tooth.crown)  # fmt: skip
    for root in tooth.roots:
        suffix = f"-{root.name}" if root.name else ""
        words = TIP_NAMES[root.name]
        name = f"the {words} of {number}"
        yield NamedSolid(f"tooth-{number}-apex{suffix}", name, StructureKind.APEX, side,
                         tooth.frame, _apex(root.axis_mm, tooth.solid))  # fmt: skip


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


def _canal_at(sex: Sex, side: Side, tooth: Tooth) -> Shape:
    """The piece of canal that runs below a tooth: as long as its crown and a little more."""
    path = canal_path(sex, side)
    length = tooth.size.md_mm / 2.0 + CANAL_PIECE_MORE_MM
    tips = np.mean([root.axis_mm[-1] for root in tooth.roots], axis=0)
    nearest = int(np.argmin(np.linalg.norm(path - tips, axis=1)))
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
    piece = path[np.abs(along - along[nearest]) <= length]
    return tube(piece, CANAL_DIAMETER_MM / 2.0)


def _of_bone(key: str, shape: Shape, frame: Frame, warp: HeadWarp | None) -> Iterator[NamedSolid]:
    plain = key.removesuffix("-left")
    kind = StructureKind.BONE
    if plain in JOINT_IDS:
        kind = StructureKind.JOINT
    elif any(key.startswith(a.removesuffix("-left")) for a in ORGAN_IDS):
        kind = StructureKind.ORGAN
    elif key in AIR_IDS or plain in AIR_IDS:
        kind = StructureKind.AIR
    words = plain.replace("-", " ")
    if key == plain:
        solid = warp.shape(shape) if warp else shape
        yield NamedSolid(key, f"the {words}", kind, Side.MIDLINE, frame, solid)
        return
    for side, half in ((Side.LEFT, shape), (Side.RIGHT, mirrored(shape))):
        solid = warp.shape(half) if warp else half
        yield NamedSolid(f"{plain}-{side}", f"the {side} {words}", kind, side, frame, solid)


def structure_of(solid: NamedSolid) -> tuple[Structure, Mesh]:
    """The structure with its samples and hull, and its surface."""
    size = float(np.min(solid.shape.upper_mm - solid.shape.lower_mm))
    spacing = float(np.clip(size / STEPS_ACROSS, 0.1, 0.6))
    mesh = surface(solid.shape, spacing)
    samples = strewn(solid.shape, mesh)
    structure = Structure(
        id=solid.id,
        name=solid.name,
        kind=solid.kind,
        side=solid.side,
        frame=solid.frame,
        samples_mm=samples,
        weights=np.full(len(samples), 1.0 / len(samples)),
        hull_mm=hull_corners(mesh.vertices_mm),
        volume_mm3=volume_mm3(mesh),
    )
    return structure, mesh


def strewn(shape: Shape, mesh: Mesh, wanted: int = SAMPLES) -> Array:
    """About ``wanted`` points spread evenly through the solid, the same on every run.

    The R3 sequence (Roberts, "The unreasonable effectiveness of quasirandom sequences", 2018):
    steps of powers of 1/1.2207..., the root of x^4 = x + 1, fill a box with no clumps; those in
    the solid are kept.
    """
    lower, upper = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
    filled = max(volume_mm3(mesh) / float(np.prod(upper - lower)), 0.002)
    phi = 1.2207440846057596
    steps = phi ** -np.arange(1, 4)
    tried = int(wanted / filled * 1.05) + 64
    unit = (0.5 + np.arange(1, tried + 1)[:, None] * steps) % 1.0
    inside = [
        block[shape(block) < 0.0]
        for block in np.array_split(lower + unit * (upper - lower), max(1, tried // 20000))
    ]
    return np.concatenate(inside)


def hull_corners(vertices_mm: Array) -> Array:
    """Corners of the convex hull, at most `HULL_DIRECTIONS` of them."""
    corners = vertices_mm[np.unique(ConvexHull(vertices_mm).simplices)]
    if len(corners) <= HULL_DIRECTIONS:
        return corners
    k = np.arange(HULL_DIRECTIONS) + 0.5
    polar, turn = np.arccos(1 - 2 * k / HULL_DIRECTIONS), np.pi * (1 + 5**0.5) * k
    ways = np.stack(
        [np.cos(turn) * np.sin(polar), np.sin(turn) * np.sin(polar), np.cos(polar)], axis=1
    )
    return corners[np.unique(np.argmax(corners @ ways.T, axis=0))]
