"""Voltage, filters, currents and times of the tube."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.engine.unit_check.finding import Finding, KeyPath
from trainer.errors import NotFound
from trainer.models.device import Unit
from trainer.models.protocol import Protocol, Tube
from trainer.physics.dose import spectrum_of
from trainer.physics.dose_tables import least_half_value_layer_mm_al
from trainer.physics.spectrum import half_value_layer_mm_al

# Pauwels et al., Dentomaxillofac Radiol 2015; Kaasalainen et al., Phys Med 88, 2021: from memory.
CURRENT_MA = (1.0, 20.0)
# arXiv 2304.10154 (2023): 5.4-40 s.
SCAN_S = (5.4, 40.0)
# Pulsed; from memory: technical reviews 2013-2021.
BEAM_ON_S = (2.0, 20.0)

VOLTAGE, ALUMINIUM, COPPER = ("tube", "kvp"), ("tube", "aluminium_mm"), ("tube", "copper_mm")


def tube_findings(unit: Unit) -> Iterator[Finding]:
    """What is uncommon or not allowed about the tube; nothing for a unit without one."""
    tube = unit.tube
    if tube is None:
        return
    yield from _filters(tube)
    for number, protocol in enumerate(tube.protocols):
        yield from _protocol(("tube", "protocols", number), protocol)


def _filters(tube: Tube) -> Iterator[Finding]:
    try:
        layer = half_value_layer_mm_al(spectrum_of(tube))
        least = least_half_value_layer_mm_al(tube.kvp)
    except NotFound:
        return  # a file with such a tube is refused, since nothing can be computed for it
    if layer < least:
        yield Finding(
            (ALUMINIUM, VOLTAGE, COPPER),
            f"at {tube.kvp:g} kV {layer:.2f} mm aluminium halve the beam; at least {least:.2f} mm "
            "are asked for, so more filter is needed",
            is_error=True,
        )


def _protocol(base: KeyPath, protocol: Protocol) -> Iterator[Finding]:
    for key, value, (low, high), unit in (
        ("turn_mas", protocol.current_ma, CURRENT_MA, "mA while the beam is on"),
        ("scan_s", protocol.scan_s, SCAN_S, "s for a run"),
        ("beam_on_s", protocol.beam_on_s, BEAM_ON_S, "s of beam"),
    ):
        if not low <= value <= high:
            yield Finding(
                ((*base, key),),
                f"protocol {protocol.id} has {value:.3g} {unit}; {low:g} to {high:g} are in use",
            )
