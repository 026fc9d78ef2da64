"""One person's head as surfaces and samples.

What follows the head's map is moved, teeth are placed, and only the two jaw bones, which teeth and
map shape together, are made anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.canal import CANAL_DIAMETER_MM
from trainer.anatomy.head.led import led_pieces
from trainer.anatomy.head.packing import Pieces
from trainer.anatomy.head.reference import Reference, display_part, reference
from trainer.anatomy.head.rods import rod_structure, rod_surface
from trainer.anatomy.head.shown_skull import filled, outer, simplified_to_look_at
from trainer.anatomy.head.solids import Solids, is_symmetric, mirror_image
from trainer.anatomy.head.structures import (
    MIRROR,
    STRUCTURE_TRIANGLES,
    NamedSolid,
    canals,
    mirror_name,
    mirrored_structure,
    other_side,
    own_solids,
    structure_of,
)
from trainer.anatomy.head.tooth_patterns import pattern_of, pieces_of_teeth, stand
from trainer.anatomy.people.landmarks import chin_contact, starter_landmarks
from trainer.anatomy.shapes.meshing import Mesh, simplified, surface
from trainer.anatomy.soft.cover import cover
from trainer.anatomy.soft.torso import torso_part
from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.anatomy.teeth.tooth_tables import fdi_of
from trainer.anatomy.things.things import thing_parts
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.models.structures import Head, Structure
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Raise when a change of the model changes the meshes.
GENERATOR_VERSION = 6
# Triangles at rest and while something moves; all parts together stay below 60 000 at rest.
SKULL_TRIANGLES = (16000, 3400)
# What things in the mouth and on the head need beyond this at rest, the skull does without.
ROOM_FOR_THINGS = 1800
MANDIBLE_TRIANGLES = (7000, 1700)
SKULL_MM, MANDIBLE_MM = 1.0, 0.8  # grid on which the bones' surfaces are found
# Rings along the canal and faces round it, at rest and moving, and of its mark.
CANAL_RINGS = ((20, 8), (10, 6), (10, 8))
# Which teeth carry a landmark: jaw, its incisors and its molars, the front one first.
INCISORS, MOLARS = (1, 11), (6,)


def build_head(
    person: Person,
    tell: Callable[[str], None] = lambda _: None,
    book: Reference | None = None,
) -> HeadMeshes:
    """Surfaces, structures and landmarks of a person.

    ``tell`` is called with the name of each part before it is made; ``book`` is the reference,
    otherwise the shipped one. The result is the same on every run.

    Raises
    ------
    NotReadable
        If the shipped reference is missing or broken.
    """
    with ThreadPoolExecutor(1) as beside:
        reading = beside.submit(lambda: book or reference())  # takes long the first time
        tell("shoulders, things in the mouth and on the head")
        fine, coarse = thing_parts(person)
        more = sum(len(part.faces) for part in fine) - ROOM_FOR_THINGS
        budget = (SKULL_TRIANGLES[0] - max(more, 0), SKULL_TRIANGLES[1])
        found = reading.result()
        solids = Solids(person, found)
        # the skull, with a child's teeth, takes as long as all the rest
        tell("skull")
        skull = beside.submit(_skull, solids, budget)
        teeth = beside.submit(pieces_of_teeth, person, found.teeth)
        tell("lower jaw")
        mandible = _mandible(solids)
        tell("skin, neck and structures")
        led = _covered(_both_sides(led_pieces(found.led, person)), person)
        tell("teeth and canals")
        own = [_own_pieces(person), _canal_pieces(person)]
        trunk_fine, trunk_coarse = torso_part(person)
        rest = Pieces((*fine, trunk_fine), (*coarse, trunk_coarse), {}, {})
        groups = [skull.result(), mandible, led, *teeth.result(), *own, rest]
    pieces = _joined(groups)
    head = Head(person, pieces.structures, landmarks(person, found), chin_contact(person))
    return HeadMeshes(head, pieces.fine, pieces.coarse, pieces.marks)


def _skull(solids: Solids, triangles: tuple[int, int]) -> Pieces:
    shape = filled(solids.skull(), solids.named("brain-space"))
    mesh = outer(surface(shape, SKULL_MM))
    fine = simplified_to_look_at(mesh, triangles[0], solids.person)
    coarse = simplified_to_look_at(fine, triangles[1], solids.person)
    return _bone("skull", Frame.SKULL, fine, coarse)


def _mandible(solids: Solids) -> Pieces:
    fine = simplified(surface(solids.mandible(), MANDIBLE_MM), MANDIBLE_TRIANGLES[0])
    return _bone("mandible", Frame.MANDIBLE, fine, simplified(fine, MANDIBLE_TRIANGLES[1]))


def _bone(part: str, frame: Frame, fine: Mesh, coarse: Mesh) -> Pieces:
    shown = [display_part(part, Tissue.BONE, frame, mesh) for mesh in (fine, coarse)]
    return Pieces((shown[0],), (shown[1],), {}, {})


def _covered(led: Pieces, person: Person) -> Pieces:
    """The pieces, their skin pushed out over the person's teeth."""
    over = cover(person)

    def lifted(part: DisplayPart) -> DisplayPart:
        if part.tissue is not Tissue.SKIN:
            return part
        corners = over.moved(part.vertices_mm.astype(np.float64))
        return replace(part, vertices_mm=corners.astype(np.float32))

    fine, coarse = (tuple(map(lifted, parts)) for parts in (led.fine, led.coarse))
    return replace(led, fine=fine, coarse=coarse)


def _own_pieces(person: Person) -> Pieces:
    """The structures of the lower jaw that do more than follow the map."""
    left = _left_own_pieces(person)
    if is_symmetric(person):
        return _both_sides(left)
    image = _both_sides(_left_own_pieces(mirror_image(person)))
    right = {key: s for key, s in image.structures.items() if s.side is Side.RIGHT}
    return _joined([left, Pieces((), (), right, {key: image.marks[key] for key in right})])


def _left_own_pieces(person: Person) -> Pieces:
    structures, marks = {}, {}
    for solid in own_solids(person):
        structures[solid.id], mesh = structure_of(solid)
        marks[solid.id] = display_part(
            solid.id, Tissue.BONE, solid.frame, simplified(mesh, STRUCTURE_TRIANGLES)
        )
    return Pieces((), (), structures, marks)


def _canal_pieces(person: Person) -> Pieces:
    """The canals and their named pieces."""
    rods = [_rod(solid, course) for solid, course in canals(person)]
    return _joined(
        rod if "-at-" not in key else replace(rod, fine=(), coarse=())
        for rod in rods
        for key in rod.structures
    )


def _rod(solid: NamedSolid, course_mm: Array) -> Pieces:
    """A canal made from its course; on the right the mirror image of the one on the left."""
    right = solid.side is Side.RIGHT
    course, radius = course_mm * MIRROR if right else course_mm, CANAL_DIAMETER_MM / 2.0
    structure = rod_structure(solid, course, radius)
    tissues = (Tissue.NERVE, Tissue.NERVE, Tissue.BONE)
    fine, coarse, mark = (
        display_part(solid.id, tissue, solid.frame, rod_surface(course, radius, *size))
        for tissue, size in zip(tissues, CANAL_RINGS, strict=True)
    )
    if right:
        structure = replace(
            structure,
            samples_mm=structure.samples_mm * MIRROR,
            hull_mm=structure.hull_mm * MIRROR,
        )
        fine, coarse, mark = (other_side(part, solid.id) for part in (fine, coarse, mark))
    return Pieces((fine,), (coarse,), {solid.id: structure}, {solid.id: mark})


def _both_sides(left: Pieces) -> Pieces:
    """The pieces, and for those of the left side their mirror images."""
    structures, marks = dict(left.structures), dict(left.marks)
    for structure in left.structures.values():
        if structure.side is Side.LEFT:
            other = mirrored_structure(structure)
            structures[other.id] = other
            marks[other.id] = other_side(left.marks[structure.id], other.id)
    fine, coarse = (
        tuple(p for part in parts for p in (part, *_paired(part)))
        for parts in (left.fine, left.coarse)
    )
    return Pieces(fine, coarse, structures, marks)


def _paired(part: DisplayPart) -> tuple[DisplayPart, ...]:
    other = mirror_name(part.id)
    return (other_side(part, other),) if other != part.id else ()


def _joined(groups: Iterable[Pieces]) -> Pieces:
    fine: list[DisplayPart] = []
    coarse: list[DisplayPart] = []
    structures: dict[str, Structure] = {}
    marks: dict[str, DisplayPart] = {}
    for pieces in groups:
        fine += pieces.fine
        coarse += pieces.coarse
        structures |= pieces.structures
        marks |= pieces.marks
    return Pieces(tuple(fine), tuple(coarse), structures, marks)


def landmarks(person: Person, book: Reference) -> dict[str, Array]:
    """The head's landmarks [mm], skull frame with the teeth together.

    Those on teeth are read off the teeth as they stand, where those have erupted; the others are
    the starter set, which bone and skin keep to within 3 mm (tests of cranium, mandible and skin).
    """
    found = starter_landmarks(person)
    teeth = {tooth.fdi: tooth for tooth in dentition(person) if tooth.erupted}

    def tip(jaw: str, places: tuple[int, ...], right: bool, edge: bool) -> Array | None:
        for place in places:
            tooth: Tooth | None = teeth.get(fdi_of(jaw, place, right))
            if tooth is not None:
                pattern = pattern_of(tooth, book.teeth)
                return stand(tooth, (pattern.edge_mm if edge else pattern.cusp_mm)[None])[0]
        return None

    for jaw in ("upper", "lower"):
        edge = tip(jaw, INCISORS, False, True)
        if edge is not None:
            found[f"{jaw}-incisor-edge"] = edge * [0.0, 1.0, 1.0]
        for side in (Side.LEFT, Side.RIGHT):
            cusp = tip(jaw, MOLARS, side is Side.RIGHT, False)
            if cusp is not None:
                found[f"{jaw}-first-molar-cusp-{side}"] = cusp
    return found
