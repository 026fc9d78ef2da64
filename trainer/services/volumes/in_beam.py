"""What stands in the beam at an exposure: the person as dressed, and what is between the teeth."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.placement import chain_of
from trainer.geometry.transforms import chain, inverse
from trainer.models.appointment import Conditions
from trainer.models.appointment_visit import Visit
from trainer.models.frames import Side
from trainer.models.subject import Person
from trainer.physics.solids import Solid
from trainer.services.spacer_solids import spacer_solids
from trainer.services.workbench import Workbench


def as_worn(person: Person, visit: Visit, worn: tuple[str, ...]) -> Person:
    """The person without what they have taken off; ``worn`` are the ids of what is on."""
    off = {i.shown_as for i in visit.items if i.id not in worn}
    return replace(person, worn=tuple(w for w in person.worn if w not in off))


def spacer_in_beam(bench: Workbench, conditions: Conditions) -> tuple[Solid, ...]:
    """The spacer of an exposure as solids; none when there was none.

    Raises
    ------
    TrainerError
        If the teeth leave no room for it.
    """
    spacer, visit = conditions.spacer, bench.case.visit
    if spacer is None or visit is None:
        return ()
    # on one side: away from the one that is ordered, where nothing is to be covered
    away = Side.LEFT if visit.card.prescription.side is Side.RIGHT else Side.RIGHT
    sides = (Side.LEFT, Side.RIGHT) if spacer.both_sides else (away,)
    head = bench.meshes.head
    steps = chain_of(head, bench.unit, conditions.setup)
    jaw = chain(steps.mandible_to_gantry, inverse(steps.skull_to_gantry))
    return spacer_solids(head.landmarks_mm, jaw, spacer.kind, spacer.place, sides)
