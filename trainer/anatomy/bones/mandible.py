"""The lower jaw: a bent plate, two condylar heads, and the rim round the teeth.

Plate and heads are modelled in the mean man (mandible frame, teeth together) and led to other
heads by `warp`; the heads keep their size, but for a child's, and the rim comes from the person's
own teeth. Where teeth are lost rim and plate may be worn down (`ridges`).
Measures with a source stand beside the constants here or in the tests.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.bones.alveolus import alveolar_process, joint_mm
from trainer.anatomy.bones.jaw_plate import NOTCH_FORWARD_MM, RAMUS_FU, border_line, plate, sheet
from trainer.anatomy.bones.ridges import crest_mm, lost_places, worn_body
from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.people.warp import HeadWarp, head_warp
from trainer.anatomy.shapes.implicit import (
    Shape,
    both_sides,
    box,
    common,
    cut,
    ellipsoid,
    grow,
    mirrored,
    sphere,
    tube,
    union,
)
from trainer.anatomy.teeth.dentition import (
    bone_shape,
    dentition,
    mirror_image,
    teeth_of,
    whole_dentition,
)
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN, Jaw, Person, Sex

Array = NDArray[np.float64]

# Condylar head: along its axis, across (CBCT, 800 people: Saudi Dental Journal 2021, mean of both
# sides) and volume (Tecco et al., BMC Med. Imaging 2010). It does not follow the head's size; in
# children it grows with the jaw's width (common sense, no source).
CONDYLE_LONG_MM = {Sex.MALE: 17.2, Sex.FEMALE: 17.0}
CONDYLE_SHORT_MM = {Sex.MALE: 8.85, Sex.FEMALE: 8.85}
CONDYLE_MM3 = {Sex.MALE: 691.0, Sex.FEMALE: 670.0}
CONDYLE_TURN_DEG = 20.0  # medial pole back, 15-25: from memory
HEAD_BLEND_MM = 5.0  # fillet between the neck and the condylar head
# Mental foramen: 12.3-13.7 above the lower border (Int. J. Dent. 2016 and 2018; Medicina 2026).
MENTAL_FORAMEN_UP_MM = 13.0
# 25.2 (3.5) to 25.9 from the midline (Int. J. Dent. 2016; Medicina 2026); a little wider here, so
# that it comes to lie just in front of the second premolar (56-68 %: von Arx 2013; Zurich study).
MENTAL_FORAMEN_LATERAL_MM = 27.0
FORAMEN_BEHIND_MM = 3.0  # behind the second premolar at most: common sense, no source
# Bone and half the opening between the foramen's middle and a worn crest.
FORAMEN_ROOM_MM = 2.4
FORAMEN_APART_MM = 0.3  # bone between the opening and a root or germ
FORAMEN_LOWER_MM = np.arange(0.0, 9.0, 0.5)  # how much lower it is tried where a tooth is near
FORAMEN_LEAST_UP_MM = 6.0  # above the lower border, whatever lies above
MENTAL_FORAMEN_MM = 3.1  # 3.0 high, 3.2 long: von Arx et al., J. Endod. 2013
# Lingula: 53 % of the ramus width from the rear border, 65 % of its height from the lower border
# (Head & Face Medicine 2020); the ramus measured from angle to notch and square to its rear border.
LINGULA_WIDTH_SHARE, LINGULA_HEIGHT_SHARE = 0.53, 0.65
# How high a strip along the lower border reaches above the straight border line [mm].
STRIP_MM = 5.0
# In a small jaw with large teeth the ramus would stand where the last upper molars are: it gives
# way to them and their bone by this much, rounded as much. Looked for from here to there along the
# horseshoe, with so many millimetres between.
UPPER_ROOM_MM, UPPER_ROUND_MM = 0.5, 0.5
RAMUS_FRONT_MM, RAMUS_STEP_MM = (52.0, 90.0), 2.0
# Places along the horseshoe [mm]: front of the first molar, back of the third, front of the angle.
STRIP_MOLARS_MM, STRIP_ANGLE_MM = (29.0, 60.0), 80.0


def _condyle(person: Person) -> Shape:
    """The left condylar head, its top at the height of condylion."""
    marks = starter_landmarks(person)
    half_long, half_short = CONDYLE_LONG_MM[person.sex] / 2, CONDYLE_SHORT_MM[person.sex] / 2
    half_high = CONDYLE_MM3[person.sex] / (4.0 / 3.0 * np.pi * half_long * half_short)
    half_long, half_short, half_high = (
        grown(person, Part.JAW_WIDTH) * half for half in (half_long, half_short, half_high)
    )
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


def headless_body() -> Shape:
    """The mean man's plate with mental spines, lingula and the mouth of the canal."""
    entry = mandibular_foramen_mm()
    spines = union(sphere([1.6, -74.6, -84.5], 1.5), sphere([1.5, -74.9, -87.5], 1.3), blend_mm=1.5)
    lingula = tube(entry + np.array([[-0.3, -2.6, -3.0], [-1.2, -2.0, 2.5]]), np.array([1.6, 0.9]))
    bone = union(plate(), both_sides(spines), both_sides(lingula), blend_mm=2.0)
    return cut(bone, both_sides(sphere(entry - np.array([0.6, 0.0, 0.0]), 1.8)), blend_mm=1.0)


def mandible_body() -> Shape:
    """The mean man's lower jaw without its tooth-bearing rim, mandible frame [mm]."""
    return union(headless_body(), both_sides(_condyle(MEAN_MAN)), blend_mm=HEAD_BLEND_MM)


def _with_rim(person: Person, body: Shape | None = None) -> Shape:
    """The subject's lower jaw before the mental foramina are opened."""
    body = body or head_warp(person).shape(headless_body())
    body = union(body, both_sides(_condyle(person)), blend_mm=HEAD_BLEND_MM)
    body = worn_body(body, person)
    return union(body, alveolar_process(person, Jaw.LOWER), blend_mm=joint_mm(person))


@lru_cache(maxsize=16)
def _mental_foramen(person: Person) -> tuple[float, float, float]:
    bent, warp = sheet(), head_warp(person)
    s = np.arange(14.0, 44.0, 0.05)
    z = border_line(-bent.point(s, 0.0, 0.0)[:, 1]) + MENTAL_FORAMEN_UP_MM
    face = bent.faces(s, z)[1]
    spots = bent.point(s, face, z)
    front, rear = _premolars_mm(person)
    at = warp.to_subject(spots)[:, 1]
    off = np.abs(spots[:, 0] - MENTAL_FORAMEN_LATERAL_MM)
    # teeth do not grow or shrink with the jaw: keep the foramen below theirs
    away = np.maximum(np.maximum(front - at, at - rear), 0.0)
    i = int(np.argmin(off + 100.0 * away))
    lowest = z[i] - MENTAL_FORAMEN_UP_MM + FORAMEN_LEAST_UP_MM
    up = max(lowest, min(z[i], _foramen_ceiling(person, warp)))
    place, up = _clear_of_teeth(person, warp, np.column_stack([s, away]), float(s[i]), float(up))
    # the rim may cover the plate here: go out to where the bone ends
    out = bent.faces(place, up)[1][0] + np.arange(-3.0, 8.0, 0.05)
    ways = warp.to_subject(bent.point(np.full_like(out, place), out, up))
    x, y, up = ways[np.flatnonzero(_with_rim(person)(ways) < 0.0)[-1]]
    return float(x), float(y), float(up)


def _clear_of_teeth(
    person: Person, warp: HeadWarp, places_mm: Array, s_mm: float, z_mm: float
) -> tuple[float, float]:
    """The place (along, up) [mm] nearest to the wanted one whose opening leaves teeth alone.

    ``places_mm`` (n, 2) are places along the horseshoe and how far each is out of its bounds.
    """
    bent = sheet()
    teeth = [t.solid for t in dentition(person) if t.fdi // 10 in (3, 7) and t.fdi % 10 > 2]
    if not teeth:
        return s_mm, z_mm
    # the wanted place first: it is the cheapest
    places = np.r_[s_mm, places_mm[::10, 0]]
    along, lower = (g.ravel() for g in np.meshgrid(places, FORAMEN_LOWER_MM, indexing="ij"))
    up = z_mm - lower
    outer = bent.faces(along, up)[1]
    room = np.full(len(along), np.inf)
    for out in (-0.8, 0.5, 2.0):
        spots = warp.to_subject(bent.point(along, outer + out, up))
        room = np.minimum(room, np.min([tooth(spots) for tooth in teeth], axis=0))
    short = np.maximum(MENTAL_FORAMEN_MM / 2 + FORAMEN_APART_MM - room, 0.0)
    foot = np.maximum(lower - (MENTAL_FORAMEN_UP_MM - FORAMEN_LEAST_UP_MM), 0.0)
    away = np.interp(along, *places_mm.T)
    best = int(np.argmin(np.abs(along - s_mm) + lower + 20.0 * (short + foot) + 4.0 * away))
    return float(along[best]), float(up[best])


def _premolars_mm(person: Person) -> tuple[float, float]:
    """How far in front and behind (y) the mental foramen may lie [mm]: from the first premolar's
    middle (or that of its forerunner or germ) to a little behind the second's."""
    teeth = {t.fdi: t for t in whole_dentition(person)}
    first, second = (
        next(teeth[f] for f in pair if f in teeth and teeth[f].erupted)
        for pair in ((34, 74), (35, 75))
    )
    return float(first.origin_mm[1]), float(second.origin_mm[1]) + FORAMEN_BEHIND_MM


def _foramen_ceiling(person: Person, warp: HeadWarp) -> float:
    """The highest a mental foramen may lie below a worn crest, mean man's z."""
    beside = [t for t in lost_places(person, Frame.MANDIBLE) if t.fdi in (34, 35, 74, 75)]
    points = [crest_mm(t, person) for t in beside]
    if not points:
        return np.inf
    return float(warp.to_mean_man(np.array(points))[:, 2].min()) - FORAMEN_ROOM_MM


def mental_foramen_mm(person: Person) -> Array:
    """Centre of the left mental foramen on the bone's outer face, mandible frame [mm], (3,)."""
    return np.array(_mental_foramen(bone_shape(person)))


def mandible(person: Person, body: Shape | None = None) -> Shape:
    """The whole lower jaw bone of a person, mandible frame [mm].

    Sockets and canal are not cut out; only the canal's mouths show, as shallow pits. ``body``
    stands in for the person's `headless_body`, where that is at hand in a quicker form. Upper teeth
    and the bone round them come before the ramus, which gives way where it would meet them.
    """
    left, right = mental_foramen_mm(person), mental_foramen_mm(mirror_image(person))
    mouth = sphere(left, MENTAL_FORAMEN_MM / 2)
    mouths = [both_sides(mouth)]
    if not np.array_equal(left, right):
        mouths = [mouth, mirrored(sphere(right, MENTAL_FORAMEN_MM / 2))]
    bone = cut(_with_rim(person, body), *mouths, blend_mm=1.0)
    upper = _upper_molars(person)
    if upper(_ramus_spots(person)).min() > UPPER_ROOM_MM:
        return bone
    return cut(bone, grow(upper, UPPER_ROOM_MM), blend_mm=UPPER_ROUND_MM)


def _upper_molars(person: Person) -> Shape:
    """The last upper teeth of both sides, with the bone of all upper ones [mm]."""
    last = [t.solid for t in teeth_of(person, Jaw.UPPER) if t.fdi < 50 and t.fdi % 10 > 6]
    return union(alveolar_process(person, Jaw.UPPER), *last)


@lru_cache(maxsize=1)
def _man_ramus_spots() -> Array:
    """Points (n, 3) all over the front of the mean man's left ramus and coronoid process [mm]."""
    bent, (start, end) = sheet(), RAMUS_FRONT_MM
    s, z = (
        g.ravel()
        for g in np.meshgrid(
            np.arange(start, end, RAMUS_STEP_MM), np.arange(-66.0, -5.0, RAMUS_STEP_MM)
        )
    )
    held = bent.border(s, z) < 0.0
    s, z = s[held], z[held]
    inner, outer = bent.faces(s, z)
    return np.vstack([bent.point(s, u, z) for u in np.linspace(inner, outer, 5)])


def _ramus_spots(person: Person) -> Array:
    """The same in the person, on both sides."""
    left = head_warp(person).to_subject(_man_ramus_spots())
    return np.vstack([left, left * [-1.0, 1.0, 1.0]])


def mandible_structures(person: Person) -> dict[str, Shape]:
    """Parts of the lower jaw that a request may name, as solids in the mandible frame [mm].

    Paired ones are given for the left side only, as ``name-left``. Where a part ends inside the
    bone is common sense, no source. Without a lower third molar in the mouth there is no
    ``retromolar-left``, which begins behind it.
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
    found = {name: worn_body(_led(shape, warp), person) for name, shape in parts.items()}
    found["mental-foramen-left"] = sphere(mental_foramen_mm(person), MENTAL_FORAMEN_MM / 2)
    found["condyle-left"] = _condyle(person)
    if any(t.fdi == 38 and t.erupted for t in dentition(person)):
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
