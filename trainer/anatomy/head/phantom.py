"""A head in voxels, for images and doses.

Only the patient's left half is worked out; the right one is its mirror image, but for teeth and
their surroundings where those differ. The lower jaw, its canal and its teeth stand in a volume of
their own, which moves with it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from trainer.anatomy.bones.alveolus import LAMINA_DURA_MM, LIGAMENT_MM
from trainer.anatomy.bones.canal import canal
from trainer.anatomy.head.reference import Reference, reference
from trainer.anatomy.head.solids import Solids, is_symmetric
from trainer.anatomy.shapes.implicit import Shape, grow
from trainer.anatomy.shapes.voxels import Distances, Labels, Rule, VoxelGrid, grid_of_half, paint
from trainer.anatomy.teeth.dentition import dentition, teeth_of
from trainer.anatomy.teeth.tooth_tables import is_right
from trainer.anatomy.teeth.tooth_tissues import is_enamel
from trainer.anatomy.things.things import things_of
from trainer.errors import TrainerError
from trainer.models.frames import Frame, Side
from trainer.models.images import LabelVolume, Phantom
from trainer.models.subject import Jaw, Person

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
CANAL_WALL_MM = 0.4  # dense wall of the mandibular canal: from memory
# Round the teeth the right side is made anew where it is not the left one's mirror image: the
# widest blend and shell reach less far.
AROUND_TEETH_MM = 6.0
AIR_SPACES = (
    "sinus", "ethmoid-cells", "frontal-sinus", "sphenoid-sinus", "ear-canal", "tympanic-cavity",
    "airway", "ostium",
)  # fmt: skip


def build_phantom(
    person: Person,
    spacing_mm: float,
    tell: Callable[[str], None] = lambda _: None,
    book: Reference | None = None,
) -> Phantom:
    """A person's head in voxels of ``spacing_mm``; the same on every run.

    ``tell`` is called with the name of each part before it is made; ``book`` is the reference,
    otherwise the shipped one. Voxels are cubes whose centres lie half a voxel beside the midline
    and at whole multiples of the spacing along y and z, in both volumes. A voxel holds what its
    centre lies in.

    Raises
    ------
    TrainerError
        If the spacing is outside 0.2 to 5 mm.
    NotReadable
        If the shipped reference is missing or broken.
    """
    if not SPACING_RANGE_MM[0] <= spacing_mm <= SPACING_RANGE_MM[1]:
        low, high = SPACING_RANGE_MM
        raise TrainerError(f"voxels must be {low} to {high} mm, got {spacing_mm}")
    return Phantom(*volumes(Solids(person, book or reference()), spacing_mm, tell))


def volumes(
    solids: Solids, spacing_mm: float, tell: Callable[[str], None] = lambda _: None
) -> tuple[LabelVolume, LabelVolume]:
    """What moves with the skull and what moves with the lower jaw, in voxels."""
    tell("things in the mouth and on the head")
    things = things_of(solids.person)
    materials: tuple[str, ...] = PHANTOM_MATERIALS
    materials += tuple(sorted({t.material for t in things} - set(materials)))
    found = []
    for frame, paint_half in ((Frame.SKULL, skull_labels), (Frame.MANDIBLE, mandible_labels)):
        own = [t for t in things if t.frame is frame]
        bone = solids.named("skin") if frame is Frame.SKULL else solids.mandible()
        teeth = [t.solid for t in dentition(solids.person) if t.frame is frame]
        grid = _grid([bone, *teeth, *(t.shape for t in own)], spacing_mm)
        nz, ny, half = grid.count
        labels = np.zeros((nz, ny, 2 * half), np.uint8)
        left = labels[:, :, half:]
        paint_half(solids, grid, tell, left)
        labels[:, :, :half] = left[:, :, ::-1]
        if not is_symmetric(solids.person):
            _paint_right(solids, grid, labels[:, :, half - 1 :: -1], frame, paint_half)
        whole = VoxelGrid(grid.origin_mm - [half * spacing_mm, 0, 0], spacing_mm, labels.shape)
        for thing in own:
            paint(labels, whole, thing.shape, _fill(np.uint8(materials.index(thing.material))))
        found.append(_trimmed(frame, whole, labels, materials))
    return found[0], found[1]


def _paint_right(
    solids: Solids, grid: VoxelGrid, right: Labels, frame: Frame, paint_half: Callable[..., Labels]
) -> None:
    """Makes the surroundings of the right teeth anew, seen in the mirror as if on the left.

    ``right`` is the right half in the mirror; it holds what the left side holds.
    """
    image = solids.mirrored()
    jaw = Jaw.UPPER if frame is Frame.SKULL else Jaw.LOWER
    shapes = [x.process(jaw) for x in (solids, image)]
    shapes += [t.solid for x in (solids, image) for t in teeth_of(x.person, jaw)]
    lower = np.min([s.lower_mm for s in shapes], axis=0) - AROUND_TEETH_MM
    upper = np.max([s.upper_mm for s in shapes], axis=0) + AROUND_TEETH_MM
    where = grid.around(lower, upper)
    count = tuple(part.stop - part.start for part in where)
    start = np.array([grid.axis_mm(axis, where[2 - axis])[0] for axis in range(3)])
    right[where] = paint_half(image, VoxelGrid(start, grid.spacing_mm, count))


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
    upper[0] = max(upper[0], -lower[0])
    return grid_of_half(lower - PAD_MM, upper + PAD_MM, spacing_mm)


def _trimmed(
    frame: Frame, grid: VoxelGrid, labels: Labels, materials: tuple[str, ...]
) -> LabelVolume:
    """Without empty voxels beyond `PAD_MM` round the head; both sides lose as many."""
    spare = int(np.ceil(PAD_MM / grid.spacing_mm))
    ends = []
    for axis in range(3):
        used = np.flatnonzero(labels.any(axis=tuple({0, 1, 2} - {axis})))
        last = labels.shape[axis] - 1
        ends.append([max(int(used[0]) - spare, 0), min(int(used[-1]) + spare, last) + 1])
    lost = min(ends[2][0], labels.shape[2] - ends[2][1])
    z, y, x = ends[0], ends[1], (lost, labels.shape[2] - lost)
    part = np.ascontiguousarray(labels[z[0] : z[1], y[0] : y[1], x[0] : x[1]])
    origin = grid.origin_mm + np.array([x[0], y[0], z[0]]) * grid.spacing_mm
    return LabelVolume(frame, part, origin, grid.spacing_mm, materials)


def skull_labels(
    solids: Solids,
    grid: VoxelGrid,
    tell: Callable[[str], None] = lambda _: None,
    labels: Labels | None = None,
) -> Labels:
    """What moves with the skull, as labels [z, y, x] of a grid on the patient's left.

    They are painted into ``labels``, which are all 0, where given.
    """
    labels = np.zeros(grid.count, np.uint8) if labels is None else labels

    def add(shape: Shape, rule: Rule) -> None:
        paint(labels, grid, shape, rule)

    named = solids.named
    tell("skin")
    add(named("skin"), _skin_rule)
    tell("brain and eyes")
    add(named("brain-space"), _fill(BRAIN))
    add(named("lens"), _fill(LENS))
    tell("neck")
    add(named("cervical-column"), _bone(NECK_SHELL_MM, SPONGY_NECK))
    add(named("hyoid"), _bone(NECK_SHELL_MM, SPONGY_NECK))
    tell("skull")
    process = solids.process_field(Jaw.UPPER)
    add(solids.skull(process), _bone(TABLE_MM, SPONGY_CRANIUM))
    _open_process(labels, grid, process, SPONGY_CRANIUM)
    # the bone round the inner ear is dense throughout
    add(named("petrous"), _swap(SPONGY_CRANIUM, CORTICAL))
    tell("air spaces")
    for space in AIR_SPACES:
        add(named(space), _air_rule)
    add(grow(named("mastoid-cells"), CELL_WALL_MM), _cells_rule)
    tell("upper teeth")
    _add_teeth(labels, grid, solids, Jaw.UPPER)
    return labels


def mandible_labels(
    solids: Solids,
    grid: VoxelGrid,
    tell: Callable[[str], None] = lambda _: None,
    labels: Labels | None = None,
) -> Labels:
    """What moves with the lower jaw, as labels [z, y, x] of a grid on the patient's left.

    They are painted into ``labels``, which are all 0, where given.
    """
    labels = np.zeros(grid.count, np.uint8) if labels is None else labels
    tell("lower jaw")
    paint(labels, grid, solids.mandible_field(), _bone(JAW_SHELL_MM, SPONGY_MANDIBLE))
    _open_process(labels, grid, solids.process_field(Jaw.LOWER), SPONGY_MANDIBLE)
    # the canal is open in the bone and has a wall
    rod = canal(solids.person, Side.LEFT)
    paint(labels, grid, grow(rod, CANAL_WALL_MM), _canal_rule)
    tell("lower teeth")
    _add_teeth(labels, grid, solids, Jaw.LOWER)
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


def _canal_rule(old: Labels, d: Distances) -> Labels:
    """Soft tissue, and dense bone `CANAL_WALL_MM` round it; for a shape grown by that much."""
    wall = (d < 0.0) & (old == SPONGY_MANDIBLE)
    return np.where((d < -CANAL_WALL_MM) & _is_bone(old), SOFT, np.where(wall, CORTICAL, old))


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


def _add_teeth(labels: Labels, grid: VoxelGrid, solids: Solids, jaw: Jaw) -> None:
    """Puts the left teeth of a jaw in their sockets."""
    reach = LIGAMENT_MM + LAMINA_DURA_MM
    for tooth in teeth_of(solids.person, jaw):
        if is_right(tooth.fdi):
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
