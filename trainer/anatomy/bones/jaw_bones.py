"""The bone that an implant stands in and a denture lies on, and what must not be drilled into."""

from __future__ import annotations

from functools import lru_cache

from trainer.anatomy.bones import midface
from trainer.anatomy.bones.alveolus import alveolar_process, joint_mm
from trainer.anatomy.bones.canal import canal
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.bones.ridges import worn_upper
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.implicit import Shape, both_sides, union
from trainer.models.frames import Side
from trainer.models.subject import Jaw, Person


@lru_cache(maxsize=4)
def jaw_bone(person: Person, jaw: Jaw) -> Shape:
    """The bone of a jaw in its own frame [mm], sockets not cut out."""
    if jaw is Jaw.LOWER:
        return mandible(person)
    warp = head_warp(person)
    skull = worn_upper(warp.shape(cranium()), warp.shape(both_sides(midface.sinus())), person)
    return union(skull, alveolar_process(person, jaw), blend_mm=joint_mm(person))


@lru_cache(maxsize=4)
def kept_clear(person: Person, jaw: Jaw) -> tuple[Shape, ...]:
    """What an implant in this jaw keeps away from: both canals, or sinuses and nose [mm]."""
    if jaw is Jaw.LOWER:
        return canal(person, Side.LEFT), canal(person, Side.RIGHT)
    warp = head_warp(person)
    return warp.shape(both_sides(midface.sinus())), warp.shape(midface.nasal_cavity())
