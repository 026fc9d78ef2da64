"""Where a person's teeth and their bone would come too near the skin, the skin lies farther out.

The skin follows the head's map; teeth do not, and a child's germs stand high and wide in a small
face. So the skin is pushed out: by as much as it takes at each place of the jaws that would lie
less than `COVER_MM` below it, fading over `FADE_MM` around. Where it covers already, as in adults,
nothing moves; but without teeth behind them the lips fall in.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

from trainer.anatomy.bones.alveolus import alveolar_process
from trainer.anatomy.people.warp import HeadWarp, head_warp
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.soft.skin import skin
from trainer.anatomy.soft.skin_face import MOUTH_HALF_WIDTH_MM, lip_line, mouth_height
from trainer.anatomy.teeth.dentition import dentition
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

# Least soft tissue over teeth and their bone [mm]; over thin cheeks and lips of adults it is 4 and
# more (from memory: Stephan & Simpson 2008), so this is what the model must not fall below.
COVER_MM = 2.5
FADE_MM = 26.0
LOOK_MM = 1.6  # how finely the jaws are looked at
CELL_MM = 3.0  # one place of the jaws in each such cube counts: the one that asks for most
STEP_MM = 2.0  # of the lattice on which the push is worked out
SMOOTH_STEPS = 1.5  # by which it is smoothed, in steps of that lattice
GAIN = 1.12  # what smoothing and the lattice take away again
# Between the lips teeth may show: so far above and below the line of the mouth, mean man's space.
MOUTH_UP_MM = 4.0
# Where the axis stands from which things are pushed away [mm], and what is level.
AXIS_MM, LEVEL = np.array([0.0, -38.0, 0.0]), np.array([1.0, 1.0, 0.0])
ROUNDS = 8
# Without front teeth in either jaw and without dentures the lips fall in by so much; this part of
# it only when the ridges are gone too. By eye.
FALLEN_MM, RIDGE_PART, FRONT_PLACES = 7.0, 0.5, 3
LIPS_MM = np.arange(-21.0, 22.0, 3.0)  # places along the line of the mouth, left of the middle


@dataclass(frozen=True, slots=True)
class Cover:
    """How far out the skin is pushed: ``push_mm`` [x, y, z] on a lattice from ``origin_mm``.

    It is pushed level, straight away from the upright axis through `AXIS_MM`. So lips and nostrils
    keep their form: what lies close together moves together.
    """

    push_mm: Array
    origin_mm: Array

    def at(self, points_mm: Array) -> Array:
        """How far what lies at (n, 3) points, skull frame, was pushed to get there: (n,) [mm]."""
        places = ((points_mm - self.origin_mm) / STEP_MM).T
        return np.asarray(map_coordinates(self.push_mm, places, order=1, mode="constant"))

    def over(self, shape: Shape) -> Shape:
        """The solid inside the skin, pushed out."""
        if not self.push_mm.size:
            return shape
        most = max(float(self.push_mm.max()), 0.0) * LEVEL
        return Shape(
            lambda p: shape.distance(p - self.at(p)[:, None] * outward(p)),
            shape.lower_mm - most,
            shape.upper_mm + most,
        )

    def moved(self, points_mm: Array) -> Array:
        """Points (n, 3) of the skin, pushed out."""
        if not self.push_mm.size:
            return points_mm
        way, out = np.zeros(len(points_mm)), outward(points_mm)
        for _ in range(ROUNDS):
            way = self.at(points_mm + way[:, None] * out)
        return points_mm + way[:, None] * out


def outward(points_mm: Array) -> Array:
    """The level unit directions (n, 3) away from the axis."""
    away = (points_mm - AXIS_MM) * LEVEL
    return np.asarray(away / np.maximum(np.linalg.norm(away, axis=1), 1e-9)[:, None])


@lru_cache(maxsize=16)
def _cover(person: Person) -> Cover:
    warp = head_warp(person)
    led, places = warp.shape(skin()), _places(person, warp)
    over = led(places) + COVER_MM
    short = over > 0.0
    if not short.any():
        return _fallen_in(person, warp, places, -over)
    near = places[short]
    asked, out = np.zeros(len(near)), outward(near)
    for _ in range(ROUNDS):
        asked += np.maximum(led(near - asked[:, None] * out) + COVER_MM, 0.0)
    return _spread(near, asked)


def cover(person: Person) -> Cover:
    """What pushes the skin of a person out over teeth and their bone."""
    return _cover(person.shape)


def _fallen_in(person: Person, warp: HeadWarp, places_mm: Array, spare_mm: Array) -> Cover:
    """What lets the lips fall in; nothing where teeth stand behind them.

    At each of the places of the jaws (n, 3) no more is taken from the cover than it can spare (n,).
    """
    behind = {t.fdi for t in dentition(person)} | {r.fdi for r in person.mouth.repairs}
    mouth, deep = person.mouth, 0.0
    for jaw, quadrants, gone in (
        (Jaw.UPPER, (1, 2), mouth.lost_ridge_upper),
        (Jaw.LOWER, (3, 4), mouth.lost_ridge_lower),
    ):
        front = any(f // 10 in quadrants and f % 10 <= FRONT_PLACES for f in behind)
        if person.adult and not front and jaw not in mouth.dentures:
            deep += FALLEN_MM / 2.0 * (1.0 - RIDGE_PART + RIDGE_PART * gone)
    if deep == 0.0:
        return Cover(np.zeros((0, 0, 0)), np.zeros(3))
    forward, up = lip_line(LIPS_MM)
    lips = warp.to_subject(np.column_stack([LIPS_MM, -forward, up]))
    whole = _spread(lips, np.full(len(lips), deep / GAIN))
    taken = whole.at(places_mm)
    share = np.min(spare_mm / np.maximum(taken, spare_mm), initial=1.0)
    return Cover(-share * whole.push_mm, whole.origin_mm)


def _places(person: Person, warp: HeadWarp) -> Array:
    """Points (n, 3) on the processes and teeth, but not where teeth show in the mouth."""
    teeth = [t.solid for t in dentition(person) if t.erupted]
    crowns = [surface(solid, LOOK_MM).vertices_mm for solid in teeth]
    bone = [surface(alveolar_process(person, jaw), LOOK_MM).vertices_mm for jaw in Jaw]
    points = np.concatenate([*bone, *crowns])
    x, y, z = warp.to_mean_man(points).T
    in_mouth = (np.abs(x) < MOUTH_HALF_WIDTH_MM) & (y < -70.0)
    in_mouth &= np.abs(z - mouth_height(np.abs(x), -y)) < MOUTH_UP_MM
    in_mouth[: sum(map(len, bone))] = False
    return np.asarray(points[~in_mouth])


def _spread(places_mm: Array, asked_mm: Array) -> Cover:
    """The push around places that ask for so much: the most that any of them sends there."""
    order = np.argsort(-asked_mm, kind="stable")
    cells = np.floor(places_mm[order] / CELL_MM).astype(int)
    _, first = np.unique(cells, axis=0, return_index=True)
    places, asked = places_mm[order][first], asked_mm[order][first]
    low = np.floor((places.min(axis=0) - FADE_MM) / STEP_MM) * STEP_MM - 3 * STEP_MM
    count = np.ceil((places.max(axis=0) + FADE_MM - low) / STEP_MM).astype(int) + 4
    axes = [start + np.arange(n) * STEP_MM for start, n in zip(low, count, strict=True)]
    push = np.zeros(count)
    for place, most in zip(places, asked, strict=True):
        ends = [np.searchsorted(a, (c - FADE_MM, c + FADE_MM))
                for a, c in zip(axes, place, strict=True)]  # fmt: skip
        part = tuple(slice(*e) for e in ends)
        x, y, z = (((a[s] - c) / FADE_MM) ** 2
                   for a, s, c in zip(axes, part, place, strict=True))  # fmt: skip
        near = np.maximum(1.0 - (x[:, None, None] + y[:, None] + z), 0.0)
        push[part] = np.maximum(push[part], most * near**2)
    return Cover(GAIN * gaussian_filter(push, SMOOTH_STEPS, mode="constant"), low)
