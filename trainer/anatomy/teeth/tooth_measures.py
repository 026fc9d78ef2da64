"""Sizes of a tooth read off its solid, as a caliper would."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.teeth.dentition import Tooth

Array = NDArray[np.float64]

# The biting edge is what lies within this of the highest point.
EDGE_DEPTH_MM = 0.2


@dataclass(frozen=True, slots=True)
class ToothMeasures:
    """Sizes as tabled [mm]: lengths along the cheek or lip side, largest crown widths."""

    crown_mm: float
    root_mm: dict[str, float]
    mesiodistal_mm: float
    buccolingual_mm: float


def measure_tooth(tooth: Tooth, spacing_mm: float = 0.25) -> ToothMeasures:
    """Crown and root lengths and crown widths of a tooth, measured on its meshed solid [mm].

    The neck is at the tooth's origin. The crown's length runs to the highest point of its outer
    half, each root's to its own tip.
    """
    crown = in_tooth_axes(tooth, surface(tooth.crown, spacing_mm).vertices_mm)
    whole = in_tooth_axes(tooth, surface(tooth.solid, spacing_mm).vertices_mm)
    below = whole[whole[:, 2] < 0.0]
    tips = np.array([in_tooth_axes(tooth, root.axis_mm[-1:])[0] for root in tooth.roots])
    # each point of the roots belongs to the root whose tip is nearest sideways
    owner = np.argmin(np.linalg.norm(below[:, None, :2] - tips[None, :, :2], axis=2), axis=1)
    return ToothMeasures(
        crown_mm=float(crown[crown[:, 1] > 0.0, 2].max()),
        root_mm={
            root.name: float(-below[owner == i, 2].min()) for i, root in enumerate(tooth.roots)
        },
        mesiodistal_mm=float(np.ptp(crown[:, 0])),
        buccolingual_mm=float(np.ptp(crown[:, 1])),
    )


def in_tooth_axes(tooth: Tooth, points_mm: Array) -> Array:
    """Points of the jaw's frame (n, 3) as mesial, buccal, occlusal from the neck [mm]."""
    found = (points_mm - tooth.origin_mm) @ tooth.rotation
    if tooth.fdi // 10 % 2 == 0:  # there the first axis runs distally
        found[:, 0] *= -1.0
    return np.asarray(found)


def front_outer_cusp(tooth: Tooth) -> Array:
    """Tip of the mesiobuccal cusp, (3,) in the jaw's frame [mm]."""
    vertices = surface(tooth.crown, 0.25).vertices_mm
    own = in_tooth_axes(tooth, vertices)
    in_quarter = (own[:, 0] > 0.0) & (own[:, 1] > 0.0)
    return np.asarray(vertices[in_quarter][np.argmax(own[in_quarter, 2])])
