"""Teeth as surfaces and samples in tooth coordinates, and how they come to stand in a jaw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.packing import Pieces
from trainer.anatomy.head.structures import (
    APEX_BALL_MM,
    STRUCTURE_TRIANGLES,
    NamedSolid,
    apex,
    hull_corners,
    mirror_name,
    mirrored_structure,
    other_side,
    structure_of,
    words_of_tooth,
)
from trainer.anatomy.shapes.implicit import sphere
from trainer.anatomy.shapes.meshing import Mesh, simplified, surface, volume_mm3
from trainer.anatomy.teeth.dentition import Tooth, dentition, whole_dentition
from trainer.anatomy.teeth.tooth_measures import EDGE_DEPTH_MM
from trainer.anatomy.teeth.tooth_shapes import tooth_model
from trainer.anatomy.teeth.tooth_tables import SIZES, fdi_of, is_right, kind_of
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.structures import Structure, StructureKind
from trainer.models.subject import Person

Array = NDArray[np.float64]

TOOTH_KINDS: tuple[tuple[str, int], ...] = tuple(SIZES)
TOOTH_TRIANGLES = (420, 80)
TIPS_MM, RESORBED_MM = 0.25, 0.45  # grids for the crown's tips and for a resorbed tooth
# Quadrants in which the tooth's own first axis runs to distal (see `dentition.Tooth`).
MIRRORED_QUADRANTS = (2, 4, 6, 8)
CROWN = "-crown"


@dataclass(frozen=True, slots=True)
class ToothPattern:
    """A tooth in tooth coordinates, mesial first [mm].

    ``pieces`` holds the display surfaces and, under "" and "-crown", the structures and marks of
    tooth and crown. ``cusp_mm`` is the tip of the mesiobuccal cusp, ``edge_mm`` the middle of the
    biting edge.
    """

    pieces: Pieces
    cusp_mm: Array
    edge_mm: Array


def tooth_pattern(jaw: str, place: int) -> ToothPattern:
    """A finished tooth of a kind (`tooth_tables.kind_of`), worked out from its solids."""
    model = tooth_model(jaw, place)
    frame = Frame.SKULL if jaw == "upper" else Frame.MANDIBLE
    structures, marks, mesh = {}, {}, None
    for suffix, kind, shape in (
        ("", StructureKind.TOOTH, model.solid),
        (CROWN, StructureKind.CROWN, model.crown),
    ):
        solid = NamedSolid(suffix, suffix, kind, Side.LEFT, frame, shape)
        structures[suffix], found = structure_of(solid)
        marks[suffix] = _part(suffix, Tissue.BONE, frame, simplified(found, STRUCTURE_TRIANGLES))
        mesh = mesh or found
    assert mesh is not None
    fine = simplified(mesh, TOOTH_TRIANGLES[0])
    coarse = simplified(fine, TOOTH_TRIANGLES[1])
    tooth, rough = (_part("", Tissue.TOOTH, frame, m) for m in (fine, coarse))
    top = surface(model.crown, TIPS_MM).vertices_mm
    outer = top[(top[:, 0] > 0.0) & (top[:, 1] > 0.0)]
    return ToothPattern(
        Pieces((tooth,), (rough,), structures, marks),
        outer[np.argmax(outer[:, 2])],
        top[top[:, 2] > top[:, 2].max() - EDGE_DEPTH_MM].mean(axis=0),
    )


def ids_of_tooth(fdi: int) -> tuple[str, ...]:
    """Ids of the structures that a finished tooth has."""
    tips = (f"-apex-{root.name}".rstrip("-") for root in tooth_model(*kind_of(fdi)).roots)
    return tuple(words_of_tooth(fdi, suffix)[0] for suffix in ("", CROWN, *tips))


def pattern_of(tooth: Tooth, finished: Mapping[tuple[str, int], ToothPattern]) -> ToothPattern:
    """The tooth's pattern: one of the ``finished`` kinds, cut off where its roots end so far."""
    pattern = finished[kind_of(tooth.fdi)]
    if tooth.root_share >= 1.0:
        return pattern
    return cut_off(pattern, tooth.model.solid.lower_mm[2], _middles(tooth))


def _middles(tooth: Tooth) -> Array:
    """Where the roots' middle lines end so far, (n, 3) in tooth coordinates."""
    ends = [root.axis_mm[-1] for root in tooth.model.roots]
    return np.array(ends or [[0.0, 0.0, tooth.model.solid.lower_mm[2]]])


def cut_off(pattern: ToothPattern, end_mm: float, middles_mm: Array) -> ToothPattern:
    """The tooth above the height ``end_mm``, ending flat; ``middles_mm`` (n, 3) are its roots'."""
    pieces = pattern.pieces
    fine, coarse = (
        tuple(_cut_part(part, end_mm, middles_mm) for part in parts)
        for parts in (pieces.fine, pieces.coarse)
    )
    marks = {**pieces.marks, "": _cut_part(pieces.marks[""], end_mm, middles_mm)}
    whole = pieces.structures[""]
    # cells at the end are held in part
    held = np.clip(0.5 + (whole.samples_mm[:, 2] - end_mm) / whole.cell_mm, 0.0, 1.0)
    weights = whole.weights * held
    kept = weights > 0.0
    samples = whole.samples_mm[kept]
    beyond = np.minimum(end_mm + whole.cell_mm / 2.0 - samples[:, 2], whole.cell_mm)
    samples[:, 2] += np.maximum(beyond, 0.0) / 2.0
    rim = _crossings(pieces.fine[0], end_mm)[2]
    corners = [whole.hull_mm[whole.hull_mm[:, 2] >= end_mm], rim]
    cut = replace(
        whole,
        samples_mm=samples,
        weights=weights[kept] / weights.sum(),
        hull_mm=hull_corners(np.concatenate(corners)),
        volume_mm3=whole.volume_mm3 * float(weights.sum()),
    )
    structures = {**pieces.structures, "": cut}
    return replace(pattern, pieces=Pieces(fine, coarse, structures, marks))


def _crossings(part: DisplayPart, end_mm: float) -> tuple[Array, Array, Array]:
    """Corners above and below the height that an edge joins, and where it crosses, (n, 3)."""
    edges = part.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    high = part.vertices_mm[:, 2] >= end_mm
    above, below = edges[high[edges[:, 0]] & ~high[edges[:, 1]]].T
    a, b = (part.vertices_mm[i].astype(float) for i in (above, below))
    share = (a[:, 2] - end_mm) / (a[:, 2] - b[:, 2])
    return above, below, a + share[:, None] * (b - a)


def _cut_part(part: DisplayPart, end_mm: float, middles_mm: Array) -> DisplayPart:
    """The surface with what lies below the height drawn up into a flat end.

    The first corners below come to lie on the rim, the others in the roots' middle, so that the
    surface stays closed.
    """
    vertices = part.vertices_mm.astype(float)
    low = vertices[:, 2] < end_mm
    _, below, rim = _crossings(part, end_mm)
    away = np.linalg.norm(vertices[:, None, :2] - middles_mm[None, :, :2], axis=2)
    vertices[low, :2] = middles_mm[np.argmin(away, axis=1), :2][low]
    count = np.bincount(below, minlength=len(vertices))
    first = np.flatnonzero(count)
    for axis in range(3):
        total = np.bincount(below, rim[:, axis], len(vertices))
        vertices[first, axis] = total[first] / count[first]
    vertices[low, 2] = end_mm
    return replace(part, vertices_mm=vertices.astype(np.float32))


def stand(tooth: Tooth, points_mm: Array) -> Array:
    """Where points (n, 3) of the tooth's pattern come to lie in its jaw's frame [mm]."""
    c, r = tooth.stretch
    q = np.asarray(points_mm, float) * c
    q[:, 2] = np.where(points_mm[:, 2] < 0.0, points_mm[:, 2] * r, q[:, 2])
    if _mirrored(tooth):
        q[:, 0] *= -1.0
    return np.asarray(q @ tooth.rotation.T + tooth.origin_mm)


def _mirrored(tooth: Tooth) -> bool:
    return tooth.fdi // 10 in MIRRORED_QUADRANTS


def pieces_of_teeth(
    person: Person, finished: Mapping[tuple[str, int], ToothPattern]
) -> list[Pieces]:
    """All teeth that the person has, in the order of `dentition`."""
    made: dict[int, Pieces] = {}
    whole = {tooth.fdi: tooth for tooth in whole_dentition(person)}

    def pieces(tooth: Tooth) -> Pieces:
        if tooth.fdi not in made:
            if tooth.resorbed and is_right(tooth.fdi):
                # takes long, and the left one, lost or not, is its mirror image
                left = whole[fdi_of(*kind_of(tooth.fdi), right=False)]
                made[tooth.fdi] = _mirrored_pieces(pieces(left))
            else:
                made[tooth.fdi] = pieces_of_tooth(tooth, pattern_of(tooth, finished))
        return made[tooth.fdi]

    return [pieces(tooth) for tooth in dentition(person)]


def _mirrored_pieces(left: Pieces) -> Pieces:
    fine, coarse = (
        tuple(other_side(part, mirror_name(part.id)) for part in parts)
        for parts in (left.fine, left.coarse)
    )
    structures = [mirrored_structure(s) for s in left.structures.values()]
    marks = [other_side(mark, mirror_name(key)) for key, mark in left.marks.items()]
    return Pieces(fine, coarse, {s.id: s for s in structures}, {m.id: m for m in marks})


def pieces_of_tooth(tooth: Tooth, pattern: ToothPattern) -> Pieces:
    """The tooth with crown and root tips in its jaw."""
    held = pattern.pieces
    # what is still in the bone is seen less: its mark's triangles do
    shown = held.fine[0] if tooth.erupted else replace(held.marks[""], tissue=Tissue.TOOTH)
    fine, coarse = ((_stood(tooth, "", part),) for part in (shown, held.coarse[0]))
    structures = [
        _stood_structure(tooth, suffix, held.structures[suffix]) for suffix in ("", CROWN)
    ]
    marks = [_stood(tooth, suffix, held.marks[suffix]) for suffix in ("", CROWN)]
    if tooth.resorbed:
        structures[0], mesh = _dissolved(tooth, structures[0])
        fine, coarse = (
            (_part(structures[0].id, Tissue.TOOTH, tooth.frame, simplified(mesh, count)),)
            for count in TOOTH_TRIANGLES
        )
        mark = simplified(mesh, STRUCTURE_TRIANGLES)
        marks[0] = _part(structures[0].id, Tissue.BONE, tooth.frame, mark)
    for root in tooth.roots:
        structure, part = _tip(tooth, f"-apex-{root.name}".rstrip("-"), apex(tooth, root))
        structures.append(structure)
        marks.append(part)
    return Pieces(fine, coarse, {s.id: s for s in structures}, {m.id: m for m in marks})


def _dissolved(tooth: Tooth, whole: Structure) -> tuple[Structure, Mesh]:
    """The structure without what the tooth's own solid lacks of the ``whole``, and its surface."""
    kept = tooth.solid(whole.samples_mm) < 0.0
    weights = whole.weights[kept]
    mesh = surface(tooth.solid, RESORBED_MM)
    samples = whole.samples_mm[kept]
    cut = replace(
        whole,
        samples_mm=samples,
        weights=weights / weights.sum(),
        hull_mm=hull_corners(np.concatenate([mesh.vertices_mm, samples])),
        volume_mm3=volume_mm3(mesh),
    )
    return cut, mesh


def _side(tooth: Tooth) -> Side:
    return Side.RIGHT if is_right(tooth.fdi) else Side.LEFT


def _stood(tooth: Tooth, suffix: str, part: DisplayPart) -> DisplayPart:
    faces = part.faces[:, ::-1] if _mirrored(tooth) else part.faces
    vertices = stand(tooth, part.vertices_mm.astype(float)).astype(np.float32)
    key = words_of_tooth(tooth.fdi, suffix)[0]
    return replace(part, id=key, vertices_mm=vertices, faces=np.ascontiguousarray(faces))


def _stood_structure(tooth: Tooth, suffix: str, structure: Structure) -> Structure:
    key, name, kind = words_of_tooth(tooth.fdi, suffix)
    c, r = tooth.stretch
    grown = structure.weights * np.where(structure.samples_mm[:, 2] < 0.0, c * c * r, c**3)
    more = float(grown.sum() / structure.weights.sum())
    return Structure(
        key,
        name,
        kind,
        _side(tooth),
        tooth.frame,
        stand(tooth, structure.samples_mm),
        grown / grown.sum(),
        structure.cell_mm * more ** (1.0 / 3.0),
        stand(tooth, structure.hull_mm),
        structure.volume_mm3 * more,
    )


@lru_cache(maxsize=1)
def _ball() -> tuple[Structure, Mesh]:
    """The root tip's ball about the origin."""
    shape = sphere(np.zeros(3), APEX_BALL_MM)
    structure, mesh = structure_of(
        NamedSolid("", "", StructureKind.APEX, Side.LEFT, Frame.SKULL, shape)
    )
    structure = replace(structure, volume_mm3=4.0 / 3.0 * np.pi * APEX_BALL_MM**3)
    return structure, simplified(mesh, STRUCTURE_TRIANGLES)


def _tip(tooth: Tooth, suffix: str, middle_mm: Array) -> tuple[Structure, DisplayPart]:
    ball, mesh = _ball()
    # mirror images of each other on both sides
    turn = np.array([-1.0, 1.0, 1.0]) if is_right(tooth.fdi) else np.ones(3)
    key, name, kind = words_of_tooth(tooth.fdi, suffix)
    structure = replace(
        ball,
        id=key,
        name=name,
        kind=kind,
        side=_side(tooth),
        frame=tooth.frame,
        samples_mm=ball.samples_mm * turn + middle_mm,
        hull_mm=ball.hull_mm * turn + middle_mm,
    )
    faces = mesh.faces[:, ::-1] if is_right(tooth.fdi) else mesh.faces
    corners = mesh.vertices_mm * turn + middle_mm
    return structure, _part(key, Tissue.BONE, tooth.frame, Mesh(corners, faces))


def _part(key: str, tissue: Tissue, frame: Frame, mesh: Mesh) -> DisplayPart:
    vertices = mesh.vertices_mm.astype(np.float32)
    return DisplayPart(key, tissue, frame, vertices, np.ascontiguousarray(mesh.faces))
