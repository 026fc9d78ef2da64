"""One head, from the implicit model to surfaces and samples."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from trainer.anatomy.alveolus import alveolar_process
from trainer.anatomy.canal import canal
from trainer.anatomy.cranium import cranium
from trainer.anatomy.dentition import dentition
from trainer.anatomy.implicit import union
from trainer.anatomy.landmarks import chin_contact, starter_landmarks
from trainer.anatomy.mandible import mandible
from trainer.anatomy.meshing import Mesh, simplified, surface
from trainer.anatomy.skin import jaw_share, skin
from trainer.anatomy.spine import cervical_column, hyoid
from trainer.anatomy.structures import (
    LEFT_QUADRANTS,
    MIRROR,
    mirror_name,
    mirrored_structure,
    named_solids,
    structure_of,
)
from trainer.anatomy.tooth_measures import front_outer_cusp, incisal_edge
from trainer.anatomy.warp import head_warp
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.models.structures import Head
from trainer.models.subject import Person

# Raise when a change of the model changes the meshes.
GENERATOR_VERSION = 1
# Triangles at rest and while something moves; all parts together stay below 60 000 at rest.
SKULL_TRIANGLES = (17000, 3400)
MANDIBLE_TRIANGLES = (7000, 1700)
SPINE_TRIANGLES = (3500, 1000)
HYOID_TRIANGLES = (500, 200)
SKIN_TRIANGLES = (14000, 4000)
TOOTH_TRIANGLES = (420, 80)
CANAL_TRIANGLES = (400, 150)
STRUCTURE_TRIANGLES = 200
# The bone between braincase and teeth: how softly the alveolar process meets the upper jaw.
MAXILLA_BLEND_MM = 3.0


def build_head(person: Person, tell: Callable[[str], None] = lambda _: None) -> HeadMeshes:
    """Surfaces, structures and landmarks of the mean man or woman.

    ``tell`` is called with the name of each part before it is made. The result is the same on
    every run.
    """
    warp = head_warp(person)
    teeth = dentition(person)
    upper = [t for t in teeth if t.frame is Frame.SKULL]
    fine: list[DisplayPart] = []
    coarse: list[DisplayPart] = []

    def add(
        part: str,
        tissue: Tissue,
        frame: Frame,
        mesh: Mesh,
        budget: tuple[int, int],
        follows: bool = False,
    ) -> None:
        for parts, triangles in ((fine, budget[0]), (coarse, budget[1])):
            # the coarse surface comes from the fine one: quicker, and closed more surely
            mesh = simplified(mesh, triangles)
            to_mean_man = warp.to_mean_man if follows else None
            parts.append(display_part(part, tissue, frame, mesh, to_mean_man))

    def add_pair(
        part: str, tissue: Tissue, frame: Frame, mesh: Mesh, budget: tuple[int, int]
    ) -> None:
        add(part, tissue, frame, mesh, budget)
        for parts in (fine, coarse):
            parts.append(mirrored_part(parts[-1]))

    tell("skull")
    maxilla = union(warp.shape(cranium()), alveolar_process(upper), blend_mm=MAXILLA_BLEND_MM)
    add("skull", Tissue.BONE, Frame.SKULL, surface(maxilla, 1.0), SKULL_TRIANGLES)
    tell("lower jaw")
    add("mandible", Tissue.BONE, Frame.MANDIBLE, surface(mandible(person), 0.8), MANDIBLE_TRIANGLES)
    tell("cervical column and hyoid")
    spine = surface(warp.shape(cervical_column()), 1.0)
    add("cervical-column", Tissue.BONE, Frame.SKULL, spine, SPINE_TRIANGLES)
    add("hyoid", Tissue.BONE, Frame.SKULL, surface(warp.shape(hyoid()), 0.8), HYOID_TRIANGLES)
    tell("skin")
    add("skin", Tissue.SKIN, Frame.SKULL, surface(warp.shape(skin()), 1.3), SKIN_TRIANGLES, True)
    tell("teeth and canals")
    for tooth in teeth:
        if tooth.fdi // 10 in LEFT_QUADRANTS:
            add_pair(
                f"tooth-{tooth.fdi}",
                Tissue.TOOTH,
                tooth.frame,
                surface(tooth.solid, 0.35),
                TOOTH_TRIANGLES,
            )
    add_pair(
        "canal-left",
        Tissue.NERVE,
        Frame.MANDIBLE,
        surface(canal(person, Side.LEFT), 0.4),
        CANAL_TRIANGLES,
    )

    tell("structures")
    structures, marks = {}, {}
    for solid in named_solids(person):
        structure, mesh = structure_of(solid)
        mark = simplified(mesh, STRUCTURE_TRIANGLES)
        structures[structure.id] = structure
        marks[structure.id] = display_part(structure.id, Tissue.BONE, structure.frame, mark)
        if structure.side is Side.LEFT:
            other = mirrored_structure(structure)
            structures[other.id] = other
            marks[other.id] = mirrored_part(marks[structure.id])
    head = Head(person, structures, landmarks(person), chin_contact(person))
    return HeadMeshes(head, tuple(fine), tuple(coarse), marks)


def mirrored_part(left: DisplayPart) -> DisplayPart:
    """The same surface on the right side, still facing outwards."""
    return replace(
        left,
        id=mirror_name(left.id),
        vertices_mm=left.vertices_mm * MIRROR.astype(np.float32),
        faces=np.ascontiguousarray(left.faces[:, ::-1]),
    )


def landmarks(person: Person) -> dict[str, np.ndarray]:
    """The head's landmarks [mm], skull frame with the teeth together.

    Those on teeth are read off the teeth as they stand; the others are the starter set, which bone
    and skin keep to within 3 mm (tests of cranium, mandible and skin).
    """
    found = starter_landmarks(person)
    teeth = {tooth.fdi: tooth for tooth in dentition(person)}
    for jaw, incisor, molar in (("upper", 21, 26), ("lower", 31, 36)):
        found[f"{jaw}-incisor-edge"] = incisal_edge(teeth[incisor]) * [0.0, 1.0, 1.0]
        cusp = front_outer_cusp(teeth[molar])
        found[f"{jaw}-first-molar-cusp-{Side.LEFT}"] = cusp
        found[f"{jaw}-first-molar-cusp-{Side.RIGHT}"] = cusp * MIRROR
    return found


def display_part(
    part: str,
    tissue: Tissue,
    frame: Frame,
    mesh: Mesh,
    to_mean_man: Callable[[np.ndarray], np.ndarray] | None = None,
) -> DisplayPart:
    """A surface ready for the screen; with ``to_mean_man`` it follows the lower jaw."""
    share = None
    if to_mean_man is not None:
        share = jaw_share(to_mean_man(mesh.vertices_mm)).astype(np.float32)
    return DisplayPart(part, tissue, frame, mesh.vertices_mm.astype(np.float32), mesh.faces, share)
