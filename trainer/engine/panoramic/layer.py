"""How a head stands in the sharp layer of a panoramic picture, and how its teeth look there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.layer import (
    SHARP_MM,
    AgainstLayer,
    against_layer,
    front_middle_mm,
    groove_at_mm,
)
from trainer.geometry.transforms import apply
from trainer.models.device import Beam, FieldSize
from trainer.models.frames import Frame, RigidTransform
from trainer.models.structures import Head, Structure

Array = NDArray[np.float64]

# What the groove holds: the edge of the upper front teeth, planned from the face and always there.
EDGE_MARK = "upper-incisor-edge"
WHOLE_TOOTH_LENGTH = len("tooth-11")
# Teeth that are compared: incisors, and those of the left and of the right side.
FRONT_TEETH = ("11", "12", "21", "22", "31", "32", "41", "42")
SIDE_TEETH = (("24", "25", "26", "34", "35", "36"), ("14", "15", "16", "44", "45", "46"))


class ToothShown(NamedTuple):
    """A tooth's middle against the layer, see `geometry.layer.AgainstLayer`, and in the field."""

    id: str
    along_mm: float
    outside_mm: float
    width_ratio: float
    smear_mm: float
    up_mm: float

    @property
    def is_sharp(self) -> bool:
        """Whether it lies in the layer."""
        return self.smear_mm <= SHARP_MM


@dataclass(frozen=True, slots=True)
class InLayer:
    """How a head stands in the layer.

    ``ahead_mm``: the edge of the upper front teeth ahead of the groove. ``left_mm``: that edge to
    the patient's left of the layer's midline.
    """

    ahead_mm: float
    left_mm: float
    teeth: tuple[ToothShown, ...]

    def mean_ratio(self, numbers: tuple[str, ...]) -> float | None:
        """Mean width over height of the teeth of these numbers; ``None`` when all are lost."""
        found = [t.width_ratio for t in self.teeth if t.id.removeprefix("tooth-") in numbers]
        return float(np.mean(found)) if found else None


def in_layer(
    head: Head, field: FieldSize, beam: Beam, to_field: Mapping[Frame, RigidTransform]
) -> InLayer | None:
    """How the head stands in the field's layer; ``None`` for a field without one."""
    layer = field.layer
    if layer is None:
        return None
    edge = apply(to_field[Frame.SKULL], head.landmarks_mm[EDGE_MARK])
    teeth = [s for s in head.structures.values() if is_whole_tooth(s)]
    middles = [apply(to_field[s.frame], s.hull_mm).mean(axis=0) for s in teeth]
    shown: tuple[ToothShown, ...] = ()
    if teeth:
        found = against_layer(layer, beam, np.array(middles) - front_middle_mm(field, layer))
        heights = [float(m[2]) for m in middles]
        shown = tuple(_shown(s, found, i, heights[i]) for i, s in enumerate(teeth))
    return InLayer(groove_at_mm(field) - float(edge[1]), float(edge[0]), shown)


def is_whole_tooth(structure: Structure) -> bool:
    """Whether it is a tooth, and no part of one."""
    return structure.id.startswith("tooth-") and len(structure.id) == WHOLE_TOOTH_LENGTH


def _shown(structure: Structure, found: AgainstLayer, row: int, up_mm: float) -> ToothShown:
    return ToothShown(
        id=structure.id,
        along_mm=float(found.along_mm[row]),
        outside_mm=float(found.outside_mm[row]),
        width_ratio=float(found.width_ratio[row]),
        smear_mm=float(found.smear_mm[row]),
        up_mm=up_mm,
    )
