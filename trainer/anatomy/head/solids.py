"""A person's solids, read from the reference's fields."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.alveolus import alveolar_process
from trainer.anatomy.bones.jaw_bones import MAXILLA_BLEND_MM
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.head.organs import own_size
from trainer.anatomy.head.reference import Reference
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.fields import Lead, lead_through, sampled
from trainer.anatomy.shapes.implicit import Shape, both_sides, union
from trainer.anatomy.teeth.dentition import dentition
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

# How finely a person's own bones are sampled for voxels, and how far from the surface exactly: the
# widest blend and the thickest dense layer reach less far.
SAMPLED_MM, SAMPLED_REACH_MM = 0.5, 3.0


class Solids:
    """The solids of one person by name (see `reference.SOLIDS`), and the two jaw bones."""

    def __init__(self, person: Person, book: Reference) -> None:
        self.person = person
        self._book = book
        self._warp = head_warp(person)
        self._leads: list[tuple[Array, Array, Lead]] = []

    def named(self, name: str) -> Shape:
        """The mean man's solid of that name as it stands in the person [mm]."""
        field = self._book.fields[name]
        if self._warp.to_man is None:
            return field.shape()
        place = own_size(f"{name}-left", self.person)
        if place is not None:
            return both_sides(self._warp.rigid(field.shape(), *place))
        there = self._warp.shape(field.shape())
        return field.shape(self._lead(there.lower_mm, there.upper_mm), there)

    def process(self, jaw: Jaw) -> Shape:
        """The bone round the roots of a jaw, sockets not cut out, in that jaw's frame [mm]."""
        return alveolar_process(self.person, jaw)

    def skull(self, process: Shape | None = None) -> Shape:
        """The skull's bone with the upper teeth's ``process``, which may be at hand already."""
        return union(
            self.named("cranium"), process or self.process(Jaw.UPPER), blend_mm=MAXILLA_BLEND_MM
        )

    def mandible(self) -> Shape:
        """The lower jaw's bone, mandible frame."""
        return mandible(self.person, self.named("jaw-body"))

    def process_field(self, jaw: Jaw) -> Shape:
        """The left half of a jaw's `process`, sampled: quick for very many points."""
        return sampled(self.process(jaw), SAMPLED_MM, exact_to_mm=SAMPLED_REACH_MM).shape()

    def mandible_field(self) -> Shape:
        """The left half of the `mandible`, likewise."""
        return sampled(self.mandible(), SAMPLED_MM, exact_to_mm=SAMPLED_REACH_MM).shape()

    def mirrored(self) -> Solids:
        """Those of the person's mirror image."""
        return Solids(mirror_image(self.person), self._book)

    def _lead(self, lower_mm: Array, upper_mm: Array) -> Lead:
        for lower, upper, lead in self._leads:
            if np.all(lower <= lower_mm) and np.all(upper >= upper_mm):
                return lead
        lead = lead_through(self._warp.to_mean_man, lower_mm, upper_mm)
        self._leads.append((lower_mm, upper_mm, lead))
        return lead


def mirror_image(person: Person) -> Person:
    """The person with teeth and repairs of the left and the right exchanged."""
    mouth = person.mouth
    repairs = sorted(
        (replace(r, fdi=_other_side(r.fdi)) for r in mouth.repairs), key=lambda r: r.fdi
    )
    missing = tuple(sorted(map(_other_side, mouth.missing)))
    return replace(person, mouth=replace(mouth, missing=missing, repairs=tuple(repairs)))


def is_symmetric(person: Person) -> bool:
    """Whether the person has the same teeth on both sides."""
    numbers = {t.fdi for t in dentition(person)}
    return numbers == set(map(_other_side, numbers))


def _other_side(fdi: int) -> int:
    """ISO 3950: quadrants 1 and 2, 3 and 4, 5 and 6, 7 and 8 face each other."""
    quadrant, place = divmod(fdi, 10)
    return 10 * (quadrant + 1 if quadrant % 2 else quadrant - 1) + place
