"""The outer skin of head and neck in the mean man's skull frame, teeth together, lips closed.

One closed solid, made of the large forms (`skin_base`), the face (`skin_face`) and the ears
(`skin_ear`). A bald, calm adult with closed eyes. Other people follow through `warp.HeadWarp`.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.people.landmarks import chin_contact, starter_landmarks
from trainer.anatomy.shapes.implicit import Shape, both_sides, common, cut, half_space, union
from trainer.anatomy.soft.skin_base import CUT_UP_MM, head_base, neck_base
from trainer.anatomy.soft.skin_ear import ear, ear_bowl
from trainer.anatomy.soft.skin_face import (
    LIP_LINE_UP_MM,
    MOUTH_HALF_WIDTH_MM,
    lip_line,
    mouth_height,
    with_eyes,
    with_mouth,
    with_neck_relief,
    with_nose,
    with_relief,
)
from trainer.models.subject import MEAN_MAN

Array = NDArray[np.float64]

# The step of `jaw_share` between the lips is gone this far behind the lip line's front [mm].
MOUTH_STEP_DEPTH_MM = 8.0


@lru_cache(maxsize=1)
def skin() -> Shape:
    """The solid inside the skin of head and neck, cut flat at z = -190 mm; man's skull frame."""
    face = with_mouth(with_nose(with_eyes(with_relief(head_base()))))
    neck = with_neck_relief(neck_base())
    head = union(face, neck, blend_mm=16)
    eared = cut(union(head, ear(), blend_mm=3), ear_bowl(), blend_mm=3)
    floor = half_space((0, 0, CUT_UP_MM), (0, 0, -1))
    whole = common(eared, floor, blend_mm=4)
    # the half space has no box of its own
    low = np.maximum(whole.lower_mm, [-np.inf, -np.inf, CUT_UP_MM])
    return both_sides(Shape(whole.distance, low, whole.upper_mm))


def _smooth_step(x: Array) -> Array:
    t = np.clip(x, 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def jaw_share(points_mm: ArrayLike) -> Array:
    """How far skin points (n, 3), man space [mm], follow the lower jaw: (n,) from 0 to 1.

    0 above the mouth line and cheekbones, on the back of the head and low on the neck; 1 on lower
    lip and chin. The value steps at the mouth line, most in its middle, and fades in the cheek.
    """
    p = np.asarray(points_mm, float).reshape(-1, 3)
    x, forward, up = np.abs(p[:, 0]), -p[:, 1], p[:, 2]
    below = mouth_height(x, forward) - up
    # the step shrinks towards the corner of the mouth, so the opening is a lens and not a box
    across = np.clip(x / (MOUTH_HALF_WIDTH_MM + 1.0), 0.0, 1.0)
    step = np.sqrt(1.0 - across**4)
    # and it shrinks inwards, so the opened gap is a wedge that closes before the teeth
    step *= 1.0 - np.clip((lip_line(x)[0] - 1.0 - forward) / MOUTH_STEP_DEPTH_MM, 0.0, 1.0)
    away = np.abs(below)
    reach = 14.0 + 0.25 * np.maximum(x - MOUTH_HALF_WIDTH_MM, 0.0)
    fade = 1.0 - (1.0 - step) * (1.0 - _smooth_step(away / reach))
    lips = 0.5 + 0.5 * np.where(below > 0, 1.0, -1.0) * fade
    # behind the corner the dividing line climbs towards the joint
    climb = np.clip((92.0 - forward) / 75.0, 0.0, 1.0)
    line = LIP_LINE_UP_MM + 1.0 + 26.0 * climb
    cheek = _smooth_step(0.5 + (line - up) / (34.0 + 10.0 * climb))
    corner = _smooth_step((x - MOUTH_HALF_WIDTH_MM + 4.0) / 12.0)
    corner = np.maximum(corner, _smooth_step((86.0 - forward) / 10.0) * (x > 15))
    share = lips * (1.0 - corner) + cheek * corner
    # under the chin the skin of the neck stretches; behind the jaw nothing moves
    share *= 1.0 - _smooth_step((-102.0 - up) / 46.0)
    share *= _smooth_step((forward + 12.0) / 46.0)
    return np.clip(share, 0.0, 1.0)


def _on_rays(starts_mm: Array, direction: Array, reach_mm: float) -> Array:
    """The outermost surface points (n, 3) on rays from (n, 3) points inside, by bisection."""
    step = 0.5
    along = np.arange(0.0, reach_mm, step)
    steps = starts_mm[:, None, :] + along[:, None] * direction
    inside = (skin()(steps) < 0).reshape(len(starts_mm), -1)
    last = inside.shape[1] - 1 - np.argmax(inside[:, ::-1], axis=1)
    low, high = along[last], along[last] + step
    for _ in range(20):
        middle = (low + high) / 2
        within = skin()(starts_mm + middle[:, None] * direction) < 0
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    return np.asarray(starts_mm + low[:, None] * direction)


@lru_cache(maxsize=1)
def _skin_points() -> dict[str, Array]:
    ahead = np.array([0.0, -1.0, 0.0])
    left = np.array([1.0, 0.0, 0.0])
    down = np.array([0.0, 0.0, -1.0])

    def reached(start: tuple[float, float, float], direction: Array, reach_mm: float) -> Array:
        return _on_rays(np.array([start]), direction, reach_mm)[0]

    def front(half: float, up: float) -> Array:
        return reached((half, -60.0, up), ahead, 80.0)

    def foremost(low: float, high: float, sign: float) -> Array:
        """Most (sign 1) or least (-1) forward midline point between two heights."""
        up = np.arange(low, high, 0.25)
        rows = _on_rays(np.stack([0 * up, 0 * up - 75.0, up], axis=1), ahead, 60.0)
        return rows[np.argmax(-sign * rows[:, 1])]

    eye = starter_landmarks(MEAN_MAN)["globe-left"]
    chin = reached((0.0, float(chin_contact(MEAN_MAN)[1]), -80.0), down, 40.0)
    tragion = reached((50.0, -4.0, 2.0), left, 45.0)
    found = {
        "tragion-left": tragion,
        "tragion-right": tragion * [-1, 1, 1],
        "glabella": foremost(26.0, 38.0, 1.0),
        "sellion": foremost(12.0, 26.0, -1.0),
        "subnasale": front(0.0, -33.5),
        "nose-tip": foremost(-28.0, -12.0, 1.0),
        "pupil-left": front(eye[0], eye[2]),
        "pupil-right": front(eye[0], eye[2]) * [-1, 1, 1],
        "lip-line": np.array([0.0, -lip_line(0.0)[0], LIP_LINE_UP_MM]),
        "pogonion-skin": foremost(-92.0, -76.0, 1.0),
        "chin-contact": chin,
        "vertex": reached((0.0, -10.0, 60.0), -down, 90.0),
        "opisthocranion": reached((0.0, 40.0, 38.0), -ahead, 80.0),
    }
    return found


def skin_points() -> dict[str, Array]:
    """Named points (3,) [mm] on the skin, man's skull frame; fresh copies at every call."""
    return {name: point.copy() for name, point in _skin_points().items()}
