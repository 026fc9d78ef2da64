"""All that a person carries in the mouth and on the head, as solids and as surfaces."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trainer.anatomy.shapes.meshing import Mesh, simplified, surface
from trainer.anatomy.things.brackets import bracket_things
from trainer.anatomy.things.dentures import denture_things
from trainer.anatomy.things.implants import implant_things
from trainer.anatomy.things.mouth_faults import mouth_faults
from trainer.anatomy.things.on_tooth import teeth_of
from trainer.anatomy.things.repairs import repair_things
from trainer.anatomy.things.thing import Thing
from trainer.anatomy.things.worn import worn_things
from trainer.errors import TrainerError
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.subject import Person, Repair

__all__ = ["DisplayParts", "Thing", "thing_parts", "things_of"]

DisplayParts = tuple[DisplayPart, ...]

# Triangles of all things together, at rest and while something moves.
MOST_TRIANGLES = (6000, 1500)
# Grid step of surfaces found from the shape: this many steps across the box, within limits.
STEPS_ACROSS, FINEST_MM, COARSEST_MM = 20.0, 0.25, 1.3
# Triangles for each square millimetre of a found surface's box, and limits, at rest and moving.
TRIANGLES_PER_MM2, FEWEST, MOST = (0.6, 0.12), (60, 24), (1200, 260)
TISSUE_OF = {
    "amalgam": Tissue.METAL,
    "gold alloy": Tissue.METAL,
    "titanium": Tissue.METAL,
    "steel": Tissue.METAL,
    "cobalt-chrome": Tissue.METAL,
    "button cell": Tissue.METAL,
    "zirconia": Tissue.CERAMIC,
    "composite": Tissue.CERAMIC,
    "acrylic": Tissue.PLASTIC,
}
# Inside a tooth, where no view looks.
NOT_SHOWN = ("root-filling-", "core-")


def things_of(person: Person) -> tuple[Thing, ...]:
    """Repairs, appliances and worn things; frames and units as `Thing` says. No two overlap.

    Raises
    ------
    TrainerError
        If the mouth contradicts itself (see `mouth_faults`), or an implant finds no room.
    """
    return _things_of(person.shape)


@lru_cache(maxsize=8)
def _things_of(person: Person) -> tuple[Thing, ...]:
    faults = mouth_faults(person)
    if faults:
        raise TrainerError("; ".join(faults))
    teeth, mouth = teeth_of(person), person.mouth
    repairs = [
        thing
        for r in mouth.repairs
        for thing in (
            implant_things(person, r.fdi)
            if r.repair is Repair.IMPLANT
            else repair_things(teeth[r.fdi], r.repair)
        )
    ]
    brackets = [thing for jaw in mouth.brackets for thing in bracket_things(person, jaw)]
    implants = [t for t in repairs if t.id.startswith("implant")]
    dentures = [t for jaw in mouth.dentures for t in denture_things(person, jaw, implants)]
    return (*repairs, *brackets, *dentures, *worn_things(person))


def thing_parts(person: Person) -> tuple[DisplayParts, DisplayParts]:
    """Closed surfaces of all things that can be seen: at rest, and while something moves.

    Errors as `things_of`.
    """
    shown = [t for t in things_of(person) if not t.id.startswith(NOT_SHOWN)]
    pairs = [t.surfaces or _found(t) for t in shown]
    fine, coarse = (
        _within([pair[level] for pair in pairs], most) for level, most in enumerate(MOST_TRIANGLES)
    )
    return _parts(shown, fine), _parts(shown, coarse)


def _parts(things: list[Thing], meshes: list[Mesh]) -> DisplayParts:
    return tuple(
        DisplayPart(t.id, _tissue(t), t.frame, m.vertices_mm.astype(np.float32), m.faces)
        for t, m in zip(things, meshes, strict=True)
    )


def _tissue(thing: Thing) -> Tissue:
    """Denture teeth look like teeth; all else shows what it is made of."""
    return Tissue.TOOTH if thing.id.startswith("denture-teeth") else TISSUE_OF[thing.material]


def _found(thing: Thing) -> tuple[Mesh, Mesh]:
    """Fine and coarse surface of a shape, by marching cubes."""
    shape = thing.outside or thing.shape
    size = shape.upper_mm - shape.lower_mm
    step = float(np.clip(size.max() / STEPS_ACROSS, FINEST_MM, COARSEST_MM))
    mesh = surface(shape, step)
    area = 2.0 * float(size[0] * size[1] + size[1] * size[2] + size[2] * size[0])
    counts = [
        int(np.clip(area * per, few, most))
        for per, few, most in zip(TRIANGLES_PER_MM2, FEWEST, MOST, strict=True)
    ]
    fine = simplified(mesh, counts[0])
    return fine, simplified(fine, counts[1])


def _within(meshes: list[Mesh], most: int) -> list[Mesh]:
    """The meshes, thinned by the same share where together they have more than ``most``."""
    total = sum(len(m.faces) for m in meshes)
    if total <= most:
        return meshes
    return [simplified(m, int(len(m.faces) * 0.95 * most / total)) for m in meshes]
