"""The mandibular canal: the tube in the lower jaw that holds the lower alveolar nerve.

Its course is laid on the mean man's jaw plate (see `mandible`) below the person's own root tips,
and led to the person by the head's map. Where roots or germs would still come near, it is led round
them (see `canal_detour`).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.canal_detour import LEAST_ROOM_MM, covered, led_round
from trainer.anatomy.bones.jaw_plate import border_line, sheet
from trainer.anatomy.bones.mandible import (
    mandible,
    mandibular_foramen_mm,
    mental_foramen_mm,
)
from trainer.anatomy.bones.ridges import crest_mm
from trainer.anatomy.people.warp import HeadWarp, head_warp
from trainer.anatomy.shapes.implicit import Shape, smooth_curve, tube
from trainer.anatomy.teeth.dentition import bone_shape, dentition, mirror_image, whole_dentition
from trainer.anatomy.teeth.tooth_tables import is_right
from trainer.errors import TrainerError
from trainer.models.frames import Frame, Side
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
# In a worn jaw without molars the canal comes to lie close under the crest: bone between, by eye.
UNDER_CREST_MM = 1.2
BEHIND_SECOND_MM = 10.5  # from the second lower molar to where the third will be
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
    if side is Side.LEFT:
        return _path(bone_shape(person)).copy()
    return _path(mirror_image(person)) * [-1.0, 1.0, 1.0]


def canal(person: Person, side: Side) -> Shape:
    """The canal as a rod 2.7 mm across, mandible frame [mm]; errors as in `canal_path`."""
    return tube(canal_path(person, side), CANAL_DIAMETER_MM / 2)


@lru_cache(maxsize=16)
def _path(person: Person) -> Array:
    """The left canal's middle line."""
    warp = head_warp(person)
    entry = mandibular_foramen_mm()
    foramen = warp.to_mean_man(mental_foramen_mm(person)[None])[0]
    course = _course(person, warp, entry, foramen)
    within = _point(course)
    path = warp.to_subject(smooth_curve(np.vstack([entry, within, foramen]), POINTS))
    bone, teeth = mandible(person), _above(person)
    if _room_mm(path, teeth).min() >= LEAST_ROOM_MM and covered(path, bone):
        return path
    return led_round(path, bone, teeth)


def _point(course: Array) -> Array:
    """Places on the mean man's jaw plate (along, share of the thickness, height) as points."""
    plate = sheet()
    inner, outer = plate.faces(course[:, 0], course[:, 2])
    across = inner + course[:, 1] * (outer - inner)
    return plate.point(course[:, 0], across, course[:, 2])


def _above(person: Person) -> list[Shape]:
    """What the canal must pass: the lower left teeth."""
    return [
        t.solid
        for t in dentition(person)
        if t.frame is Frame.MANDIBLE and not is_right(t.fdi) and t.fdi % 10 > 2
    ]


def _room_mm(points: Array, teeth: list[Shape]) -> Array:
    """From each of the points (n, 3) to the nearest tooth, less half the canal [mm]."""
    return np.min([tooth(points) for tooth in teeth], axis=0, initial=99.0) - CANAL_DIAMETER_MM / 2


def _course(person: Person, warp: HeadWarp, entry: Array, foramen: Array) -> Array:
    """Where the canal would like to run, in the mean man: along the horseshoe, share of the way
    from the inner to the outer face, height; (8, 3)."""
    plate, half = sheet(), CANAL_DIAMETER_MM / 2
    s_entry, s_foramen = (float(plate.locate(p[None])[0][0]) for p in (entry, foramen))
    first, second, third = _lowest_tips(person, warp)

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
    return np.array(
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


def _lowest_tips(person: Person, warp: HeadWarp) -> list[tuple[float, float]]:
    """Of the three lower molars, lost or not: place along the horseshoe, and height of the lowest
    root tip (or germ's end) [mm], mean man. A third molar that is not there yet counts as standing
    behind the second as high as that."""
    teeth = {t.fdi: t for t in whole_dentition(person)}
    here = {t.fdi for t in dentition(person)}
    found: list[tuple[float, float]] = []
    for fdi in (36, 37, 38):
        if fdi not in teeth:
            found.append((found[-1][0] + BEHIND_SECOND_MM, found[-1][1]))
            continue
        tooth = teeth[fdi]
        ends = [root.axis_mm[-1] for root in tooth.roots] or [tooth.origin_mm]
        tips = warp.to_mean_man(np.array(ends))
        low = float(tips[:, 2].min())
        if fdi not in here and tooth.erupted:  # a worn ridge comes down on the canal
            crest = warp.to_mean_man(crest_mm(tooth, person)[None])[0, 2]
            low = min(low, float(crest) - UNDER_CREST_MM + UNDER_MOLAR_MM[person.sex])
        found.append((float(sheet().locate(tips)[0].mean()), low))
    return found
