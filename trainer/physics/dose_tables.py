"""The published figures that doses are estimated with, each with its source; see data/README.md."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from trainer.errors import NotFound, TrainerError
from trainer.models.field_class import LARGE_AREA_CM2, FieldClass
from trainer.models.protocol import AgeGroup

# Mah, Ritenour & Yao 2021 part their coefficients by diameter x height here and at
# `LARGE_AREA_CM2`.
SMALL_BELOW_CM2 = 100.0
# How the program's classes are told in Ludlow et al. 2015. That paper and others draw the lines
# differently (its own lines from memory: heights of 10 and 15 cm), so this is a comparison only.
_LUDLOW = {
    FieldClass.SMALL: "small",
    FieldClass.ONE_JAW: "medium",
    FieldClass.BOTH_JAWS: "medium",
    FieldClass.LARGE: "large",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A published figure with its range; ``status`` says how far it was checked."""

    low: float
    middle: float
    high: float
    unit: str
    source: str
    status: str
    note: str

    @property
    def cited(self) -> str:
        """Source and status in one line."""
        return f"{self.source} ({self.status})"


def coefficient(area_cm2: float, group: AgeGroup) -> Figure:
    """Effective dose over kerma-area product [uSv per mGy cm2] of a field.

    ``area_cm2`` is the field's diameter x height. A child's figures are an adult's times the
    labelled assumption `child_factor`.
    """
    band = (
        "small"
        if area_cm2 < SMALL_BELOW_CM2
        else "large"
        if area_cm2 > LARGE_AREA_CM2
        else "medium"
    )
    (adult,) = (_figure(r) for r in _rows("dose_coefficients.csv") if r["band"] == band)
    if group is AgeGroup.ADULT:
        return adult
    child = child_factor()
    return Figure(
        adult.low * child.low,
        adult.middle * child.middle,
        adult.high * child.high,
        adult.unit,
        f"{adult.cited}; times a child factor: {child.source}",
        child.status,
        child.note,
    )


def child_factor() -> Figure:
    """How much more effective dose a child gets for the same exposure: an assumption."""
    return _dose_figure("child factor", AgeGroup.CHILD, "any")


def published_dose(size: FieldClass, group: AgeGroup) -> Figure:
    """Effective doses [uSv] published for fields of about that class, to set an estimate beside."""
    return _dose_figure("effective dose", group, _LUDLOW[size])


def panoramic_dose(group: AgeGroup) -> Figure:
    """Effective doses [uSv] published for one panoramic picture."""
    return _dose_figure("effective dose", group, "panoramic")


def background_usv_per_year() -> Figure:
    """Mean dose of a year from all sources, in one country [uSv]."""
    return _dose_figure("background", "UK population", "all sources")


def least_half_value_layer_mm_al(kvp: float) -> float:
    """Smallest first half-value layer allowed at a voltage [mm Al]; straight between the rows.

    IEC 60601-1-3:2008, from memory.
    """
    rows = _rows("least_hvl.csv")
    volts = [float(r["kvp"]) for r in rows]
    if not volts[0] <= kvp <= volts[-1]:
        raise NotFound(f"no least half-value layer for {kvp:g} kV; {volts[0]:g} to {volts[-1]:g}")
    return float(np.interp(kvp, volts, [float(r["least_hvl_mm_al"]) for r in rows]))


def tissue_weights(publication: str = "icrp103") -> Mapping[str, float]:
    """Tissue weights that effective dose is defined with; ``icrp60`` (1990) or ``icrp103`` (2007).

    Raises
    ------
    NotFound
        If there is no such publication here.
    """
    if publication not in ("icrp60", "icrp103"):
        raise NotFound(f"no tissue weights of {publication!r}; there are icrp60 and icrp103")
    return {r["tissue"]: float(r[publication]) for r in _rows("tissue_weights.csv")}


def _dose_figure(quantity: str, group: str, name: str) -> Figure:
    for row in _rows("dose_figures.csv"):
        if (row["quantity"], row["group"], row["class"]) == (quantity, group, name):
            return _figure(row)
    raise TrainerError(f"dose_figures.csv lacks {quantity} of {group}, {name}")


def _figure(row: Mapping[str, str]) -> Figure:
    """A row as a figure; one without a range is its own range."""
    middle = float(row["middle"])
    return Figure(
        float(row["low"] or middle),
        middle,
        float(row["high"] or middle),
        row["unit"],
        row["source"],
        row["status"],
        row["note"],
    )


@cache
def _rows(name: str) -> tuple[Mapping[str, str], ...]:
    text = (files("trainer.physics") / "data" / name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
