"""The bone that carries the teeth.

Round each tooth stands a block of bone in the tooth's own direction: from the crest, a little below
the neck, to beyond the apices, wide enough to cover the roots with a thin plate and to meet the
blocks of its neighbours. A wide blend makes one process of them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.dentition import Tooth
from trainer.anatomy.implicit import Shape, placed, union
from trainer.anatomy.tooth_shapes import STEP_MM, loft

Array = NDArray[np.float64]

# Crest below the neck: 1.5 to 2 in health (from memory: periodontology textbooks).
CREST_MM = 1.8
# Bone over the roots [mm]: thin at front teeth, thick on the cheek side of lower molars, where the
# outer oblique ridge begins (from memory: dental anatomy and implant textbooks).
PLATE_MM = 1.3
PLATE_LOWER_MOLAR_BUCCAL_MM = (2.6, 4.0, 4.5)  # teeth 6, 7, 8
BEYOND_APEX_MM = 5.0
BLEND_MM = 2.0


def _block(tooth: Tooth) -> Shape:
    size = tooth.size
    to_tooth = [(r.axis_mm - tooth.origin_mm) @ tooth.rotation for r in tooth.roots]
    deepest = -min(a[-1, 2] for a in to_tooth)
    z = np.arange(round((-deepest - BEYOND_APEX_MM) / STEP_MM), round(-CREST_MM / STEP_MM) + 1)
    z = z * STEP_MM
    buccal, lingual = np.full_like(z, -np.inf), np.full_like(z, -np.inf)
    drift = np.zeros_like(z)
    for axis, root in zip(to_tooth, tooth.roots, strict=True):
        y = np.interp(-z, -axis[:, 2], axis[:, 1])
        r = np.interp(-z, -axis[:, 2], root.half_mm[:, 1])
        buccal, lingual = np.maximum(buccal, y + r), np.maximum(lingual, r - y)
        drift += np.interp(-z, -axis[:, 2], axis[:, 0]) / len(to_tooth)
    neck = size.bl_neck_mm / 2
    near = np.clip(1.0 + (z + CREST_MM) / 12.0, 0.0, 1.0)  # near the crest the whole neck counts
    buccal, lingual = np.maximum(buccal, neck * near), np.maximum(lingual, neck * near)
    plate_b = plate_l = PLATE_MM
    place = tooth.fdi % 10
    if tooth.fdi > 30 and place >= 6:
        plate_b = PLATE_LOWER_MOLAR_BUCCAL_MM[place - 6]
    grow = 1.0 - 0.35 * np.clip(1.0 + (z + CREST_MM) / 3.0, 0.0, 1.0)  # plates thin at the crest
    buccal, lingual = buccal + plate_b * grow, lingual + plate_l * grow
    half_md = np.full_like(z, size.md_mm / 2 + 0.4)
    zero = np.zeros_like(z)
    columns = np.column_stack(
        [drift, (buccal - lingual) / 2, half_md, (buccal + lingual) / 2, zero + 3.0, zero, zero]
    )
    return placed(loft(z, columns, 1.2), tooth.rotation, tooth.origin_mm)


def alveolar_process(teeth: Sequence[Tooth]) -> Shape:
    """The alveolar process round the roots of the given teeth (of one jaw), sockets not cut out.

    Crest 1.5 to 2 mm below the necks, plates 1 to 2 mm over the roots (more on the cheek side of
    lower molars), about 5 mm beyond the apices, where it is meant to run into the jaw's body.
    """
    return union(*(_block(t) for t in teeth), blend_mm=BLEND_MM)
