"""Which faults a placing for a panoramic picture has, and which sign each of them gives.

The signs are those of courses on panoramic technique (tables of errors), in outline as in Izzetti
et al., Applied Sciences 2021 (training reference, 2.8).
"""

from __future__ import annotations

from collections.abc import Mapping

from trainer.engine.criteria import is_within
from trainer.engine.panoramic.layer import FRONT_TEETH, SIDE_TEETH
from trainer.engine.placement import Placement
from trainer.models.panorama import PanoramaFault, PanoramaSign
from trainer.models.scenario import Case

# What the eye notices: width of the front teeth against their height, of one side against the
# other, and a tilt. Own working values.
FRONT_DIFFERS, SIDES_DIFFER, TIPPED_DEG = 0.1, 0.04, 3.0

SIGN_OF: Mapping[PanoramaFault, PanoramaSign] = {
    PanoramaFault.TOO_FAR_FORWARD: PanoramaSign.NARROW_FRONT,
    PanoramaFault.TOO_FAR_BACK: PanoramaSign.WIDE_FRONT,
    PanoramaFault.OFF_THE_MIDLINE: PanoramaSign.ONE_SIDE_WIDER,
    PanoramaFault.CHIN_UP: PanoramaSign.FLAT_TOOTH_ROW,
    PanoramaFault.CHIN_DOWN: PanoramaSign.STEEP_TOOTH_ROW,
    PanoramaFault.TURNED: PanoramaSign.ONE_SIDE_WIDER,
    PanoramaFault.LEANING: PanoramaSign.ONE_SIDE_HIGHER,
    PanoramaFault.SLUMPED: PanoramaSign.PALE_MIDDLE,
    PanoramaFault.TONGUE_LOW: PanoramaSign.DARK_OVER_ROOTS,
    PanoramaFault.LIPS_OPEN: PanoramaSign.DARK_OVER_CROWNS,
}
FAULT_WORDS: Mapping[PanoramaFault, str] = {
    PanoramaFault.TOO_FAR_FORWARD: "too far forward",
    PanoramaFault.TOO_FAR_BACK: "too far back",
    PanoramaFault.OFF_THE_MIDLINE: "beside the midline",
    PanoramaFault.CHIN_UP: "chin up",
    PanoramaFault.CHIN_DOWN: "chin down",
    PanoramaFault.TURNED: "head turned",
    PanoramaFault.LEANING: "head leaning",
    PanoramaFault.SLUMPED: "back and neck slumped",
    PanoramaFault.TONGUE_LOW: "tongue not at the palate",
    PanoramaFault.LIPS_OPEN: "lips open",
}
SIGN_WORDS: Mapping[PanoramaSign, str] = {
    PanoramaSign.NARROW_FRONT: "front teeth narrow and unsharp",
    PanoramaSign.WIDE_FRONT: "front teeth wide and unsharp",
    PanoramaSign.FLAT_TOOTH_ROW: "tooth row flat, or curved down at its ends",
    PanoramaSign.STEEP_TOOTH_ROW: "tooth row curved up steeply at its ends",
    PanoramaSign.ONE_SIDE_WIDER: "teeth and ramus wider on one side than on the other",
    PanoramaSign.ONE_SIDE_HIGHER: "condyle and jaw angle higher on one side",
    PanoramaSign.PALE_MIDDLE: "pale shadow of the spine over the front teeth",
    PanoramaSign.DARK_OVER_ROOTS: "dark band over the upper roots",
    PanoramaSign.DARK_OVER_CROWNS: "dark shadow over the crowns of the front teeth",
}


def faults_in(case: Case, placement: Placement) -> tuple[PanoramaFault, ...]:
    """The faults of place and attitude beyond the case's limits; none for a volume."""
    stands, limit, attitude = placement.layer, case.groove_off_mm, case.attitude
    if stands is None or limit is None:
        return ()
    off = placement.attitude
    ways = (
        (stands.ahead_mm, limit, PanoramaFault.TOO_FAR_FORWARD, PanoramaFault.TOO_FAR_BACK),
        (stands.left_mm, limit, PanoramaFault.OFF_THE_MIDLINE, PanoramaFault.OFF_THE_MIDLINE),
        (off.pitch_off_deg, attitude.pitch_deg, PanoramaFault.CHIN_UP, PanoramaFault.CHIN_DOWN),
        (off.yaw_off_deg, attitude.yaw_deg, PanoramaFault.TURNED, PanoramaFault.TURNED),
        (off.roll_off_deg, attitude.roll_deg, PanoramaFault.LEANING, PanoramaFault.LEANING),
    )
    found = {m if value > 0.0 else f for value, most, m, f in ways if not is_within(value, most)}
    return tuple(fault for fault in PanoramaFault if fault in found)


def signs_seen(placement: Placement) -> tuple[PanoramaSign, ...]:
    """The signs that a placement gives a panoramic picture, where the eye notices them."""
    stands, off = placement.layer, placement.attitude
    if stands is None:
        return ()
    front = stands.mean_ratio(FRONT_TEETH)
    left, right = (stands.mean_ratio(teeth) for teeth in SIDE_TEETH)
    uneven = left is not None and right is not None and abs(left - right) > SIDES_DIFFER
    found = {
        PanoramaSign.NARROW_FRONT: front is not None and front < 1.0 - FRONT_DIFFERS,
        PanoramaSign.WIDE_FRONT: front is not None and front > 1.0 + FRONT_DIFFERS,
        PanoramaSign.FLAT_TOOTH_ROW: off.pitch_off_deg > TIPPED_DEG,
        PanoramaSign.STEEP_TOOTH_ROW: -off.pitch_off_deg > TIPPED_DEG,
        PanoramaSign.ONE_SIDE_WIDER: uneven,
        PanoramaSign.ONE_SIDE_HIGHER: abs(off.roll_off_deg) > TIPPED_DEG,
    }
    return tuple(sign for sign in PanoramaSign if found.get(sign, False))


def faults_at_start(case: Case, at_start: Placement) -> tuple[PanoramaFault, ...]:
    """What is wrong before anything was done: the start's faults, and a tongue nobody spoke of.

    None for a volume.
    """
    if at_start.layer is None:
        return ()
    return (*faults_in(case, at_start), PanoramaFault.TONGUE_LOW)
