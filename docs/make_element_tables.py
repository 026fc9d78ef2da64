"""Writes trainer/physics/data/elements.csv from the Elam tables in xraydb.

    python docs/make_element_tables.py

Elam, Ravel & Sieber, Radiat. Phys. Chem. 63:121-128, 2002, as packed in xraydb (MIT licence; its
data are public). Total attenuation, coherent scatter included, 10 to 150 keV. An absorption edge
stands twice, with the value just below and just above it. Between edges, points are added where
a straight line in log-log is furthest off, until it is right to 0.02 % everywhere.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import xraydb

# Tissues, filters and tube parts, implants, crowns, fillings, contrast agents.
SYMBOLS = """
    H C N O F Na Mg Al Si P S Cl Ar K Ca Ti V Cr Mn Fe Co Ni Cu Zn Sr Y Zr Mo Pd Ag Sn I Ba
    Gd Yb Hf W Pt Au Hg Pb
"""
LOWEST_KEV, HIGHEST_KEV = 10.0, 150.0
BESIDE_EDGE_EV = 0.5
TOLERANCE = 2e-4

OUT = Path(__file__).parents[1] / "trainer" / "physics" / "data" / "elements.csv"


def rows_of(symbol: str) -> list[tuple[float, float]]:
    """Energy [keV] and mass attenuation [cm2/g] of an element, edges twice."""
    listed_ev = [edge.energy for edge in xraydb.xray_edges(symbol).values()]
    listed_ev = sorted(e for e in listed_ev if LOWEST_KEV * 1e3 < e < HIGHEST_KEV * 1e3)
    inner = [_jump_ev(symbol, e) for e in listed_ev]
    limits = [LOWEST_KEV * 1e3, *inner, HIGHEST_KEV * 1e3]
    rows = []
    for low, high in pairwise(limits):
        rows += _segment(symbol, low, high, low in inner, high in inner)
    return rows


def _jump_ev(symbol: str, listed_ev: float) -> float:
    """Where the tables jump: some eV beside the edge's listed energy."""
    near = listed_ev + np.arange(-20.0, 20.0, 0.25)
    mu = xraydb.mu_elam(symbol, near, kind="total")
    at = int(np.argmax(np.diff(np.log(mu))))
    assert mu[at + 1] > 1.05 * mu[at], f"no jump of {symbol} at {listed_ev} eV"
    return float(near[at] + near[at + 1]) / 2.0


def _segment(
    symbol: str, low_ev: float, high_ev: float, edge_below: bool, edge_above: bool
) -> list[tuple[float, float]]:
    """Points of one stretch without edges."""
    energies = np.geomspace(low_ev, high_ev, 400)
    asked = energies.copy()
    asked[0] += BESIDE_EDGE_EV if edge_below else 0.0
    asked[-1] -= BESIDE_EDGE_EV if edge_above else 0.0
    x, y = np.log(energies), np.log(xraydb.mu_elam(symbol, asked, kind="total"))
    chosen = [0, len(x) - 1]
    while True:
        off = np.abs(np.interp(x, x[chosen], y[chosen]) - y)
        worst = int(np.argmax(off))
        if off[worst] < TOLERANCE:
            break
        chosen = sorted([*chosen, worst])
    return [(energies[i] / 1e3, float(np.exp(y[i]))) for i in chosen]


def main() -> None:
    """Write the file."""
    lines = ["symbol,energy_kev,mass_attenuation_cm2_g"]
    for symbol in SYMBOLS.split():
        lines += [f"{symbol},{e:.7g},{mu:.6g}" for e, mu in rows_of(symbol)]
    OUT.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
