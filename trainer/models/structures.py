"""A named part of the head, as the placement sees it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trainer.errors import NotFound
from trainer.models.frames import Frame, Side
from trainer.models.subject import Person

Array = NDArray[np.float64]


class StructureKind(StrEnum):
    """What a structure is made of or used for."""

    TOOTH = "tooth"
    CROWN = "crown"
    APEX = "apex"
    CANAL = "canal"
    BONE = "bone"
    JOINT = "joint"
    AIR = "air"
    ORGAN = "organ"


@dataclass(frozen=True, slots=True)
class Structure:
    """A part of the head with a stable id.

    Attributes
    ----------
    id : str
        For example ``tooth-46``, ``tooth-46-apex-distal``, ``canal-right``, ``condyle-left``.
    name : str
        Plain English, for sentences.
    frame : Frame
        ``SKULL`` or ``MANDIBLE``: the frame of the points below.
    samples_mm : (n, 3)
        Middles of the structure's parts in the cells of a cubic grid.
    weights : (n,)
        Share of the structure in each cell; sums to 1.
    cell_mm : float
        Edge of a cell.
    hull_mm : (m, 3)
        Corners of its convex hull: enough for margins, since the recorded region is convex.
    volume_mm3 : float
        Of the closed surface.
    """

    id: str
    name: str
    kind: StructureKind
    side: Side
    frame: Frame
    samples_mm: Array
    weights: Array
    cell_mm: float
    hull_mm: Array
    volume_mm3: float

    @property
    def centre_mm(self) -> Array:
        """Centre of the structure's box, in its own frame."""
        return (self.hull_mm.min(axis=0) + self.hull_mm.max(axis=0)) / 2.0

    @property
    def extent_mm(self) -> float:
        """Diagonal of the structure's box: no two of its points are farther apart."""
        return float(np.linalg.norm(np.ptp(self.hull_mm, axis=0)))


@dataclass(frozen=True, slots=True)
class Head:
    """Everything of one synthetic head that placement needs.

    ``landmarks_mm`` are in the skull frame with the teeth together; ``chin_contact_mm`` is in
    the mandible frame.
    """

    person: Person
    structures: Mapping[str, Structure]
    landmarks_mm: Mapping[str, Array]
    chin_contact_mm: Array

    def structure(self, structure_id: str) -> Structure:
        """The structure of that id.

        Raises
        ------
        NotFound
            If there is none; the message offers the nearest name.
        """
        found = self.structures.get(structure_id)
        if found is None:
            import difflib

            near = difflib.get_close_matches(structure_id, self.structures, n=1)
            hint = f", did you mean {near[0]!r}?" if near else ""
            raise NotFound(f"unknown structure {structure_id!r}{hint}")
        return found
