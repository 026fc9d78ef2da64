"""Writes trainer/physics/data/tube_spectra.csv with the spectrum library spekpy.

    python docs/make_tube_spectra.py

Needs spekpy (MIT licence), which the trainer itself does not use. Model `casim`, tungsten anode at
12 degrees, 2.5 mm aluminium, bins of 1 keV; photons per cm2 and mAs at 1 m. Bins below 10 keV hold
less than 1e-9 of all photons and are left out.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import spekpy

VOLTAGES_KV = range(60, 121, 10)
ALUMINIUM_MM, ANODE_DEG = 2.5, 12.0
LOWEST_KEV = 10.0

OUT = Path(__file__).parents[1] / "trainer" / "physics" / "data" / "tube_spectra.csv"


def photons(kvp: float) -> dict[float, float]:
    """Photons by middle of the bin [keV]."""
    tube = spekpy.Spek(kvp=kvp, th=ANODE_DEG, dk=1.0, physics="casim")
    tube.filter("Al", ALUMINIUM_MM)
    energies, fluence = tube.get_spectrum(edges=False)
    return dict(zip(energies.tolist(), fluence.tolist(), strict=True))


def main() -> None:
    """Write the file."""
    tables = {kvp: photons(kvp) for kvp in VOLTAGES_KV}
    energies = np.arange(LOWEST_KEV + 0.5, max(VOLTAGES_KV))
    lines = ["energy_kev," + ",".join(f"{kvp}_kv" for kvp in tables)]
    for energy in energies.tolist():
        cells = (f"{table.get(energy, 0.0):.5g}" for table in tables.values())
        lines.append(f"{energy:g}," + ",".join(cells))
    OUT.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
