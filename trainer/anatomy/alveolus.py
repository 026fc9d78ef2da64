"""The bone that carries the teeth.

Round each tooth stands a block of bone in the tooth's own direction: from the crest, a little below
the neck and following its line, to beyond the apices, wide enough to cover the roots with a thin
plate and to meet the blocks of its neighbours. A wide blend makes one process of them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.dentition import Tooth
from trainer.anatomy.implicit import Shape, common, placed, union
from trainer.anatomy.tooth_forms import FORMS
from trainer.anatomy.tooth_shapes import STEP_MM, loft
from trainer.anatomy.tooth_tables import is_right, jaw_of

Array = NDArray[np.float64]

# Crest below the neck: 1.5 to 2 in health (from memory: periodontology textbooks). Between the
# teeth it rises with the neck line, by this share. The blend of the blocks adds a little on top.
CREST_MM = 1.9
CREST_RISE = 0.7
# Bone over the roots [mm]: thin at front teeth, thick on the cheek side of lower molars, where the
# outer oblique ridge begins (from memory: dental anatomy and implant textbooks).
PLATE_MM = 1.3
PLATE_LOWER_MOLAR_BUCCAL_MM = (2.4, 3.6, 4.2)  # teeth 6, 7, 8
BEYOND_APEX_MM = 4.5
ROUND_MM = 1.2
BLEND_MM = 3.0


def _floors_mm(teeth: Sequence[Tooth]) -> dict[int, float]:
    """How deep below its neck each tooth's block ends, so that the lower rim runs evenly [mm]."""
    along = sorted(teeth, key=lambda t: t.fdi % 10 * (1 if t.fdi // 10 in (2, 3) else -1))
    up = np.mean([t.rotation[:, 2] for t in along], axis=0)
    up /= np.linalg.norm(up)
    neck = np.array([t.origin_mm @ up for t in along])
    lean = np.array([t.rotation[:, 2] @ up for t in along])
    own = np.array([max(t.size.root_mm) for t in along])
    rim = neck - lean * own
    count = len(rim)
    lowest = np.array([rim[max(0, i - 1) : i + 2].min() for i in range(count)])
    even = np.array([lowest[max(0, i - 2) : i + 3].mean() for i in range(count)])
    depth = np.maximum(own, (neck - even) / lean) + BEYOND_APEX_MM
    return {t.fdi: float(d) for t, d in zip(along, depth, strict=True)}


def _below_crest(tooth: Tooth) -> Shape:
    """Everything on the root's side of the crest, in tooth coordinates."""
    rise = CREST_RISE * FORMS[jaw_of(tooth.fdi), tooth.fdi % 10].cej_mm
    half = tooth.size.md_mm / 2
    huge = np.full(3, 1e6)

    def distance(p: Array) -> Array:
        crest = rise * np.minimum(np.abs(p[:, 0]) / half, 1.0) ** 2 - CREST_MM
        return (p[:, 2] - crest) * 0.8

    return Shape(distance, -huge, np.array([1e6, 1e6, rise - CREST_MM]))


def _block(tooth: Tooth, depth_mm: float) -> Shape:
    place = tooth.fdi % 10
    z = STEP_MM * np.arange(round(-depth_mm / STEP_MM), round(3.0 / STEP_MM) + 1, dtype=np.float64)
    buccal = np.full_like(z, -np.inf)
    lingual, drift = buccal.copy(), np.zeros_like(z)
    for root in tooth.roots:
        axis = (root.axis_mm - tooth.origin_mm) @ tooth.rotation
        x, y, half = (
            np.interp(-z, -axis[:, 2], v) for v in (axis[:, 0], axis[:, 1], root.half_mm[:, 1])
        )
        buccal, lingual = np.maximum(buccal, y + half), np.maximum(lingual, half - y)
        drift += x / len(tooth.roots)
    # near the crest the whole neck counts, not only the roots
    near = tooth.size.bl_neck_mm / 2 * np.clip(1.0 + (z + CREST_MM) / 12.0, 0.0, 1.0)
    plate_b = plate_l = PLATE_MM
    if jaw_of(tooth.fdi) == "lower" and place >= 6:
        plate_b = PLATE_LOWER_MOLAR_BUCCAL_MM[place - 6]
    thin = 1.0 - 0.35 * np.clip(1.0 + (z + CREST_MM) / 3.0, 0.0, 1.0)  # plates thin at the crest
    buccal = np.maximum(buccal, near) + plate_b * thin
    lingual = np.maximum(lingual, near) + plate_l * thin
    half_md = np.full_like(z, tooth.size.md_mm / 2 + 0.4)
    zero = np.zeros_like(z)
    columns = np.column_stack(
        [drift, (buccal - lingual) / 2, half_md, (buccal + lingual) / 2, zero + 3.0, zero, zero]
    )
    block = common(loft(z, columns, ROUND_MM), _below_crest(tooth), blend_mm=ROUND_MM)
    return placed(block, tooth.rotation, tooth.origin_mm)


def alveolar_process(teeth: Sequence[Tooth]) -> Shape:
    """The alveolar process round the roots of the given teeth (of one jaw), sockets not cut out.

    Crest 1.5 to 2 mm below the necks, plates 1 to 2 mm over the roots (more on the cheek side of
    lower molars), at least 4.5 mm beyond the apices, where it is meant to run into the jaw's body.
    In the frame of the teeth.
    """
    floors = _floors_mm(teeth)
    # Blends depend a little on their order: both sides from the midline back, then together, makes
    # the two halves mirror images.
    halves = [
        union(*(_block(t, floors[t.fdi]) for t in side), blend_mm=BLEND_MM)
        for right in (True, False)
        if (side := sorted((t for t in teeth if is_right(t.fdi) is right), key=lambda t: t.fdi))
    ]
    return union(*halves, blend_mm=BLEND_MM)
