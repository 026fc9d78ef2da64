"""A cylinder as a head's only structure, a unit whose beam cuts nothing, and a case of both."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from trainer.models.device import Beam, FieldSize, Region, RegionPlace, Travel, Unit
from trainer.models.frames import Frame, Side
from trainer.models.scenario import AttitudeLimits, Case, ReferencePlane, Requirement
from trainer.models.setup import Setup
from trainer.models.structures import Head, Structure, StructureKind
from trainer.models.subject import MEAN_MAN, Subject
from trainer.services.assets import UNITS
from trainer.services.unit_io import find_unit

BEAD = "bead"
CORNERS = 360  # a circle of so many corners is short of a round one by less than 0.001 mm
CHIN_BELOW_MM = 40.0
SHIFTS = (
    "chin_height_mm",
    "sideways_mm",
    "forward_mm",
    "field_sideways_mm",
    "field_forward_mm",
)
# Far away, so that the cone has no slope.
PARALLEL = Beam(1e9, 2e9, 1e9, 1e9)


def bead(diameter_mm: float, height_mm: float, at_mm: tuple[float, float, float]) -> Structure:
    """An upright cylinder as a structure of the skull."""
    angle = np.linspace(0.0, 2.0 * np.pi, CORNERS, endpoint=False)
    ring = diameter_mm / 2.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    both = [np.column_stack([ring, np.full(CORNERS, z * height_mm / 2.0)]) for z in (-1, 1)]
    return Structure(
        id=BEAD,
        name="the bead",
        kind=StructureKind.BONE,
        side=Side.MIDLINE,
        frame=Frame.SKULL,
        samples_mm=np.array([at_mm]),
        weights=np.ones(1),
        cell_mm=1.0,
        hull_mm=np.concatenate(both) + at_mm,
        volume_mm3=np.pi / 4.0 * diameter_mm**2 * height_mm,
    )


def bead_head(
    diameter_mm: float, height_mm: float, at_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> Head:
    """A head of one bead, its chin contact below the skull's origin."""
    chin = np.array([0.0, 0.0, -CHIN_BELOW_MM])
    marks = {
        "upper-incisor-edge": np.array([0.0, -80.0, -20.0]),
        "upper-first-molar-cusp-left": np.array([25.0, -50.0, -20.0]),
        "upper-first-molar-cusp-right": np.array([-25.0, -50.0, -20.0]),
    }
    return Head(
        MEAN_MAN, MappingProxyType({BEAD: bead(diameter_mm, height_mm, at_mm)}), marks, chin
    )


def bead_unit(*sizes_mm: tuple[float, float]) -> Unit:
    """A unit with these fields, fine steps, long travel, and a beam that cuts nothing off."""
    unit = find_unit("alder-bench", UNITS)
    fields = tuple(
        FieldSize(f"{d:g}x{h:g}", d, h, (Region.LOWER_JAW,), (100,)) for d, h in sizes_mm
    )
    fine = dict(unit.travel)
    for key in SHIFTS:
        fine[key] = Travel(-100.0, 100.0, 0.05)
    return replace(
        unit,
        fields=fields,
        regions={Region.LOWER_JAW: RegionPlace(0.0, 0.0)},
        travel=fine,
        beam=PARALLEL,
        moving_parts=(),
    )


def bead_case(unit: Unit, margin_mm: float) -> Case:
    """The bead with a margin, in the unit's first field."""
    start = Setup(
        1400.0, 20.0, 30.0, 0.0, 0.0, 0.0, 0.0, 0.0,
        Region.LOWER_JAW, unit.fields[0].id, 0.0, 0.0, False,
    )  # fmt: skip
    return Case(
        id="bead", level=1, title={"en": "Bead"}, request={"en": "."}, aim={"en": "."},
        subject=Subject(MEAN_MAN, "nobody", 1420.0), unit_id=unit.id, start=start,
        required=(Requirement(BEAD, margin_mm),), wanted=(),
        attitude=AttitudeLimits(ReferencePlane.FRANKFORT, 10.0, 10.0, 10.0), guard_rim_mm=0.0,
    )  # fmt: skip
