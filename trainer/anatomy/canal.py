"""The mandibular canal: the tube in the lower jaw that holds the lower alveolar nerve.

Its course is laid on the mean man's jaw plate (see `mandible`) below the subject's own root tips,
and led to the subject by the head's map.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.dentition import dentition
from trainer.anatomy.implicit import Shape, smooth_curve, tube
from trainer.anatomy.jaw_plate import border_line, sheet
from trainer.anatomy.mandible import (
    mandibular_foramen_mm,
    mental_foramen_mm,
)
from trainer.anatomy.warp import HeadWarp, head_warp
from trainer.errors import TrainerError
from trainer.models.frames import Side
from trainer.models.subject import Person, Sex

Array = NDArray[np.float64]

# 2.5-2.6 (0.5): J. Orthod. Sci. 2024; 2.9-3.0: J. Endod. 2016.
CANAL_DIAMETER_MM = 2.7
# Second molar's root tip to the canal, straight down: Peruvian CBCT study (Odontos). The first
# molar's is never less (Littner et al., J. Endod. 1987: shortest at the second).
UNDER_MOLAR_MM = {Sex.MALE: 4.0, Sex.FEMALE: 2.9}
# Third molar's, 2.9 in women: same study; less is common. The canal climbs here.
UNDER_THIRD_MOLAR_MM = 2.5
CLIMB_BEHIND_SECOND_MOLAR = 0.35
# Canal middle above the lower border at the first molar, 8-10: from memory.
ABOVE_BORDER_AT_FIRST_MOLAR_MM = 9.0
# Bone left under the canal wherever long roots press it down: common sense, no source.
LEAST_ABOVE_BORDER_MM = 5.0
ANTERIOR_LOOP_MM = 2.3  # where present: von Arx et al., J. Endod. 2013
POINTS = 64


def canal_path(person: Person, side: Side) -> Array:
    """Middle line of the canal from the mandibular to the mental foramen.

    Returns (64, 3) points [mm] in the mandible frame.

    Raises
    ------
    TrainerError
        If ``side`` is the midline, which has no canal.
    """
    if side is Side.MIDLINE:
        raise TrainerError("there is a left and a right mandibular canal, none in the midline")
    path = _left_path(person).copy()
    if side is Side.RIGHT:
        path[:, 0] *= -1.0
    return path


def canal(person: Person, side: Side) -> Shape:
    """The canal as a rod 2.7 mm across, mandible frame [mm]; errors as in `canal_path`."""
    return tube(canal_path(person, side), CANAL_DIAMETER_MM / 2)


@lru_cache(maxsize=2)
def _left_path(person: Person) -> Array:
    warp, plate = head_warp(person), sheet()
    half = CANAL_DIAMETER_MM / 2
    entry = mandibular_foramen_mm()
    foramen = warp.to_mean_man(mental_foramen_mm(person)[None])[0]
    s_entry, s_foramen = (float(plate.locate(p[None])[0][0]) for p in (entry, foramen))
    first, second, third = (_lowest_tip(person, warp, fdi) for fdi in (36, 37, 38))

    def above_border(s_mm: float, height_mm: float) -> float:
        return float(border_line(-plate.point(s_mm, 0.0, 0.0)[1])) + height_mm

    def under(tip: tuple[float, float], gap_mm: float) -> float:
        return max(tip[1] - gap_mm - half, above_border(tip[0], LEAST_ABOVE_BORDER_MM))

    z_second = under(second, UNDER_MOLAR_MM[person.sex])
    z_first = min(
        above_border(first[0], ABOVE_BORDER_AT_FIRST_MOLAR_MM),
        under(first, UNDER_MOLAR_MM[person.sex]),
    )
    z_third = min(
        z_second + CLIMB_BEHIND_SECOND_MOLAR * (third[0] - second[0]),
        under(third, UNDER_THIRD_MOLAR_MM),
    )
    s_loop = s_foramen - ANTERIOR_LOOP_MM
    # place along the horseshoe, share of the way from the inner to the outer face, height
    course = np.array(
        [
            [s_entry - 1.5, 0.30, entry[2] - 5.0],
            [0.45 * s_entry + 0.55 * third[0], 0.36, 0.45 * entry[2] + 0.55 * z_third],
            [third[0], 0.40, z_third],
            [second[0], 0.42, z_second],
            [first[0], 0.45, z_first],
            [s_foramen + 4.5, 0.48, foramen[2] - 3.2],
            [s_loop + 0.4, 0.58, foramen[2] - 2.4],
            [s_foramen - 1.2, 0.80, foramen[2] - 0.6],
        ]
    )
    inner, outer = plate.faces(course[:, 0], course[:, 2])
    within = plate.point(course[:, 0], inner + course[:, 1] * (outer - inner), course[:, 2])
    return warp.to_subject(smooth_curve(np.vstack([entry, within, foramen]), POINTS))


def _lowest_tip(person: Person, warp: HeadWarp, fdi: int) -> tuple[float, float]:
    """Along the horseshoe and up [mm], mean man: middle and lowest of a lower tooth's root tips."""
    tooth = next(t for t in dentition(person) if t.fdi == fdi)
    tips = warp.to_mean_man(np.array([root.axis_mm[-1] for root in tooth.roots]))
    return float(sheet().locate(tips)[0].mean()), float(tips[:, 2].min())
