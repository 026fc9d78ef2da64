"""The spacer between the teeth as scouts see it: a roll of cotton or a block of acrylic.

It lies midway between upper and lower teeth and goes with the lower jaw. Where it is bitten on, it
is as thick as the teeth stand apart there.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.materials import MATERIALS
from trainer.errors import TrainerError
from trainer.geometry.transforms import apply, inverse
from trainer.models.appointment_words import ArchPlace, SpacerKind
from trainer.models.frames import Frame, RigidTransform, Side
from trainer.models.materials import Material
from trainer.physics.solids import Block, Roll, Solid

Array = NDArray[np.float64]

# A No. 2 cotton roll is 38 x 9.5 mm: dental-supply article.
ROLL_LENGTH_MM, ROLL_DIAMETER_MM = 38.0, 9.5
# Cellulose, C6H10O5; the density of a roll that is bitten on and half soaked: own working value.
COTTON = Material("cotton", 0.6, {"C": 0.4445, "H": 0.0622, "O": 0.4934})
# Along and across the arch: own working values.
BLOCK_MM = (22.0, 12.0)
# Premolars stand so far of the way from the incisors to the first molar: own working value.
PREMOLARS_SHARE = 0.6
# Thinner than this it would not keep the teeth apart.
THINNEST_MM = 1.0


def spacer_solids(
    landmarks_mm: Mapping[str, Array],
    mandible_to_skull: RigidTransform,
    kind: SpacerKind,
    place: ArchPlace,
    sides: tuple[Side, ...] = (Side.LEFT, Side.RIGHT),
) -> tuple[Solid, ...]:
    """What a spacer puts into the beam, in the mandible's frame; one solid for each side.

    Parameters
    ----------
    landmarks_mm : mapping
        The head's landmarks, each in the frame it moves with.
    mandible_to_skull : RigidTransform
        How far the jaw is open.
    kind, place : SpacerKind, ArchPlace
        What lies where. At the incisors one lies across the midline, whatever the sides.
    sides : tuple of Side
        Where it lies at premolars and molars.

    Raises
    ------
    TrainerError
        If the teeth there stand less than 1 mm apart.
    """
    found: list[Solid] = []
    for side in (Side.MIDLINE,) if place is ArchPlace.INCISORS else sides:
        upper, lower, along = _teeth(landmarks_mm, inverse(mandible_to_skull), place, side)
        apart = float(upper[2] - lower[2])
        if apart < THINNEST_MM:
            raise TrainerError(
                f"no room for a spacer at the {place}: the teeth stand {apart:.1f} mm apart there"
            )
        if kind is SpacerKind.ROLL:
            radius = min(apart, ROLL_DIAMETER_MM) / 2.0
            middle = np.array([*(upper + lower)[:2] / 2.0, lower[2] + apart / 2.0])
            ends = middle + np.outer([-0.5, 0.5], along * ROLL_LENGTH_MM)
            found.append(Roll(Frame.MANDIBLE, ends, radius, COTTON))
        else:
            half = np.array([*BLOCK_MM, apart]) / 2.0
            axes = np.stack([along, np.cross([0.0, 0.0, 1.0], along), [0.0, 0.0, 1.0]], axis=1)
            middle = (upper + lower) / 2.0
            found.append(Block(Frame.MANDIBLE, middle, half, axes, MATERIALS["acrylic"].material))
    return tuple(found)


def _teeth(
    landmarks_mm: Mapping[str, Array], to_mandible: RigidTransform, place: ArchPlace, side: Side
) -> tuple[Array, Array, Array]:
    """Upper and lower tooth at a place, in the mandible's frame, and the arch's direction there."""
    upper_front = apply(to_mandible, landmarks_mm["upper-incisor-edge"])
    lower_front = landmarks_mm["lower-incisor-edge"]
    if place is ArchPlace.INCISORS:
        return upper_front, lower_front, np.array([1.0, 0.0, 0.0])
    # the first molars meet here when closed, and both frames are then one
    lower = landmarks_mm[f"upper-first-molar-cusp-{side}"]
    upper = apply(to_mandible, lower)
    along = (lower - lower_front) * [1.0, 1.0, 0.0]
    share = 1.0 if place is ArchPlace.MOLARS else PREMOLARS_SHARE
    return (
        upper_front + share * (upper - upper_front),
        lower_front + share * (lower - lower_front),
        along / np.linalg.norm(along),
    )
