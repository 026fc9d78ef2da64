"""A person's solids, read from the reference's fields."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.alveolus import alveolar_process, joint_mm
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.bones.midface import globe
from trainer.anatomy.bones.ridges import worn_upper
from trainer.anatomy.head.organs import in_person, own_size
from trainer.anatomy.head.reference import Reference
from trainer.anatomy.head.structures import spread_ways
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.fields import Lead, lead_through, sampled
from trainer.anatomy.shapes.implicit import Shape, both_sides, cut, grow, sphere, union
from trainer.anatomy.soft.cover import cover
from trainer.anatomy.soft.inner_ear import ossicles
from trainer.anatomy.teeth.dentition import dentition
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

# How finely a person's own bones are sampled for voxels, and how far from the surface exactly: the
# widest blend and the thickest dense layer reach less far.
SAMPLED_MM, SAMPLED_REACH_MM = 0.5, 3.0
OSSICLE_ROOM_MM = 0.4  # air round the little bones of the ear
EYE_ROOM_MM = 0.4  # between an eyeball and the bone that gave way to it
EVERY_WAY = spread_ways(500)


class Solids:
    """The solids of one person by name (see `reference.SOLIDS`), and the two jaw bones."""

    def __init__(self, person: Person, book: Reference) -> None:
        self.person = person
        self._book = book
        self._warp = head_warp(person)

    def named(self, name: str) -> Shape:
        """The mean man's solid of that name as it stands in the person [mm].

        The skin also covers the person's teeth and their bone (`soft.cover`).
        """
        shape = self._led(name)
        return cover(self.person).over(shape) if name == "skin" else shape

    def _led(self, name: str) -> Shape:
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
        """The skull's bone with the upper teeth's ``process``, which may be at hand already.

        Middle ear and eyeball, which keep their own size, come before bone: the smallest orbits
        give way.
        """
        cranium = worn_upper(self._with_ear_room(), self.named("sinus"), self.person)
        bone = union(cranium, process or self.process(Jaw.UPPER), blend_mm=joint_mm(self.person))
        return self._with_eye_room(bone)

    def _with_ear_room(self) -> Shape:
        """The cranium with the middle ear, which the map has bent, hollowed out in its own form."""
        little = in_person("ossicles-left", ossicles(), self.person, self._warp)
        round_them = both_sides(grow(little, OSSICLE_ROOM_MM))
        return cut(self.named("cranium"), self.named("tympanic-cavity"), round_them)

    def _with_eye_room(self, bone: Shape) -> Shape:
        eye = in_person("globe-left", globe(), self.person, self._warp)
        middle = (eye.lower_mm + eye.upper_mm) / 2.0
        reach = float(eye.upper_mm[0] - middle[0]) + EYE_ROOM_MM
        if bone(middle + reach * EVERY_WAY).min() > 0.0:
            return bone
        return cut(bone, both_sides(sphere(middle, reach)), blend_mm=EYE_ROOM_MM)

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
        """A way to the mean man for all of a box.

        Most parts lie in the cranium's box and share its lattice, whichever is asked for first and
        by whichever thread: a person is the same on every run.
        """
        shared_lower, shared_upper, shared = self._cranium_lead
        if np.all(shared_lower <= lower_mm) and np.all(shared_upper >= upper_mm):
            return shared
        return lead_through(self._warp.to_mean_man, lower_mm, upper_mm)

    @cached_property
    def _cranium_lead(self) -> tuple[Array, Array, Lead]:
        there = self._warp.shape(self._book.fields["cranium"].shape())
        low, high = there.lower_mm, there.upper_mm
        return low, high, lead_through(self._warp.to_mean_man, low, high)


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
