"""Where the teeth stand in the tooth chart: outlines of our own head's crowns, seen along the bite.

The upper arch is drawn with its front at the top, the lower one with its front at the bottom, as
they lie when one looks into the open mouth from the front: the patient's right is on the left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.models.subject import Person, Sex
from trainer.services.assets import load_head

Array = NDArray[np.float64]

PERMANENT = tuple(quadrant * 10 + n for quadrant in (1, 2, 3, 4) for n in range(1, 9))
PRIMARY = tuple(quadrant * 10 + n for quadrant in (5, 6, 7, 8) for n in range(1, 6))
# Half of what stays free between the arches, and how much smaller the inner arches of milk teeth
# are drawn: own working values, for the eye only.
HALF_GAP_MM, INNER_SCALE = 2.0, 0.74
# The arches are drawn this much wider than they are, so that narrow front teeth can be hit.
WIDER = 1.7


@dataclass(frozen=True, slots=True, eq=False)
class ChartTooth:
    """A tooth of the chart: its outline (n, 2) and middle, across and down [mm]."""

    fdi: int
    outline_mm: Array
    middle_mm: Array


@lru_cache(maxsize=1)
def permanent_places() -> Mapping[int, ChartTooth]:
    """The permanent teeth of the mean man's head."""
    from scipy.spatial import ConvexHull

    structures = load_head(Person(Sex.MALE)).head.structures
    found = {}
    for fdi in PERMANENT:
        corners = structures[f"tooth-{fdi}-crown"].hull_mm[:, :2] * (WIDER, 1.0)
        outline = corners[ConvexHull(corners).vertices]
        found[fdi] = outline if fdi < 30 else outline * (1.0, -1.0)
    # back ends of both arches meet near the middle of the chart
    upper = max(float(found[f][:, 1].max()) for f in PERMANENT if f < 30)
    lower = min(float(found[f][:, 1].min()) for f in PERMANENT if f > 30)
    places = {}
    for fdi, outline in found.items():
        shift = -upper - HALF_GAP_MM if fdi < 30 else -lower + HALF_GAP_MM
        moved = outline + (0.0, shift)
        places[fdi] = ChartTooth(fdi, moved, (moved.min(axis=0) + moved.max(axis=0)) / 2.0)
    return places


@lru_cache(maxsize=1)
def primary_places() -> Mapping[int, ChartTooth]:
    """The milk teeth, in smaller arches within those of the teeth that follow them."""
    permanent = permanent_places()
    ends = {upper: _end(permanent, upper) for upper in (True, False)}
    places = {}
    for fdi in PRIMARY:
        model = permanent[fdi - 40]
        centre = np.array([0.0, ends[fdi < 70]])
        outline = centre + INNER_SCALE * (model.outline_mm - centre)
        middle = centre + INNER_SCALE * (model.middle_mm - centre)
        places[fdi] = ChartTooth(fdi, outline, middle)
    return places


def _end(permanent: Mapping[int, ChartTooth], upper: bool) -> float:
    """How far down the place stands towards which an inner arch is made smaller."""
    one, other = (17, 27) if upper else (37, 47)
    return float((permanent[one].middle_mm[1] + permanent[other].middle_mm[1]) / 2.0)


def arch_order(fdi: int) -> tuple[int, int]:
    """Row (0 upper to 3, milk teeth between) and place from the patient's right to left."""
    quadrant, number = divmod(fdi, 10)
    row = {1: 0, 2: 0, 5: 1, 6: 1, 7: 2, 8: 2, 3: 3, 4: 3}[quadrant]
    return row, -number if quadrant in (1, 4, 5, 8) else number
