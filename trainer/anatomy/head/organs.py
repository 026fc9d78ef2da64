"""Organs that keep their own size and form whatever the head's: eyes, inner and middle ears."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.people.warp import HeadWarp
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.sculpt import lfu
from trainer.anatomy.soft.inner_ear import VESTIBULE_LFU
from trainer.models.subject import MEAN_MAN, Person

Array = NDArray[np.float64]

EYE = frozenset({"globe-left", "lens-left"})
# Full-grown at birth (from memory: anatomy of the ear).
EAR = frozenset(
    {
        "cochlea-left",
        "vestibule-left",
        "semicircular-canals-left",
        "inner-ear-left",
        "ossicles-left",
        "tympanic-cavity-left",
        "auditory-nerve-canal-left",
    }
)


def own_size(key: str, person: Person) -> tuple[Array, float] | None:
    """The point (3,) of the mean man [mm] with which the organ moves, and its size over the man's.

    None for everything else, which the head's map bends.
    """
    if key in EYE:
        return starter_landmarks(MEAN_MAN)["globe-left"], grown(person, Part.EYEBALL)
    if key in EAR:
        return np.asarray(lfu(VESTIBULE_LFU), float), 1.0
    return None


def in_person(key: str, modelled: Shape, person: Person, warp: HeadWarp) -> Shape:
    """A part modelled at the mean man as it stands in the person: led, or carried unbent."""
    place = own_size(key, person)
    return warp.shape(modelled) if place is None else warp.rigid(modelled, *place)
