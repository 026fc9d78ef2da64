"""Invented tubes for the shipped units, none of any real machine.

Tube charges are own working values, set so that the product of a default scan comes near the mean
of its class in Klingler et al., Clin Oral Investig 27, 2023. A scout is one short pulse.
"""

from __future__ import annotations

from trainer.models.protocol import SCOUTS, Protocol, Tube, VoxelFactor


def tube(kvp: float, aluminium_mm: float, turn_mas: float, beam_on_s: float, scan_s: float) -> Tube:
    """A tube with protocols for three sizes of person and one of a shorter rotation."""

    def preset(name: str, share: float, turn_deg: float = 360.0) -> Protocol:
        part = turn_deg / 360.0
        return Protocol(name, name, turn_mas * share, turn_deg, beam_on_s * part, scan_s * part)

    return Tube(
        kvp=kvp,
        aluminium_mm=aluminium_mm,
        copper_mm=0.0,
        protocols=(
            preset("adult", 1.0),
            preset("child", 0.6),
            preset("large-adult", 1.4),
            preset("adult-short", 1.0, 210.0),
        ),
        voxel_factors=(VoxelFactor(100, 1.4), VoxelFactor(200, 1.0), VoxelFactor(400, 0.7)),
        low_dose_factor=0.5,
        scout_factors=dict.fromkeys(SCOUTS, 0.002),
    )


TUBES = {
    "alder-bench": tube(90.0, 3.0, 28.0, 4.5, 16.0),
    "hornbeam-arm": tube(80.0, 3.0, 30.0, 5.0, 18.0),
    "juniper-column": tube(100.0, 6.0, 50.0, 6.0, 14.0),
}
