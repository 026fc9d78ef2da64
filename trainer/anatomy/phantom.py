"""The mean head in voxels, for images and doses.

Only the patient's left half is worked out; the right one is its mirror image. The lower jaw, its
canal and its teeth stand in a volume of their own, which moves with it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt, map_coordinates

from trainer.anatomy import midface, skull_base
from trainer.anatomy.airway import airway
from trainer.anatomy.alveolus import alveolar_process
from trainer.anatomy.braincase import inner_vault
from trainer.anatomy.build import MAXILLA_BLEND_MM
from trainer.anatomy.canal import canal
from trainer.anatomy.cranium import cranium
from trainer.anatomy.dentition import Tooth, dentition
from trainer.anatomy.implicit import Shape, grow, union
from trainer.anatomy.mandible import mandible
from trainer.anatomy.skin import skin
from trainer.anatomy.spine import cervical_column, hyoid
from trainer.anatomy.structures import LEFT_QUADRANTS
from trainer.anatomy.tooth_tissues import is_enamel
from trainer.anatomy.voxels import (
    Distances,
    Labels,
    Rule,
    VoxelGrid,
    grid_of_half,
    mirrored_halves,
    paint,
)
from trainer.anatomy.warp import HeadWarp, head_warp
from trainer.errors import TrainerError
from trainer.models.frames import Frame, Side
from trainer.models.images import LabelVolume, Phantom
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Names of `materials.MATERIALS`, by label.
PHANTOM_MATERIALS = (
    "air",
    "soft tissue",
    "skin",
    "brain",
    "eye lens",
    "cortical bone",
    "spongy bone of the cranium",
    "spongy bone of the mandible",
    "spongy bone of the neck",
    "enamel",
    "dentine",
    "pulp",
)
(AIR, SOFT, SKIN, BRAIN, LENS, CORTICAL, SPONGY_CRANIUM, SPONGY_MANDIBLE, SPONGY_NECK, ENAMEL,
 DENTINE, PULP) = (np.uint8(i) for i in range(len(PHANTOM_MATERIALS)))  # fmt: skip
# Bone is one run of labels.
FIRST_BONE, LAST_BONE = CORTICAL, SPONGY_NECK

SPACING_RANGE_MM = (0.2, 5.0)
PAD_MM = 2.0  # air round the head
# Skin of the face, 1.5 to 2: from memory.
SKIN_MM = 1.8
# Dense outer layer of the bones: tables of the vault 1.5 to 2 with spongy bone between, plates of
# the lower jaw 2 to 3, vertebrae about 1: from memory of anatomy texts.
TABLE_MM, JAW_SHELL_MM, NECK_SHELL_MM = 1.7, 2.4, 1.0
# The same of the processes that carry the teeth, below their crest: from memory likewise.
PROCESS_SHELL_MM = 1.2
# Walls between the mastoid's air cells are dense: from memory.
CELL_WALL_MM = 0.8
# Gap of the periodontal ligament 0.2 (0.15-0.38), wall of the socket beyond it: from memory.
LIGAMENT_MM, SOCKET_WALL_MM = 0.2, 0.45
CANAL_WALL_MM = 0.4  # dense wall of the mandibular canal: from memory
WARP_STEP_MM = 4.0  # between two places where the head's map is worked out


def build_phantom(
    person: Person, spacing_mm: float, tell: Callable[[str], None] = lambda _: None
) -> Phantom:
    """The mean man's or woman's head in voxels of ``spacing_mm``; the same on every run.

    ``tell`` is called with the name of each part before it is made. Voxels are cubes whose centres
    lie half a voxel beside the midline and at whole multiples of the spacing along y and z, in both
    volumes. A voxel holds what its centre lies in.

    Raises
    ------
    TrainerError
        If the spacing is outside 0.2 to 5 mm.
    """
    if not SPACING_RANGE_MM[0] <= spacing_mm <= SPACING_RANGE_MM[1]:
        low, high = SPACING_RANGE_MM
        raise TrainerError(f"voxels must be {low} to {high} mm, got {spacing_mm}")
    outer = head_warp(person).shape(skin())
    skull = _grid([outer], spacing_mm)
    lower = [t.solid for t in dentition(person) if t.frame is Frame.MANDIBLE]
    jaw = _grid([mandible(person), *lower], spacing_mm)
    return Phantom(
        _whole(Frame.SKULL, skull, skull_labels(person, skull, tell)),
        _whole(Frame.MANDIBLE, jaw, mandible_labels(person, jaw, tell)),
    )


def teeth_together(phantom: Phantom) -> LabelVolume:
    """Both volumes in one, skull frame, with the lower jaw closed."""
    skull, jaw = phantom.skull, phantom.mandible
    step = np.round((jaw.origin_mm - skull.origin_mm) / skull.spacing_mm).astype(int)
    labels = skull.labels.copy()
    part = labels[tuple(slice(o, o + n) for o, n in zip(step[::-1], jaw.labels.shape, strict=True))]
    part[jaw.labels > 0] = jaw.labels[jaw.labels > 0]
    return LabelVolume(Frame.SKULL, labels, skull.origin_mm, skull.spacing_mm, skull.materials)


def _grid(shapes: list[Shape], spacing_mm: float) -> VoxelGrid:
    lower = np.min([s.lower_mm for s in shapes], axis=0)
    upper = np.max([s.upper_mm for s in shapes], axis=0)
    return grid_of_half(lower - PAD_MM, upper + PAD_MM, spacing_mm)


def _whole(frame: Frame, grid: VoxelGrid, left: Labels) -> LabelVolume:
    """Both halves, without empty voxels beyond `PAD_MM` round the head."""
    spare = int(np.ceil(PAD_MM / grid.spacing_mm))
    filled = left > 0
    ends = []
    for axis in range(3):
        used = np.flatnonzero(filled.any(axis=tuple({0, 1, 2} - {axis})))
        ends.append((max(int(used[0]) - spare, 0), int(used[-1]) + spare + 1))
    z, y, (_, wide) = ends
    part = left[z[0] : z[1], y[0] : y[1], :wide]
    origin = grid.origin_mm + np.array([-part.shape[2], y[0], z[0]]) * grid.spacing_mm
    return LabelVolume(frame, mirrored_halves(part), origin, grid.spacing_mm, PHANTOM_MATERIALS)


def skull_labels(
    person: Person, grid: VoxelGrid, tell: Callable[[str], None] = lambda _: None
) -> Labels:
    """What moves with the skull, as labels [z, y, x] of a grid on the patient's left."""
    labels = np.zeros(grid.count, np.uint8)
    led = _leader(head_warp(person), grid)

    def add(shape: Shape, rule: Rule) -> None:
        paint(labels, grid, shape, rule)

    tell("skin")
    add(led(skin()), _skin_rule)
    tell("brain and eyes")
    add(led(inner_vault()), _fill(BRAIN))
    add(led(midface.lens()), _fill(LENS))
    tell("neck")
    add(led(cervical_column()), _bone(NECK_SHELL_MM, SPONGY_NECK))
    add(led(hyoid()), _bone(NECK_SHELL_MM, SPONGY_NECK))
    tell("skull")
    upper = [t for t in dentition(person) if t.frame is Frame.SKULL]
    process = alveolar_process(upper)
    maxilla = union(led(cranium()), process, blend_mm=MAXILLA_BLEND_MM)
    add(maxilla, _bone(TABLE_MM, SPONGY_CRANIUM))
    _open_process(labels, grid, process, SPONGY_CRANIUM)
    # the bone round the inner ear is dense throughout
    add(led(skull_base.petrous()), _swap(SPONGY_CRANIUM, CORTICAL))
    tell("air spaces")
    passages = airway()
    for space in (
        midface.sinus(), midface.ethmoid_cells(), midface.frontal_sinus(),
        skull_base.sphenoid_sinus(), skull_base.ear_canal(), skull_base.tympanic_cavity(),
        passages["airway"], passages["ostium-left"],
    ):  # fmt: skip
        add(led(space), _air_rule)
    add(grow(led(passages["mastoid-cells-left"]), CELL_WALL_MM), _cells_rule)
    tell("upper teeth")
    _add_teeth(labels, grid, upper)
    return labels


def mandible_labels(
    person: Person, grid: VoxelGrid, tell: Callable[[str], None] = lambda _: None
) -> Labels:
    """What moves with the lower jaw, as labels [z, y, x] of a grid on the patient's left."""
    labels = np.zeros(grid.count, np.uint8)
    tell("lower jaw")
    lower = [t for t in dentition(person) if t.frame is Frame.MANDIBLE]
    paint(labels, grid, mandible(person), _bone(JAW_SHELL_MM, SPONGY_MANDIBLE))
    _open_process(labels, grid, alveolar_process(lower), SPONGY_MANDIBLE)
    _add_canal(labels, grid, canal(person, Side.LEFT))
    tell("lower teeth")
    _add_teeth(labels, grid, lower)
    return labels


# --- what a shape does to the voxels it holds --------------------------------------------------


def _fill(material: np.uint8) -> Rule:
    return lambda old, d: np.where(d < 0.0, material, old)


def _swap(old_material: np.uint8, material: np.uint8) -> Rule:
    return lambda old, d: np.where((d < 0.0) & (old == old_material), material, old)


def _bone(shell_mm: float, inside: np.uint8) -> Rule:
    def rule(old: Labels, d: Distances) -> Labels:
        return np.where(d < -shell_mm, inside, np.where(d < 0.0, CORTICAL, old))

    return rule


def _cells_rule(old: Labels, d: Distances) -> Labels:
    """Air, and dense bone `CELL_WALL_MM` round it; for a shape grown by that much."""
    wall = (d < 0.0) & (old == SPONGY_CRANIUM)
    return np.where(d < -CELL_WALL_MM, AIR, np.where(wall, CORTICAL, old))


def _skin_rule(old: Labels, d: Distances) -> Labels:
    return np.where(d < -SKIN_MM, SOFT, np.where(d < 0.0, SKIN, old))


def _air_rule(old: Labels, d: Distances) -> Labels:
    return np.where((d < 0.0) & ~_is_bone(old), AIR, old)


def _is_bone(labels: Labels) -> NDArray[np.bool_]:
    return (labels >= FIRST_BONE) & (labels <= LAST_BONE)


# --- small parts, asked at every voxel -----------------------------------------------------------


def _open_process(labels: Labels, grid: VoxelGrid, process: Shape, spongy: np.uint8) -> None:
    """Thins the dense layer of a process that carries teeth to `PROCESS_SHELL_MM`.

    It is a blend of many narrow blocks, whose distance says nothing of depth in the whole, so depth
    is counted in voxels.
    """
    where = grid.around(process.lower_mm - JAW_SHELL_MM, process.upper_mm + JAW_SHELL_MM)
    old = labels[where]
    if not old.size:
        return
    depth = (distance_transform_edt(_is_bone(old)) - 0.5) * grid.spacing_mm
    found = np.flatnonzero((old == CORTICAL) & (depth > PROCESS_SHELL_MM))
    if len(found):
        within = process.distance(grid.points_mm(where)[found]) < 0.0
        new = old.ravel()
        new[found[within]] = spongy
        labels[where] = new.reshape(old.shape)


def _add_teeth(labels: Labels, grid: VoxelGrid, teeth: list[Tooth]) -> None:
    """Puts the left ones of the teeth in their sockets."""
    reach = LIGAMENT_MM + SOCKET_WALL_MM
    for tooth in teeth:
        if tooth.fdi // 10 not in LEFT_QUADRANTS:
            continue
        where = grid.around(tooth.solid.lower_mm - reach, tooth.solid.upper_mm + reach)
        points = grid.points_mm(where)
        if not len(points):
            continue
        old = labels[where]
        new = old.ravel()  # a copy, since the block is not contiguous
        d = tooth.solid.distance(points)
        bone = _is_bone(new)
        new[bone & (d < reach)] = CORTICAL
        new[bone & (d < LIGAMENT_MM)] = SOFT
        inside = np.flatnonzero(d < 0.0)
        if len(inside):
            q = points[inside]
            hard = np.where(is_enamel(tooth, q, -d[inside]), ENAMEL, DENTINE)
            new[inside] = np.where(tooth.pulp.distance(q) < 0.0, PULP, hard)
        labels[where] = new.reshape(old.shape)


def _add_canal(labels: Labels, grid: VoxelGrid, rod: Shape) -> None:
    """Opens the canal in the bone and gives it a wall."""
    where = grid.around(rod.lower_mm - CANAL_WALL_MM, rod.upper_mm + CANAL_WALL_MM)
    old = labels[where]
    if not old.size:
        return
    d = rod.distance(grid.points_mm(where)).reshape(old.shape)
    wall = np.where((d < CANAL_WALL_MM) & (old == SPONGY_MANDIBLE), CORTICAL, old)
    labels[where] = np.where((d < 0.0) & _is_bone(old), SOFT, wall)


# --- from the mean man ------------------------------------------------------------------------


def _leader(warp: HeadWarp, grid: VoxelGrid) -> Callable[[Shape], Shape]:
    """What brings a shape of the mean man to the subject, as `HeadWarp.shape` but quicker.

    The map is smooth, so it is worked out once on a wide lattice over the grid and interpolated
    straight in between (0.05 mm at most, by test).
    """
    if warp.to_man is None:
        return lambda shape: shape
    count = [int(np.ceil(n * grid.spacing_mm / WARP_STEP_MM)) + 5 for n in grid.count[::-1]]
    start = grid.origin_mm - 2 * WARP_STEP_MM
    axes = [s + np.arange(n) * WARP_STEP_MM for s, n in zip(start, count, strict=True)]
    knots = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    moves = [np.ascontiguousarray(m.reshape(count)) for m in (warp.to_mean_man(knots) - knots).T]

    def to_man(p: Array) -> Array:
        at = ((p - start) / WARP_STEP_MM).T
        return p + np.stack([map_coordinates(m, at, order=1, mode="nearest") for m in moves], 1)

    def led(shape: Shape) -> Shape:
        return Shape(
            lambda p: shape.distance(to_man(p)),
            shape.lower_mm - warp.reach_mm,
            shape.upper_mm + warp.reach_mm,
        )

    return led
