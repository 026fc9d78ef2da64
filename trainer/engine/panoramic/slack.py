"""What many setups of a panoramic picture have to spare against the limits of its sharp layer.

There the attitude cannot be mended afterwards, so it weighs like the place does (training
reference, 2.3 to 2.5). Degrees are told as the millimetres that they move an arch by.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.jaw import mandible_to_skull
from trainer.engine.panoramic.layer import EDGE_MARK
from trainer.engine.placement import plane_ahead
from trainer.geometry.layer import groove_at_mm
from trainer.geometry.transforms import apply
from trainer.models.device import Unit
from trainer.models.frames import Frame
from trainer.models.scenario import AttitudeLimits, Case
from trainer.models.setup import Setup
from trainer.models.structures import Head

Array = NDArray[np.float64]

# Distance of an arch's teeth from the turning point (training reference, 2.4).
ARCH_MM = 45.0
NAMES = ("front teeth in the groove", "midline", "pitch", "yaw", "roll")


@dataclass(frozen=True, slots=True)
class LayerLimits:
    """What a case asks of a head in the sharp layer, with what it is measured on."""

    head: Head
    attitude: AttitudeLimits
    off_mm: float


def layer_limits(case: Case, head: Head) -> LayerLimits | None:
    """The case's limits; ``None`` for a case without a sharp layer."""
    if case.groove_off_mm is None:
        return None
    return LayerLimits(head, case.attitude, case.groove_off_mm)


def layer_slacks(
    limits: LayerLimits, unit: Unit, setup: Setup, rotations: Array, contacts_mm: Array
) -> Array:
    """What n placings have to spare [mm], (n, 5) in the order of `NAMES`; negative: beyond.

    ``rotations`` (n, 3, 3) or (3, 3) turn the head, ``contacts_mm`` (n, 3) are its chin contact in
    the field frame. Jaw gap and field are the setup's.

    Raises
    ------
    NotFound
        If the unit lacks the setup's field.
    """
    head, asked, field = limits.head, limits.attitude, unit.field(setup.field)
    number = len(contacts_mm)
    found = np.full((number, len(NAMES)), np.inf)
    if field.layer is None:
        return found
    jaw = mandible_to_skull(head.person, setup.jaw_gap_mm)
    reach = head.landmarks_mm[EDGE_MARK] - apply(jaw, head.chin_contact_mm)
    edge = rotations @ reach + contacts_mm
    frame, forward = plane_ahead(asked.reference_plane, head)
    turned = rotations @ jaw.rotation if frame is Frame.MANDIBLE else rotations
    ahead, across = turned @ forward, turned @ np.array([1.0, 0.0, 0.0])
    angles = (
        (asked.pitch_deg, np.arcsin(np.clip(ahead[..., 2], -1.0, 1.0))),
        (asked.yaw_deg, np.arctan2(ahead[..., 0], -ahead[..., 1])),
        (asked.roll_deg, np.arcsin(np.clip(-across[..., 2], -1.0, 1.0))),
    )
    found[:, 0] = limits.off_mm - np.abs(edge[:, 1] - groove_at_mm(field))
    found[:, 1] = limits.off_mm - np.abs(edge[:, 0])
    for column, (limit, angle) in enumerate(angles, start=2):
        found[:, column] = ARCH_MM * (np.deg2rad(limit) - np.abs(angle))
    return found
