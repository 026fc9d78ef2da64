"""The lower jaw: a bent plate, two condylar heads, and the rim round the teeth.

Plate and heads are modelled in the mean man (mandible frame, teeth together) and led to other
heads by `warp`; the heads keep their size, and the rim comes from the subject's own teeth.
Measures with a source stand beside the constants here or in the tests.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.alveolus import alveolar_process
from trainer.anatomy.dentition import dentition
from trainer.anatomy.implicit import (
    Shape,
    both_sides,
    box,
    common,
    cut,
    ellipsoid,
    sphere,
    tube,
    union,
)
from trainer.anatomy.jaw_plate import NOTCH_FORWARD_MM, RAMUS_FU, border_line, plate, sheet
from trainer.anatomy.landmarks import starter_landmarks
from trainer.anatomy.warp import HeadWarp, head_warp
from trainer.models.subject import MEAN_MAN, Person, Sex

Array = NDArray[np.float64]

# Condylar head: along its axis, across (CBCT, 800 people: Saudi Dental Journal 2021, mean of both
# sides) and volume (Tecco et al., BMC Med. Imaging 2010). It does not follow the head's size.
CONDYLE_LONG_MM = {Sex.MALE: 17.2, Sex.FEMALE: 17.0}
CONDYLE_SHORT_MM = {Sex.MALE: 8.85, Sex.FEMALE: 8.85}
CONDYLE_MM3 = {Sex.MALE: 691.0, Sex.FEMALE: 670.0}
CONDYLE_TURN_DEG = 20.0  # medial pole back, 15-25: from memory
HEAD_BLEND_MM = 5.0  # fillet between the neck and the condylar head
RIM_BLEND_MM = 3.0  # fillet between the body and the tooth-bearing rim
# Mental foramen: 12.3-13.7 above the lower border (Int. J. Dent. 2016 and 2018; Medicina 2026).
MENTAL_FORAMEN_UP_MM = 13.0
# 25.2 (3.5) to 25.9 from the midline (Int. J. Dent. 2016; Medicina 2026); a little wider here, so
# that it comes to lie just in front of the second premolar (56-68 %: von Arx 2013; Zurich study).
MENTAL_FORAMEN_LATERAL_MM = 27.0
MENTAL_FORAMEN_MM = 3.1  # 3.0 high, 3.2 long: von Arx et al., J. Endod. 2013
# Lingula: 53 % of the ramus width from the rear border, 65 % of its height from the lower border
# (Head & Face Medicine 2020); the ramus measured from angle to notch and square to its rear border.
LINGULA_WIDTH_SHARE, LINGULA_HEIGHT_SHARE = 0.53, 0.65
# How high a strip along the lower border reaches above the straight border line [mm].
STRIP_MM = 5.0
# Places along the horseshoe [mm]: front of the first molar, back of the third, front of the angle.
STRIP_MOLARS_MM, STRIP_ANGLE_MM = (29.0, 60.0), 80.0


def _condyle(person: Person) -> Shape:
    """The left condylar head, its top at the height of condylion."""
    marks = starter_landmarks(person)
    half_long, half_short = CONDYLE_LONG_MM[person.sex] / 2, CONDYLE_SHORT_MM[person.sex] / 2
    half_high = CONDYLE_MM3[person.sex] / (4.0 / 3.0 * np.pi * half_long * half_short)
    center = marks["hinge-left"].copy()
    center[2] = marks["condylion-left"][2] - half_high
    turn = np.radians(CONDYLE_TURN_DEG)
    c, s = np.cos(turn), np.sin(turn)
    axes = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return ellipsoid(center, [half_long, half_short, half_high], axes)


def mandibular_foramen_mm() -> Array:
    """Entry of the left mandibular canal on the inner face of the ramus, mean man [mm], (3,)."""
    bent, notch = sheet(), RAMUS_FU[np.argmax(RAMUS_FU[:, 0] == NOTCH_FORWARD_MM)]
    low = float(border_line(notch[0]))
    up = low + LINGULA_HEIGHT_SHARE * (notch[1] - low)
    s = np.arange(55.0, 105.0, 0.05)
    s = s[bent.border(s, np.full_like(s, up)) < 0.0]
    inner, outer = bent.faces(s, up)
    rear, front = bent.point(s, (inner + outer) / 2, up)[[-1, 0], 1]
    on_face = bent.point(s, inner, up)
    wanted = rear + LINGULA_WIDTH_SHARE * (front - rear)
    return np.asarray(on_face[np.argmin(np.abs(on_face[:, 1] - wanted))])


def _headless_body() -> Shape:
    """The mean man's plate with mental spines, lingula and the mouth of the canal."""
    entry = mandibular_foramen_mm()
    spines = union(sphere([1.6, -74.6, -84.5], 1.5), sphere([1.5, -74.9, -87.5], 1.3), blend_mm=1.5)
    lingula = tube(entry + np.array([[-0.3, -2.6, -3.0], [-1.2, -2.0, 2.5]]), np.array([1.6, 0.9]))
    bone = union(plate(), both_sides(spines), both_sides(lingula), blend_mm=2.0)
    return cut(bone, both_sides(sphere(entry - np.array([0.6, 0.0, 0.0]), 1.8)), blend_mm=1.0)


def mandible_body() -> Shape:
    """The mean man's lower jaw without its tooth-bearing rim, mandible frame [mm]."""
    return union(_headless_body(), both_sides(_condyle(MEAN_MAN)), blend_mm=HEAD_BLEND_MM)


def _with_rim(person: Person) -> Shape:
    """The subject's lower jaw before the mental foramina are opened."""
    lower = tuple(t for t in dentition(person) if t.fdi // 10 in (3, 4))
    body = head_warp(person).shape(_headless_body())
    body = union(body, both_sides(_condyle(person)), blend_mm=HEAD_BLEND_MM)
    return union(body, alveolar_process(lower), blend_mm=RIM_BLEND_MM)


@lru_cache(maxsize=2)
def _mental_foramen(person: Person) -> tuple[float, float, float]:
    bent = sheet()
    s = np.arange(18.0, 34.0, 0.05)
    z = border_line(-bent.point(s, 0.0, 0.0)[:, 1]) + MENTAL_FORAMEN_UP_MM
    face = bent.faces(s, z)[1]
    i = np.argmin(np.abs(bent.point(s, face, z)[:, 0] - MENTAL_FORAMEN_LATERAL_MM))
    # the rim may cover the plate here: go out to where the bone ends
    out = face[i] + np.arange(-3.0, 8.0, 0.05)
    ways = head_warp(person).to_subject(bent.point(np.full_like(out, s[i]), out, z[i]))
    x, y, up = ways[np.flatnonzero(_with_rim(person)(ways) < 0.0)[-1]]
    return float(x), float(y), float(up)


def mental_foramen_mm(person: Person) -> Array:
    """Centre of the left mental foramen on the bone's outer face, mandible frame [mm], (3,)."""
    return np.array(_mental_foramen(person))


def mandible(person: Person) -> Shape:
    """The whole lower jaw bone of the mean man or woman, mandible frame [mm].

    Sockets and canal are not cut out; only the canal's mouths show, as shallow pits.
    """
    mouths = both_sides(sphere(mental_foramen_mm(person), MENTAL_FORAMEN_MM / 2))
    return cut(_with_rim(person), mouths, blend_mm=1.0)


def mandible_structures(person: Person) -> dict[str, Shape]:
    """Parts of the lower jaw that a request may name, as solids in the mandible frame [mm].

    Paired ones are given for the left side only, as ``name-left``. Where a part ends inside the
    bone is common sense, no source.
    """
    warp, bone = head_warp(person), mandible_body()

    def part(lower: ArrayLike, upper: ArrayLike) -> Shape:
        low, high = np.asarray(lower, float), np.asarray(upper, float)
        return common(bone, box((low + high) / 2, (high - low) / 2))

    parts = {
        "condylar-neck-left": part([40, -18, -20], [60, -2, -9]),
        "coronoid-left": part([38, -44, -22], [54, -27, -5]),
        "gonion-left": common(bone, sphere(starter_landmarks(MEAN_MAN)["gonion-left"], 14.0)),
        "chin": part([-15, -90, -98], [15, -70, -77]),
        "lower-border": _border_strip(bone, -STRIP_ANGLE_MM, STRIP_ANGLE_MM),
        "lower-border-left": _border_strip(bone, *STRIP_MOLARS_MM),
    }
    found = {name: _led(shape, warp) for name, shape in parts.items()}
    found["mental-foramen-left"] = sphere(mental_foramen_mm(person), MENTAL_FORAMEN_MM / 2)
    found["condyle-left"] = _condyle(person)
    found["retromolar-left"] = _retromolar(person)
    return found


def _led(shape: Shape, warp: HeadWarp) -> Shape:
    """The mean man's shape in the subject, with a box as tight as the man's."""
    if warp.to_man is None:
        return shape
    share = np.stack(np.meshgrid(*[np.linspace(0, 1, 5)] * 3, indexing="ij"), -1).reshape(-1, 3)
    moved = warp.to_subject(shape.lower_mm + share * (shape.upper_mm - shape.lower_mm))
    distance = warp.shape(shape).distance
    return Shape(distance, moved.min(axis=0) - 1.0, moved.max(axis=0) + 1.0)


def _border_strip(bone: Shape, from_mm: float, to_mm: float) -> Shape:
    """The bone's lower edge between two places along the horseshoe, right side negative."""
    bent = sheet()

    def distance(p: Array) -> Array:
        s, _, height = bent.locate(p)
        s = np.where(p[:, 0] < 0.0, -s, s)
        ends = np.maximum(from_mm - s, s - to_mm)
        return np.maximum(np.maximum(bone.distance(p), height - STRIP_MM), ends)

    lower, upper = bone.lower_mm.copy(), bone.upper_mm.copy()
    upper[2] = border_line(-bent.point(max(abs(from_mm), to_mm), 0, 0)[1]) + STRIP_MM
    if from_mm >= 0.0:
        ends = bent.point([from_mm, to_mm], 0.0, 0.0)
        lower[0], upper[0] = ends[0, 0] - 10.0, ends[1, 0] + 10.0
        lower[1], upper[1] = ends[0, 1] - 10.0, ends[1, 1] + 10.0
    return Shape(distance, lower, upper)


def _retromolar(person: Person) -> Shape:
    """The bone between the left lower third molar and the front of the ramus."""
    third = next(t for t in dentition(person) if t.fdi == 38).solid
    middle, rear = (third.lower_mm + third.upper_mm) / 2, third.upper_mm[1]
    low = np.array([middle[0] - 8.0, rear - 1.0, third.upper_mm[2] - 15.0])
    high = np.array([middle[0] + 14.0, rear + 9.0, third.upper_mm[2] - 1.0])
    return common(mandible(person), box((low + high) / 2, (high - low) / 2))
