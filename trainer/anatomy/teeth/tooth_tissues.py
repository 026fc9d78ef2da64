"""Enamel, dentine and pulp inside a tooth."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.teeth.primary_forms import form_of
from trainer.anatomy.teeth.tooth_tables import is_primary, kind_of

Array = NDArray[np.float64]

# Thickness of the enamel [mm] at heights above the neck line, as shares of the crown's: a knife
# edge at the neck, about 1 on the sides, 2 over cusps (2 to 2.5 over cusps, a little less over
# biting edges: from memory, dental anatomy textbooks).
ENAMEL_MM = np.array([[0.0, 0.0], [0.1, 0.35], [0.3, 0.75], [0.6, 1.1], [0.85, 1.6], [1.0, 2.0]])
# Primary enamel is about half as thick, 0.5 to 1 mm (from memory: textbooks of children's teeth).
PRIMARY_ENAMEL = 0.5


def is_enamel(tooth: Tooth, points_mm: Array, depth_mm: Array) -> NDArray[np.bool_]:
    """Which points (n, 3) of the tooth lie in its enamel.

    ``depth_mm`` (n,) is how deep each lies below the tooth's surface; points in the jaw's frame.
    """
    own = (points_mm - tooth.origin_mm) @ tooth.rotation
    form, factor = form_of(*kind_of(tooth.fdi)), tooth.stretch[0]
    # the neck line climbs on the faces towards the neighbours, as in `tooth_shapes`
    aside = np.minimum(np.abs(own[:, 0]) / (tooth.size.md_neck_mm / 2.0), 1.0)
    height = (own[:, 2] - form.cej_mm * factor * aside**2) / tooth.size.crown_mm
    thick = np.interp(height, ENAMEL_MM[:, 0], ENAMEL_MM[:, 1])
    thick *= PRIMARY_ENAMEL if is_primary(tooth.fdi) else factor
    return np.asarray((height > 0.0) & (depth_mm < thick))
